"""Any sequence of movements and notes against plain dictionaries: balances, history, refusals."""

from __future__ import annotations

from collections import Counter
from contextlib import ExitStack
from typing import TYPE_CHECKING, Any, ClassVar, get_args

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)

from inventory import create_shelf, open_shelf
from inventory.movements import Kind, Movement, Note, Request
from inventory.refusals import ChangedShelfError, OtherRequestError, ShortShelfError
from tests.inventory.shelves import DATABASES, OLD, RING, THICK, THIN, fresh_address

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from inventory.movements import Part

PARTS, JOBS, KEYS = (THIN, THICK, RING, OLD), ("J-1", "J-2"), ("a", "b", "c")
LETS_JOBS = {"issue": (*JOBS, ""), "return": (*JOBS, ""), "reserve": JOBS, "release": JOBS}
ROADS: Counter[str] = Counter()


@st.composite
def movements(draw: Callable[..., Any]) -> Movement:
    kind = draw(st.sampled_from(get_args(Kind)))
    job = draw(st.sampled_from(LETS_JOBS.get(kind, ("",))))
    number = draw(st.integers(0 if kind == "count" else 1, 4))
    reserved = bool(job) and kind == "issue" and draw(st.booleans())
    return Movement(kind, draw(st.sampled_from(PARTS)), number, job, reserved)


notes = st.builds(
    Note, st.sampled_from(("promise", "unit")), st.sampled_from(JOBS), st.text("aä\n薄", max_size=3)
)


class Model:
    """The shelf as one would keep it on a slate."""

    def __init__(self) -> None:
        self.on_hand: dict[Part, int] = {}
        self.held: dict[tuple[Part, str], int] = {}
        self.story: list[tuple[str, Movement, int]] = []
        self.noted: list[tuple[str, Note]] = []
        self.keys: dict[str, tuple[tuple[Movement, ...], tuple[Note, ...]]] = {}

    def reserved(self, part: Part) -> int:
        return sum(number for (of, _), number in self.held.items() if of == part)

    def out(self, back: Movement) -> int:
        """How many of a size went out, to a job or to all, and are not back."""
        return sum(
            movement.number * (1 if movement.kind == "issue" else -1)
            for _, movement, _ in self.story
            if movement.kind in {"issue", "return"}
            and back.job in ("", movement.job)
            and (movement.part.family, movement.part.size) == (back.part.family, back.part.size)
        )

    def do(self, key: str, moves: tuple[Movement, ...], notes: tuple[Note, ...]) -> list[Movement]:
        """Do all of it, or nothing; gives what could not be done."""
        on_hand, held, story = dict(self.on_hand), dict(self.held), list(self.story)
        short = [movement for movement in moves if not self._step(key, movement)]
        if short:
            self.on_hand, self.held, self.story = on_hand, held, story
        else:
            self.keys[key] = moves, notes
            self.noted += [(key, note) for note in notes]
        return short

    def _step(self, key: str, movement: Movement) -> bool:
        part, number, mine = movement.part, movement.number, (movement.part, movement.job)
        there, spoken_for = self.on_hand.get(part, 0), self.reserved(movement.part)
        after, held = there, self.held.get(mine, 0)
        if movement.kind == "return" and number > self.out(movement):
            return False
        if movement.kind in {"receive", "return"}:
            after += number
        elif movement.kind == "count":
            after = number
        elif movement.kind in {"issue", "scrap"}:
            after -= number
        if movement.kind == "reserve":
            held += number
        elif movement.kind == "release" or movement.reserved:
            held -= number
        spoken_for += held - self.held.get(mine, 0)
        if held < 0 or after < spoken_for:
            return False
        self.on_hand[part] = after
        if movement.job:
            self.held[mine] = held
        self.story.append((key, movement, after - there))
        return True


