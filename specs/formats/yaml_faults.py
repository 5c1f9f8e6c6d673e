"""What is wrong with a file as YAML, in words for the person who wrote it."""

from __future__ import annotations

import re

MOST_DEPTH = 20
TOO_DEEP = f"is nested deeper than {MOST_DEPTH} levels: no file of a shop is"

# The parser's own words, those of either loader, and what a person can do about them.
_WORDINGS = {
    "mapping values": "has one colon too many or is indented by mistake: put the text in quotes",
    "cannot start any token": "starts with a sign that YAML keeps for itself: put it in quotes",
    "or ']'": "opens a [ that is not closed",
    "or '}'": "opens a { that is not closed",
    "unexpected end of stream": "opens a quote that is not closed",
    "maximum nesting depth": TOO_DEEP,
    "<document start>": "goes on after the end of the document: keep one to a file",
}


def worded(error: Exception, text: str) -> tuple[str, int]:
    """Say what a syntax error is to the person who made it, and in which line to look."""
    fault, mark = str(getattr(error, "problem", error)), getattr(error, "problem_mark", None)
    lines = text.rstrip("\n").split("\n")
    line = min(mark.line + 1, len(lines)) if mark else 0  # a mark may stand below the last line
    if line and re.match(" *\t", lines[line - 1]):
        return "is indented with a tab: use spaces", line
    for words, meaning in _WORDINGS.items():
        if words in fault:
            start = getattr(error, "context_mark", None) if "closed" in meaning else mark
            return meaning, start.line + 1 if start else line
    return f"is not written as YAML wants it, here or just above ({fault})", line
