"""One gap of one job: its space, its uncertainty, what was built, suspected mistakes."""
