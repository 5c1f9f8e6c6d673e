"""Several rebuilds from one shelf."""
