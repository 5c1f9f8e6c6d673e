"""A job is closed: what went in is taken off the shelf, the rest is free again."""
