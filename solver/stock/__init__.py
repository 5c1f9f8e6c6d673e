"""What to put in a kit and on a shelf."""
