"""From files to a case, and the reference of the files."""
