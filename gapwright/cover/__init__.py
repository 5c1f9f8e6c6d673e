"""`cover`: the spaces that a kit or a shelf serves."""
