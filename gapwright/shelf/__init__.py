"""`shelf`: the parts on hand, their movements and their labels."""
