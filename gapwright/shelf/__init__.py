"""The shelf: what is on hand, its movements, its labels."""
