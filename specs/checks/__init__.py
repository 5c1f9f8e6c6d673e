"""Checks of what no single value shows: units, shelves, kits, jobs, and how they fit together."""
