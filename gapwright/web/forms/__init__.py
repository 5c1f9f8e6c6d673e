"""Forms as data: fields named by their path in a file."""
