"""How answers are written: files, tables, templates, exact figures."""
