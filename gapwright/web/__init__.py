"""Serves the bench page: the use cases of the command line, for a tablet beside the bench."""
