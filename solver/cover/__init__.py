"""Finds the spaces that a stock serves."""
