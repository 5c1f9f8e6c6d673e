"""The instance in integers, its answer and its judge."""
