"""`stock`: what to put into a kit and to hold on the shelf."""
