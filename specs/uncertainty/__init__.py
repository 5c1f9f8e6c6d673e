"""Uncertainty and distributions, for any sum of lengths."""
