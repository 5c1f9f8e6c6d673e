"""Chooses the stock levels of a shelf for a period of jobs, by scenarios, and simulates them."""
