"""`stock shelf`: what to hold for a period."""
