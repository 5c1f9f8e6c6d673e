"""`tell`: which part of a unit a measured thickness is."""
