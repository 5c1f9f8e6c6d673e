"""What to put in a kit and on the shelf."""
