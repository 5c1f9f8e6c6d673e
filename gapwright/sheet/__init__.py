"""The bench sheet."""
