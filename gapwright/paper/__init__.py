"""The sheets and labels that are printed for the bench."""
