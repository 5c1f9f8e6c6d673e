"""How words are compared that one person wrote into a file and another says at the bench."""

from __future__ import annotations


def plain(text: str) -> str:
    """A text as it is compared: capitals, and how many blanks part its words, do not count."""
    return " ".join(text.casefold().split())
