"""Holds forms as data; each field is named by its path in a file."""
