"""A trial build whose layout need not be named, because the job's facts leave only one."""

from __future__ import annotations

import pytest

from specs import InputError, Length
from specs.files.read import case_of
from specs.formats.yaml import parse
from specs.gaps.job_gap import JobGap

DISCS = """
length: mm
unit:
  facts: {discs: {values: [three, four]}}
  families: {washer: {kind: washer, sizes: [1.0, 1.2]}, spacer: {kind: spacer, fixed: 2.0}}
  end plays:
    play:
      trial: none
      layouts:
        short: {rank: 0, stack: [washer], only if: {discs: [three, four]}, window: .1 to .3}
        long: {rank: 1, stack: [washer, spacer], only if: {discs: four}, window: .1 to .3}
shelf: {washer: {1.0: 2, 1.2: 2}}
job: {facts: {discs: three}, gaps: {play: {gap: 1.35}}}
"""


def test_facts_that_leave_one_layout_say_what_the_trial_was_made_in() -> None:
    case = case_of(parse(DISCS, "job.yaml"))
    assert JobGap(case, "play").space("short").length == Length(1_350_000)


def test_several_layouts_ask_which_one_the_trial_was_made_in() -> None:
    with pytest.raises(InputError, match="say which layout it is"):
        case_of(parse(DISCS.replace("facts: {discs: three}", "facts: {discs: four}"), "job.yaml"))
