"""`stock shelf`: how many of each size to hold for a period."""
