"""Chooses the contents of a kit and of a shelf."""
