"""The guide that is shipped with the package."""
