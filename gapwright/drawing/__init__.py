"""Drawings to scale, figures with axes and QR codes, and the libraries that make them."""
