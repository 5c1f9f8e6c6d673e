"""Where a job is: worked out from its files, held against the facts that the files were made of."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import product
from random import Random

import pytest

from gapwright.record.lots import by_key, kept_lots
from gapwright.record.state import JobState, Standing, standing_of, state_of
from specs.files.digest import record_code
from specs.files.read import case_of
from specs.formats.yaml import parse
from specs.formats.yaml_text import flow
from specs.models.record import Closed, Promised, PromisedGap, Taken, plain
from specs.values.lengths import parse_length
from tests.amounts import few, share

FILES = """\
length: in
unit:
  name: Alder 3
  gauges: {feeler: .001}
  families:
    disc: {kind: friction, fixed: .0800}
    steel: {kind: steel, sizes: {thick: .0900, thin: .0700}}
    ring: {kind: ring, sizes: {A: .0600, B: .0700}}
  packs:
    low: {window: .060 to .080, stack: [disc, steel, ring]}
    drive: {window: .060 to .080, stack: [disc, steel, ring]}
shelf:
  steel: {thick: {count: 3, bin: S1}, thin: {count: 2, bin: S2, reserved: {J-9: 1}}}
  ring: {A: [{count: 1, bin: R1}, {count: 4, bin: R2}], B: {count: 0, bin: R3}}
