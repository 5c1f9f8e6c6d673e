"""Declares the answers of the JSON API that no verb of the command gives."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gapwright.output.answers import Answer, key
from specs.values.lengths import Length

if TYPE_CHECKING:
    from gapwright.web.folder import Shop
    from gapwright.web.forms.choice import Choice


class NamedFileAnswer(Answer):
    """A file of the folder, and the name it gives itself."""

    file: str
    """The file, from the folder."""
    name: str
    """The name of what it holds."""


class UnreadAnswer(Answer):
    """A file that cannot be read."""

    file: str = key(lambda held: held.name)
    """The file, from the folder."""
    sentence: str = key(lambda held: held.wrong)
    """Why it cannot be read."""


class FilesAnswer(Answer, shape="gapwright files 1"):
    """What the folder holds."""

    unit: list[NamedFileAnswer] = key(lambda shop: _holding(shop, "unit"))
    """The files that hold a unit."""
    shelf: list[NamedFileAnswer] = key(lambda shop: _holding(shop, "shelf"))
    """The files that hold a shelf."""
    job: list[NamedFileAnswer] = key(lambda shop: _holding(shop, "job"))
    """The files that hold a job."""
    ledgers: list[str] = key(lambda shop: shop.ledgers())
    """The ledgers of shelves."""
    cannot_be_read: list[UnreadAnswer] = key(
        lambda shop: [UnreadAnswer(one) for one in shop.files() if one.wrong]
    )
    """The files that cannot be read."""


class AskedReadingAnswer(Answer):
    """A reading to take at the bench."""

    reading: str = key(lambda reading: reading.name)
    """Its name."""
    what: str
    """What to measure."""
    how: list[str]
    """With which gauge, at how many places, under which conditions."""
    places: int = key(lambda reading: len(reading.values))
    """At how many places."""


class AskedPlaceAnswer(Answer):
    """A place of a trial build."""

    place: str
    """Its name."""
    sizes: list[str] = key(lambda part: _values(part.sizes[0]))
    """The sizes that may lie there."""


class AskedFactAnswer(Answer):
    """A fact of the job to be stated."""

    fact: str = key(lambda choice: choice.label)
    """Its name."""
    values: list[str] = key(lambda choice: [*_values(choice)])
    """What it may be."""


class AskedGapAnswer(Answer):
    """What one pack or end play asks for."""

    gap: str = key(lambda gap: gap.name)
    """Its name."""
    kind: str
    """Whether it is a pack or an end play."""
    window: str
    """Its window, in words."""
    room_for_the_stack: str = key(lambda gap: gap.sum)
    """How the room for its stack is worked out."""
    readings: list[AskedReadingAnswer] = key(
        lambda gap: [AskedReadingAnswer(one) for one in gap.readings]
    )
    """The readings of its own."""
    trial_build: list[AskedPlaceAnswer] = key(
        lambda gap: [AskedPlaceAnswer(part) for part in (gap.build.parts if gap.build else ())]
    )
    """The places of the trial build, where it is to be listed."""
    check: str | None
    """What to check once it is built."""


class AskedAnswer(Answer, shape="gapwright asked 1"):
    """What a unit asks for at the bench."""

    unit: str
    """The unit's name."""
    facts: list[AskedFactAnswer] = key(lambda form: [AskedFactAnswer(one) for one in form.facts])
    """Facts of the job."""
    shared_readings: list[AskedReadingAnswer] = key(
        lambda form: [AskedReadingAnswer(one) for one in form.shared]
    )
    """Readings that gaps share."""
    gaps: list[AskedGapAnswer] = key(lambda form: [AskedGapAnswer(gap) for gap in form.gaps])
    """The packs and end plays."""


class ReadingAnswer(Answer):
    """A reading as taken, over its places."""

    gap: str | None
    """The gap it is of; null where gaps share it."""
    reading: str
    """Its name."""
    places: int = key(lambda taken: len(taken.at))
    """At how many places it was taken."""
    average: Length
    """The average over them."""
    lowest: Length = key(lambda taken: min(taken.at))
    """The lowest of them."""
    highest: Length = key(lambda taken: max(taken.at))
    """The highest of them."""
    spread: Length = key(lambda taken: max(taken.at) - min(taken.at))
    """How far these two are apart."""


class WrongFieldAnswer(Answer):
    """What is wrong with a field."""

    sentence: str
    """What is wrong, and what to do."""
    field: str
    """The field, by its path."""


class ReadingsAnswer(Answer, shape="gapwright readings 1"):
    """The readings of a job, each over its places."""

    readings: list[ReadingAnswer]
    """Those that can be read."""
    problems: list[WrongFieldAnswer]
    """What is wrong with the others."""


class ProblemAnswer(Answer):
    """Something that cannot be taken."""

    sentence: str
    """What is wrong, and what to do."""
    file: str
    """The file it is in; empty where it is in none."""
    line: int
    """The line, from 1; 0 where there is none."""
    field: str
    """The field, by its path; empty where it is in none."""


class ProblemsAnswer(Answer, shape="gapwright problems 1"):
    """Why a request is refused."""

    problems: list[ProblemAnswer]
    """Everything that is wrong."""


ANSWERS = {
    "api files": (FilesAnswer,),
    "api asked": (AskedAnswer,),
    "api readings": (ReadingsAnswer,),
    "api problems": (ProblemsAnswer,),
}


def _holding(shop: Shop, section: str) -> list[NamedFileAnswer]:
    return [
        NamedFileAnswer(file=one.name, name=one.sections[section])
        for one in shop.files()
        if section in one.sections
    ]


def _values(choice: Choice) -> list[str]:
    return [value for value, _ in choice.values if value]
