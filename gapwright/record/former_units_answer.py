"""What the JSON of several verbs says of kept jobs, each key declared once."""

from __future__ import annotations

from gapwright.output.answers import Answer


class UncountedJobAnswer(Answer):
    """A kept job that does not count."""

    job: str
    """Its name, or that of its file where it states none or cannot be read."""
    why: str
    """Why, in words."""
