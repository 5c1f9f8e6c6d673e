"""Which part a measured thickness is."""
