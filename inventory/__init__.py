"""What is on hand. Knows files and counts; knows nothing of how parts are chosen."""

from inventory.ledger import Shelf, create_shelf, open_shelf
from inventory.on_hand import catalogue, on_hand, unknown_sizes

__all__ = ["Shelf", "catalogue", "create_shelf", "on_hand", "open_shelf", "unknown_sizes"]
