"""What is on hand. Knows files and counts; knows nothing of how parts are chosen."""

from inventory.on_hand import catalogue, on_hand

__all__ = ["catalogue", "on_hand"]
