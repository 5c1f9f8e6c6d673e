"""The bench page: the same use cases as the command, on a tablet that leans on the bench."""
