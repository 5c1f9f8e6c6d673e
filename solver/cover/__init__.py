"""Which spaces a stock serves."""
