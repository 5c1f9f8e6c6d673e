"""`fit`: the answer to one rebuild, what else is known about it, and how it is shown."""
