"""The parts on hand: shelf files and ledgers, for everybody who chooses or moves parts.

The package reads and writes files, databases and counts. It does not know how parts are chosen.
"""

from inventory.ledger import Shelf, create_shelf, open_shelf
from inventory.on_hand import catalogue, on_hand, on_hand_together, set_apart, unknown_sizes

__all__ = [
    "Shelf",
    "catalogue",
    "create_shelf",
    "on_hand",
    "on_hand_together",
    "open_shelf",
    "set_apart",
    "unknown_sizes",
]
