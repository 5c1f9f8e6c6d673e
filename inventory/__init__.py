"""What is on hand. Knows files and counts; knows nothing of how parts are chosen."""

from inventory.on_hand import on_hand

__all__ = ["on_hand"]
