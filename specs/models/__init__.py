"""What people write, as models, and what a case says at once."""
