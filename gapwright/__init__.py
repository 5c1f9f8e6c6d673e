"""The faces: the command line, words, pictures; `desk` holds the use cases."""