class Shelves(RuleBasedStateMachine):
    """A shelf and its model, side by side."""

    database: ClassVar[str]
    folder: ClassVar[Path]

    def __init__(self) -> None:
        super().__init__()
        self.model, self.open = Model(), ExitStack()
        self.address = self.open.enter_context(fresh_address(self.database, self.folder))
        self.nth = 0

    @initialize()
    def make(self) -> None:
        create_shelf(self.address)
        self.shelf = self.open.enter_context(open_shelf(self.address))
        stock = [Movement("receive", part, 6) for part in PARTS[:2]]
        spoken_for = [Movement("reserve", part, 2, job) for part in PARTS[:2] for job in JOBS]
        self._post("stock", (*stock, *spoken_for))

    @rule(
        moves=st.lists(movements(), min_size=1, max_size=4).map(tuple),
        noted=st.lists(notes, max_size=2).map(tuple),
    )
    def post(self, moves: tuple[Movement, ...], noted: tuple[Note, ...]) -> None:
        self.nth += 1
        self._post(f"request {self.nth}", moves, noted)

    @rule(noted=st.lists(notes, min_size=1, max_size=3).map(tuple))
    def post_notes_alone(self, noted: tuple[Note, ...]) -> None:
        self.nth += 1
        ROADS["notes alone"] += 1
        self._post(f"request {self.nth}", (), noted)

    @rule(key=st.sampled_from(KEYS), move=movements(), noted=st.lists(notes, max_size=1).map(tuple))
    def post_with_a_key_perhaps_known(
        self, key: str, move: Movement, noted: tuple[Note, ...]
    ) -> None:
        known = self.model.keys.get(key)
        if known is None:
            self._post(key, (move,), noted)
        elif known == ((move,), noted):
            ROADS["again"] += 1
            assert self.shelf.post(Request(key, "we", "", (move,), noted)).again
        else:
            ROADS["other"] += 1
            with pytest.raises(OtherRequestError):
                self.shelf.post(Request(key, "we", "", (move,), noted))

    @rule(data=st.data())
    def post_again(self, data: st.DataObject) -> None:
        key = data.draw(st.sampled_from(sorted(self.model.keys)))
        ROADS["again"] += 1
        assert self.shelf.post(Request(key, "we", "", *self.model.keys[key])).again

    @rule(move=movements(), back=st.integers(0, 12))
    def post_what_was_looked_at(self, move: Movement, back: int) -> None:
        seen = max(0, len(self.model.story) - back)
        self.nth += 1
        request = Request(f"request {self.nth}", "we", "", (move,))
        if any(moved.part == move.part for _, moved, _ in self.model.story[seen:]):
            ROADS["changed"] += 1
            with pytest.raises(ChangedShelfError):
                self.shelf.post(request, seen=seen)
        else:
            self._post(request.key, request.movements, seen=seen)

    @rule(data=st.data())
    def touch_what_is_reserved(self, data: st.DataObject) -> None:
        held = [who for who, number in self.model.held.items() if number]
        if not held:
            return
        part, job = data.draw(st.sampled_from(held))
        number = data.draw(st.integers(1, 3))
        ways = (
            Movement("release", part, number, job), Movement("count", part, number),
            Movement("issue", part, number, job, reserved=True),
        )  # fmt: skip
        move = data.draw(st.sampled_from(ways))
        self.nth += 1
        self._post(f"request {self.nth}", (move,))

    @rule(part=st.sampled_from(PARTS), job=st.sampled_from(JOBS), number=st.integers(1, 2))
    def issue_and_return(self, part: Part, job: str, number: int) -> None:
        self.nth += 1
        out, back = Movement("issue", part, 2, job), Movement("return", part, number, job)
        self._post(f"request {self.nth}", (out, back, back))

    @rule()
    def close_and_open(self) -> None:
        self.shelf = self.open.enter_context(open_shelf(self.address))

    def _post(
        self,
        key: str,
        moves: tuple[Movement, ...],
        noted: tuple[Note, ...] = (),
        seen: int | None = None,
    ) -> None:
        short = self.model.do(key, moves, noted)
        ROADS.update(f"{move.kind} {'short' if move in short else 'done'}" for move in moves)
        request = Request(key, "we", "", moves, noted)
        if not short:
            last = len(self.model.story)
            receipt = self.shelf.post(request, seen=seen)
            assert (receipt.first, receipt.last) == (last - len(moves) + 1, last)
            return
        with pytest.raises(ShortShelfError) as refused:
            self.shelf.post(request, seen=seen)
        assert [shortage.movement for shortage in refused.value.shortages] == short

    @invariant()
    def stands_as_the_model(self) -> None:
        if not hasattr(self, "shelf"):
            return
        found = {balance.part: balance for balance in self.shelf.balances()}
        assert {part: one.on_hand for part, one in found.items()} == self.model.on_hand
        held = {(part, job): number for part, one in found.items() for job, number in one.holders}
        assert held == {who: number for who, number in self.model.held.items() if number}
        for part, one in found.items():
            assert (one.reserved, one.free) == (
                self.model.reserved(part), self.model.on_hand[part] - self.model.reserved(part),
            )  # fmt: skip

    @invariant()
    def the_last_note_of_each_kind_stands(self) -> None:
        if not hasattr(self, "shelf"):
            return
        standing = {(note.kind, note.about): (key, note) for key, note in self.model.noted}
        found = [(one.key, one.note) for one in self.shelf.notes()]
        assert {(note.kind, note.about): (key, note) for key, note in found} == standing
        assert len(found) == len(standing)

    def teardown(self) -> None:
        if hasattr(self, "shelf"):
            assert [(one.key, one.note) for one in self.shelf.notes(every=True)] == self.model.noted
            told = [(entry.key, entry.movement, entry.change) for entry in self.shelf.history()]
            assert told == self.model.story
            verified = self.shelf.verify()
            assert (verified.entries, verified.notes) == (len(told), len(self.model.noted))
        self.open.close()


@pytest.mark.parametrize("database", DATABASES)
def test_a_shelf_does_what_a_slate_does(database: str, tmp_path: Path) -> None:
    ROADS.clear()
    few = settings(
        max_examples=50 if database == "sqlite" else 15, stateful_step_count=30, deadline=None,
        derandomize=database == "postgres", suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    machine = type(database, (Shelves,), {"database": database, "folder": tmp_path})
    run_state_machine_as_test(machine, settings=few)
    least = 5 if database == "sqlite" else 1
    wanted = [f"{kind} done" for kind in get_args(Kind)]
    wanted += ["again", "other", "changed", "notes alone"]
    wanted += [f"{kind} short" for kind in get_args(Kind)[1:]]
    assert not [road for road in wanted if ROADS[road] < least], ROADS
