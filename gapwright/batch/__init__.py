"""`batch`: several rebuilds planned from one shelf."""
