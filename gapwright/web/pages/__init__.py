"""Holds the pages, one file each."""
