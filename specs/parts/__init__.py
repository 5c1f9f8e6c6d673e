"""Which parts are meant, held or needed."""
