"""One rebuild: the best build, and those as good."""
