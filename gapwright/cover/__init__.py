"""Which spaces a kit or shelf serves."""
