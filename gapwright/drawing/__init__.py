"""Pictures and pages, and the doors to the libraries that make them."""