"""
BUILT = {".068": True, "[.066, .068]": True, ".078": False, ".090": False, "[.062, .074]": False}
"""What a gap whose parts make .068 may read after assembly, and whether that is good."""
STEEL = Taken.model_construct(family="steel", size="thick", bin="S1", count=1)
RING = Taken.model_construct(family="ring", size="A", bin="R1", count=1)
ON_HAND = (STEEL, RING)
NOT_ON_HAND = (
    STEEL.model_copy(update={"count": 4}),
    RING.model_copy(update={"count": 2}),  # there are more of them in another bin
    RING.model_copy(update={"bin": "R3", "size": "B"}),
    Taken.model_construct(family="steel", size="thin", bin="S2", count=2),  # one is another job's
    Taken.model_construct(family="steel", size="thin", bin="S2", count=1, condition="used"),
    RING.model_copy(update={"thickness": parse_length("0.0603 in", None)}),
)


@dataclass(frozen=True, slots=True)
class Facts:
    """What is so of a job; by gap where there are several."""

    read: tuple[bool, ...] = (True, True)
    promised: tuple[bool, ...] = (False, False)
    takes: tuple[Taken, ...] = ()
    built: tuple[str, str] = ("", "")
    """What each gap read after assembly; empty for nothing."""
    held: int = 0
    out: int = 0
    closed: bool = False

    def state(self) -> str:
        """The state as the manual has it, the first that holds."""
        promised = any(self.promised)
        pairs = [*zip(self.promised, self.built, strict=True)]
        all_built = all(built for is_promised, built in pairs if is_promised)
        good = all(BUILT[built] for built in self.built if built)
        states = {
            "closed": self.closed,
            "checked": promised and any(self.built) and all_built and good,
            "built": any(self.built),
            "taken": self.out > 0,
            "reserved": self.held > 0,
            "waiting for parts": promised and any(one in NOT_ON_HAND for one in self.takes),
            "chosen": promised,
            "measuring": not all(self.read),
        }
        return next((name for name, holds in states.items() if holds), "to choose")


def drawn(seed: int) -> Facts:
    draw = Random(seed)  # noqa: S311 - no secret hangs on it
    promised = draw.choice([*product((False, True), repeat=2)])
    takes: tuple[Taken, ...] = ()
    if any(promised):
        takes = tuple(draw.sample(ON_HAND, draw.randint(0, 2)))
        takes += tuple(draw.sample(NOT_ON_HAND, draw.choice([0, 0, 1])))
    read: tuple[bool, ...] = draw.choice(
        [(True, True), (True, True), (True, False), (False, False)]
    )
    read = tuple(one or mine for one, mine in zip(read, promised, strict=True))
    built = tuple(draw.choice(["", *BUILT]) if one and mine else "" for one, mine in
                  zip(read, [draw.random() < 0.4] * 2, strict=True))  # fmt: skip
    return Facts(
        read=read,
        promised=promised,
        takes=takes,
        built=(built[0], built[1]),
        held=draw.choice([0, 0, 0, 2]),
        out=draw.choice([0, 0, 0, 1]),
        closed=draw.random() < 0.1,
    )


def promise(facts: Facts) -> Promised | None:
    if not any(facts.promised):
        return None
    gap = PromisedGap.model_construct(
        layout="stack", parts=(("thick",), ("A",)), gap=parse_length(".068", "in"),
        u=parse_length(".001", "in"), sure=Fraction(99), space=parse_length(".298", "in"),
    )  # fmt: skip
    names = [name for name, one in zip(("low", "drive"), facts.promised, strict=True) if one]
    made = Promised.model_construct(
        on="2031-04-02", job="J-1", unit="Alder 3", answer="", from_="A",
        gaps=dict.fromkeys(names, gap), takes=facts.takes,
    )  # fmt: skip
    return made.model_copy(update={"answer": made.code})


def text_of(facts: Facts) -> str:
    """The files of a job as somebody wrote them."""
    gaps = []
    for name, read, built in zip(("low", "drive"), facts.read, facts.built, strict=True):
        listed = "parts: [thick, A]"
        after = f", as built: {{at: {built}, {listed}}}" if built else ""
        gaps.append(
            f"{name}: {{trial: [thick, A], trial parts: of this unit"
            + (", gap: .068" if read else "")
            + f"{after}}}"
        )
    made = promise(facts)
    promised = f", promised: {flow(plain(made, 'in'))}" if made else ""
    return f"{FILES}job: {{name: J-1, gaps: {{{', '.join(gaps)}}}{promised}}}\n"


def test_the_first_state_that_holds_is_the_one_told() -> None:
    met: Counter[str] = Counter()
    for seed in few(range(3_000)):
        facts = drawn(seed)
        case = case_of(parse(text_of(facts), "job.yaml"))
        lots = kept_lots(case)
        standing = standing_of(case, None, lots)
        assert standing == Standing(promise(facts), None, 0, 0)
        closed = Closed.model_construct(on="2031-04-09", by="JM", record="A")
        standing = replace(
            standing, closed=closed if facts.closed else None, held=facts.held, out=facts.out
        )
        state = state_of(case, standing, by_key(lots))
        assert state.name == facts.state(), (seed, facts)
        met[state.name] += 1
        _check_what_waits(facts, state)
    assert len(met) == 9
    assert min(met.values()) >= share(60), met


def _check_what_waits(facts: Facts, state: JobState) -> None:
    name = state.name
    gaps = ("low", "drive")
    unread = [gap for gap, read in zip(gaps, facts.read, strict=True) if not read]
    unbuilt = [
        gap
        for gap, promised, built in zip(gaps, facts.promised, facts.built, strict=True)
        if promised and not built
    ]
    off = [gap for gap, built in zip(gaps, facts.built, strict=True) if built and not BUILT[built]]
    assert [*state.unread] == (unread if name == "measuring" else [])
    assert [*state.unbuilt] == (unbuilt if name == "built" else [])
    assert [*state.off] == (off if name == "built" else [])
    if name == "waiting for parts":
        (short,) = state.parts
        wanted = next(one for one in facts.takes if one in NOT_ON_HAND)
        assert short.model_copy(update={"count": wanted.count}) == wanted


def test_a_closed_job_that_was_changed_is_noticed() -> None:
    facts = Facts(promised=(True, True), built=(".068", ".068"))
    case = case_of(parse(text_of(facts), "job.yaml"))
    made = promise(facts)
    closed = Closed.model_construct(on="2031-04-09", by="JM", record=record_code(case, made))
    assert not Standing(made, closed, 0, 0).changed(case)
    other = case_of(parse(text_of(replace(facts, built=(".068", ".078"))), "job.yaml"))
    assert Standing(made, closed, 0, 0).changed(other)
    assert Standing(None, closed, 0, 0).changed(case)


@pytest.mark.parametrize("name", ["J-9", "J-1"])
def test_what_a_shelf_file_reserves_for_the_job_is_held(name: str) -> None:
    text = text_of(Facts()).replace("name: J-1", f"name: {name}")
    case = case_of(parse(text, "job.yaml"))
    lots = kept_lots(case)
    standing = standing_of(case, None, lots)
    assert standing.held == (name == "J-9")
    expected = "reserved" if name == "J-9" else "to choose"
    assert state_of(case, standing, by_key(lots)).name == expected
