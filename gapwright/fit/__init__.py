"""One rebuild: the answer, what else there is to know about it, and how it is told."""
