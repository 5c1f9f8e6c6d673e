"""The verbs of the command line, one file each; everything heavy is imported in their bodies."""
