"""Whose parts lie in the drum, what of them is worn or always replaced, and that answers say so."""

from __future__ import annotations

import json
from collections import Counter
from datetime import date
from typing import TYPE_CHECKING

import pytest

from gapwright.batch.service import plan_cases
from gapwright.check.service import check_case
from gapwright.fit.service import fit_case
from gapwright.output.rendering import render
from gapwright.paper.job_sheet import sheet_of
from solver.problem.solution import Fit
from specs.errors import InputError
from specs.files.read import case_of
from specs.formats.yaml import parse
from specs.values.lengths import show

if TYPE_CHECKING:
    from gapwright.fit.report import Report

DRUM = """\
length: mm
unit:
  name: Sorrel 5
  families:
    lining: {kind: friction, fixed: 2.00}
    plate: {kind: steel, wears by: 0.10, sizes: {wide: 2.40, slim: 1.90}}
    back: {kind: pressure plate, fixed: 5.00}
    clip: {kind: ring, sizes: {A: 1.60, B: 1.80, C: 2.00, D: 2.20}}
  packs:
    coast:
      window: 1.00 to 1.60
      readings: {gap: feeler under the clip}
      stack: [{repeat: 3, of: [plate, lining]}, back, clip]
  # more of the unit
shelf:
  plate: {wide: {count: 4, bin: P1}, slim: {count: 3, bin: P2}}
  clip: {A: {count: 1, bin: R1}, B: {count: 1, bin: R2}, C: {count: 1, bin: R3}, D: {count: 1, bin: R4}}
job:
  name: S-1
  gaps:
    coast: {trial: [wide, wide, wide, B], gap: 1.30}
"""  # noqa: E501
TRIED = "{trial: [wide, wide, wide, B], gap: 1.30}"


def drum(*swaps: tuple[str, str]) -> str:
    text = DRUM
    for old, new in swaps:
        assert old in text, old
        text = text.replace(old, new)
    return text


def answered(*swaps: tuple[str, str]) -> Report:
    return fit_case(case_of(parse(drum(*swaps), "job.yaml")))


def taken(report: Report) -> list[tuple[str, str, bool]]:
    """The chosen parts: size, bin, and whether each lies in the trial build."""
    steps = [step for gap in report.gaps for step in gap.steps]
    return [(s.size, s.lot.bin, s.lot.tried) for s in steps if s.lot is not None]


def refused(*swaps: tuple[str, str]) -> str:
    with pytest.raises(InputError) as caught:
        answered(*swaps)
    (found,) = caught.value.problems
    return str(found)


# Whose parts the trial build is made of.


def test_what_lies_in_the_drum_stays_and_is_not_exchanged_for_equal_parts() -> None:
    report = answered()
    assert taken(report) == [("wide", "P1", True)] * 3 + [("B", "R2", True)]
    told = render(report)
    assert "  the drum  3 x plate wide" in told
    assert told.count("in the drum  bin P1") == 3
    part = json.loads(render(report, as_json=True))["gaps"][0]["parts"][0]
    assert (part["from"], part["in trial build"]) == ("shelf", True)


def test_a_part_of_the_shelf_that_was_tried_is_there_once() -> None:
    """Of four wide plates three lie in the drum: there is one more, not four."""
    five = (
        ("repeat: 3", "repeat: 5"),
        ("[wide, wide, wide, B]", "[wide, wide, wide, wide, slim, B]"),
    )
    report = answered(*five)
    assert [size for size, _, _ in taken(report)].count("wide") == 4
    assert not any("taken as" in remark.kind for remark in report.remarks)
    more = answered(*five, ("name: S-1\n", "name: S-1\n  trial parts: of this unit\n"))
    assert sum(lot.count for one in more.answer.instance.choices for lot in one.lots
               if (lot.size, lot.own) == ("wide", False)) == 4  # fmt: skip
    assert sum(lot.count for one in more.answer.instance.choices for lot in one.lots
               if (lot.size, lot.own) == ("wide", True)) == 4  # fmt: skip


def test_tried_parts_of_the_shelf_that_were_built_in_have_left_it_when_a_check_changes_them() -> (
    None
):
    built = "gap: 1.30, as built: {at: 1.70, parts: [wide, wide, wide, B]}}"
    change = check_case(case_of(parse(drum(("gap: 1.30}", built)), "job.yaml"))).change
    assert change is not None
    on_hand = {
        (lot.size, lot.own): lot.count
        for one in change.answer.instance.choices
        for lot in one.lots
        if lot.family == "plate"
    }
    assert (on_hand["wide", True], on_hand["wide", False]) == (3, 1)


def test_what_the_shelf_lacks_of_a_trial_build_is_the_units_and_that_is_told() -> None:
    report = answered(("wide: {count: 4,", "wide: {count: 1,"))
    assert isinstance(report.answer, Fit)
    assert "2 x plate wide of the trial build not on the shelf: taken as of this unit" in render(
        report
    )
    said = answered(
        ("wide: {count: 4,", "wide: {count: 1,"), ("{trial:", "{trial parts: of this unit, trial:")
    )
    assert not said.remarks


def test_what_is_in_the_unit_now_is_the_units_and_the_rest_of_the_trial_the_shelfs() -> None:
    now = "{now: [wide, wide, slim, A], trial: [wide, wide, wide, B], gap: 1.30}"
    choices = answered((TRIED, now)).answer.instance.choices
    held = {
        (lot.size, lot.own, lot.tried): lot.count for choice in choices for lot in choice.lots
        if lot.count
    }  # fmt: skip
    assert held["wide", True, False] == 2
    assert held["wide", False, True] == 1
    assert held["wide", False, False] == 3
    assert held["B", False, True] == 1
    assert held["A", True, False] == held["A", False, False] == 1


def test_a_tried_part_as_measured_is_one_of_those_as_sold() -> None:
    measured = (TRIED, "{trial: [wide 2.38, wide, wide, B], gap: 1.30}")
    choices = answered(measured).answer.instance.choices
    lots = [lot for choice in choices for lot in choice.lots if lot.size == "wide" and lot.count]
    wide = [(show(lot.thickness, "mm"), lot.count, lot.tried) for lot in lots]
    assert sorted(wide) == [("2.38 mm", 1, True), ("2.40 mm", 1, False), ("2.40 mm", 2, True)]


def test_jobs_that_were_tried_with_the_same_parts_share_them() -> None:
    few = drum(("wide: {count: 4,", "wide: {count: 3,"), ("slim: {count: 3,", "slim: {count: 0,"))
    cases = [case_of(parse(few.replace("S-1", name), "jobs.yaml")) for name in ("S-1", "S-2")]
    plan = plan_cases(cases)
    assert len(plan.gaps) == 1
    (built,) = plan.gaps.values()
    assert {step.lot.tried for step in built[0].steps if step.lot} == {True}
    assert "[the drum]" in render(plan)


def test_a_plan_builds_with_a_tried_part_as_it_measured_as_a_fit_does() -> None:
    """With 2.32 in place of 2.40 the gap is .08 wider than a plan with three as sold would say."""
    case = case_of(
        parse(
            drum(
                (TRIED, "{trial: [wide 2.32, wide, wide, B], gap: 1.30}"),
                ("wide: {count: 4,", "wide: {count: 3,"),
            ),
            "job.yaml",
        )
    )
    fit, plan = fit_case(case), plan_cases([case])
    (planned,) = plan.gaps[0]
    assert planned.gap == fit.gaps[0].gap
    thickness = [show(step.thickness, "mm") for step in planned.steps if step.size == "wide"]
    assert sorted(thickness) == ["2.32 mm", "2.40 mm", "2.40 mm"]
    assert all(step.lot.tried for step in planned.steps if step.lot and step.size == "wide")


@pytest.mark.parametrize(("wide", "built"), [(5, 1), (6, 2)])
def test_measured_parts_of_two_trial_builds_come_out_of_one_lot(wide: int, built: int) -> None:
    """Each of two drums holds three wide plates of the shelf, one of them measured."""
    few = drum(
        ("wide: {count: 4,", f"wide: {{count: {wide},"), ("slim: {count: 3,", "slim: {count: 0,"),
        ("B: {count: 1,", "B: {count: 2,"),
    )  # fmt: skip
    texts = [
        few.replace(TRIED, f"{{trial: [wide {at}, wide, wide, B], gap: 1.30}}").replace("S-1", name)
        for name, at in (("S-1", "2.38"), ("S-2", "2.36"))
    ]
    plan = plan_cases([case_of(parse(text, "jobs.yaml")) for text in texts])
    assert len(plan.gaps) == built
    drawn = Counter(
        show(step.thickness, "mm")
        for (gap,) in plan.gaps.values()
        for step in gap.steps
        if step.size == "wide"
    )
    assert drawn.total() == 3 * built
    assert max(drawn["2.38 mm"], drawn["2.36 mm"]) == 1
    if built == 2:
        assert drawn == {"2.38 mm": 1, "2.36 mm": 1, "2.40 mm": 4}


def test_whose_the_trial_parts_are_is_said_in_two_ways_and_no_third() -> None:
    told = refused(("{trial:", "{trial parts: mine, trial:"))
    assert told.startswith("job.yaml:21: job.gaps.coast.trial parts:")
    assert "of this unit" in told
    told = refused((TRIED, "{trial parts: of this unit, gap: 1.30}"))
    assert told == (
        "job.yaml:21: job.gaps.coast.trial parts: the job lists no `trial` build here; list it"
    )


# Wear.


@pytest.mark.parametrize(
    ("swaps", "least"),
    [
        ((), "2.30 mm"),
        ((("wears by: 0.10", "wear limit: 1.80"),), "2.30 mm"),
        ((("wears by: 0.10", "wear limit: 1.80, wears by: 0.05"),), "2.35 mm"),
        ((("wide: 2.40,", "wide: {thickness: 2.40, wear limit: 2.33},"),), "2.33 mm"),
        ((("wide: 2.40,", "wide: {thickness: 2.40, wears by: 0.08},"),), "2.32 mm"),
        (
            (
                ("wears by: 0.10", "wear limit: 2.29"),
                ("slim: 1.90", "slim: {thickness: 1.90, wear limit: 1.80}"),
            ),
            "2.29 mm",
        ),
    ],
)  # fmt: skip
@pytest.mark.parametrize("where", ["tried", "in the unit", "kept"])
def test_a_thick_part_that_wore_thin_is_named_and_not_used(
    swaps: tuple[tuple[str, str], ...], least: str, where: str
) -> None:
    work = {
        "tried": "{trial: [wide 2.25, wide, wide, B], gap: 1.45}",
        "in the unit": "{now: trial, trial: [wide 2.25, wide, wide, B], gap: 1.45}",
        "kept": "{keep: {clip: C}, now: [wide 2.25, wide, wide, B], trial: old, gap: 1.45}",
    }[where]
    report = answered(*swaps, (TRIED, work))
    assert "2.25 mm" not in {
        show(step.thickness, "mm") for gap in report.gaps for step in gap.steps
    }
    named = "tried" if where == "tried" else "in the unit"
    sentence = f"WORN: coast: plate wide 2.25 mm, {named}, under its wear limit {least}; not used"
    assert sentence in render(report)
    assert not report.leave
    assert sentence in " ".join(one.text for one in sheet_of(report, date(2031, 4, 9)).warnings)
    (remark,) = json.loads(render(report, as_json=True))["part remarks"]
    assert (remark["kind"], remark["wear limit"]["shown"]) == ("worn", least)


def test_a_part_on_its_limit_is_used() -> None:
    report = answered((TRIED, "{now: trial, trial: [wide 2.30, wide, wide, B], gap: 1.30}"))
    assert not report.remarks
    assert "LEAVE IT AS IT IS" in render(report)


def test_a_kept_part_that_is_worn_is_named_where_nothing_fits() -> None:
    report = answered(
        (TRIED, "{keep: {plate 1: wide 2.25}, trial: [wide, wide, wide, B], gap: 1.3}")
    )
    assert not isinstance(report.answer, Fit)
    assert "WORN: coast: plate wide 2.25 mm, kept, under its wear limit 2.30 mm" in render(report)


def test_a_worn_part_that_is_not_chosen_is_counted_as_new_and_named() -> None:
    limit = ("fixed: 2.00", "fixed: 2.00, wear limit: 1.92")
    parts = ("name: S-1\n", "name: S-1\n  parts: {lining: 1.90}\n")
    report = answered(limit, parts)
    told = render(report)
    assert "WORN: lining 1.90 mm, measured, under its wear limit 1.92 mm; counted as new" in told
    assert "coast: read over lining 1.90 mm, 2.00 mm goes in: 3 x 0.10 mm = 0.30 mm less" in told
    (gap,) = report.gaps
    assert show(gap.gap, "mm") == show(
        answered((TRIED, TRIED.replace("1.30", "1.00"))).gaps[0].gap, "mm"
    )
    good = answered(limit, ("name: S-1\n", "name: S-1\n  parts: {lining: 1.92}\n"))
    assert not good.remarks


def test_a_worn_part_is_named_in_a_plan_and_in_a_check() -> None:
    worn = drum((TRIED, "{now: trial, trial: [wide 2.25, wide, wide, B], gap: 1.45}"))
    plan = plan_cases([case_of(parse(worn, "job.yaml"))])
    assert "WORN: coast: plate wide 2.25 mm, in the unit" in render(plan)
    assert json.loads(render(plan, as_json=True))["jobs"][0]["part remarks"][0]["kind"] == "worn"
    built = drum((TRIED, ("{trial: [wide, wide, wide, B], gap: 1.30, "
                  "as built: {at: 1.45, parts: [wide 2.25, wide, wide, B]}}")))  # fmt: skip
    check = check_case(case_of(parse(built, "job.yaml")))
    assert "WORN: coast: plate wide 2.25 mm, built in" in render(check)
    assert json.loads(render(check, as_json=True))["part remarks"][0]["where"] == "built in"


def test_a_wear_limit_above_a_new_part_is_refused_with_both_figures() -> None:
    told = refused(("wears by: 0.10", "wear limit: 2.00"))
    assert told == (
        "job.yaml:6: unit.families.plate.wear limit: a new slim is 1.90 mm, thinner than its wear "
        "limit 2.00 mm; write a limit below what is new, and under a size the limit that is for "
        "that size alone"
    )
    told = refused(("wide: 2.40,", "wide: {thickness: 2.40, wear limit: 2.45},"))
    assert "unit.families.plate.sizes.wide.wear limit: a new wide is 2.40 mm" in told
    told = refused(("fixed: 2.00", "fixed: 2.00, wear limit: 2.10"))
    assert "unit.families.lining.wear limit: a new part is 2.00 mm" in told


# Always replaced.

REPLACED = ("  # more of the unit\n", "  always replaced: {clip: sprung but once}\n")


def test_what_is_always_replaced_neither_stays_nor_is_on_hand() -> None:
    now = (TRIED, TRIED.replace("{", "{now: trial, ", 1))
    assert "LEAVE IT AS IT IS" in render(answered(now))
    report = answered(now, REPLACED)
    told = render(report)
    assert taken(report)[-1] == ("B", "R2", False)
    assert (
        "clip: always replaced, new goes in; the one in the drum does not stay (sprung but" in told
    )
    assert "LEAVE" not in told
    none = answered(now, REPLACED, ("B: {count: 1,", "B: {count: 0,"))
    assert taken(none)[-1][0] != "B"


def test_what_is_always_replaced_binds_a_plan_and_the_change_of_a_check() -> None:
    now = TRIED.replace("{", "{now: trial, ", 1)
    short = drum((TRIED, now), REPLACED, ("B: {count: 1,", "B: {count: 0,"))
    plan = plan_cases([case_of(parse(short, "job.yaml"))])
    ((built,),) = plan.gaps.values()
    assert {step.lot.own for step in built.steps if step.lot and step.family == "clip"} == {False}
    assert "clip: always replaced" in render(plan)
    loose = now.replace("}", ", as built: {at: 1.90, parts: [wide, wide, wide, B]}}")
    check = check_case(case_of(parse(drum((TRIED, loose), REPLACED), "job.yaml")))
    assert check.change is not None
    clips = [step for gap in check.change.gaps for step in gap.steps if step.family == "clip"]
    assert not any(step.stays or (step.lot and step.lot.own) for step in clips)
    assert "clip: always replaced" in render(check)


def test_a_part_that_is_always_replaced_cannot_be_kept() -> None:
    keep = (TRIED, TRIED.replace("{", "{now: trial, keep: {clip: now}, ", 1))
    assert refused(keep, REPLACED) == (
        "job.yaml:21: job.gaps.coast.keep.clip: clip is always replaced (sprung but once): the one "
        "that is in does not stay; name the size of a new one"
    )


# Linings of the trial build.


def test_a_reading_over_other_linings_is_brought_to_those_that_go_in() -> None:
    plain = answered()
    other = (TRIED, "{trial: {parts: [wide, wide, wide, B], linings: 1.95}, gap: 1.45}")
    report = answered(other)
    assert [gap.gap for gap in report.gaps] == [gap.gap for gap in plain.gaps]
    assert "coast: read over lining 1.95 mm, 2.00 mm goes in: 3 x 0.05 mm = 0.15 mm less" in render(
        report
    )
    (remark,) = json.loads(render(report, as_json=True))["part remarks"]
    assert (remark["kind"], remark["count"], remark["more gap"]["shown"]) == (
        "other linings", 3, "-0.15 mm",
    )  # fmt: skip


def test_old_linings_that_are_chosen_are_told_against_the_new() -> None:
    chosen = ("fixed: 2.00", "sizes: {new: 2.00, old: 1.90}"), (
        "  # more of the unit\n", "  always replaced: {lining: worn}\n"
    ), ("shelf:\n", "shelf:\n  lining: {new: 3, old: 3}\n"), (
        TRIED, ("{trial: [wide, old, wide, old, wide, old, B], gap: 1.60, keep: "
        "{lining 1: new, lining 2: new, lining 3: new}}"),
    )  # fmt: skip
    told = render(answered(*chosen))
    assert "coast: read over lining 1.90 mm, 2.00 mm goes in: 3 x 0.10 mm = 0.30 mm less" in told
    assert "lining: always replaced, new goes in; the 3 in the drum do not stay (worn)" in told


CHOSEN = "{parts: [wide, new, wide, new, wide, new, B], linings: 1.9}"


@pytest.mark.parametrize(
    ("swaps", "told"),
    [
        (
            ((TRIED, ("{trial: [wide, wide, wide, B], now: {parts: [wide, wide, wide, B], "
              "linings: 1.9}, gap: 1.30}")),),
            "now.linings: linings are told of a trial build alone; write them under `trial`",
        ),
        (
            (
                ("fixed: 2.00", "sizes: {new: 2.00}"),
                (TRIED, TRIED.replace("[wide, wide, wide, B]", CHOSEN)),
            ),
            "trial.linings: no linings of one thickness lie in this stack; list those tried",
        ),
        (
            ((TRIED, "{trial: {parts: [wide, wide, wide, B], linings: 19}, gap: 1.30}"),),
            "trial.linings: 19 mm is no thickness for a friction",
        ),
    ],
)  # fmt: skip
def test_linings_that_cannot_count_are_refused(
    swaps: tuple[tuple[str, str], ...], told: str
) -> None:
    assert told in refused(*swaps)


# One family in two stacks.


def test_a_family_with_one_part_in_each_of_two_stacks_is_asked_about_once() -> None:
    two = ("  # more of the unit\n", ("  end plays:\n    front: {window: 0.2 to 0.9, readings: "
           "{gap: dial}, stack: [clip]}\n"))  # fmt: skip
    report = answered(two)
    question = "clip: one in each of coast and front; one part, or 2?"
    assert question in render(report)
    said = (two[0], two[1] + "  separate parts: clip\n")
    assert not answered(said).remarks
    cases = [case_of(parse(drum(two, ("S-1", name)), "jobs.yaml")) for name in ("S-1", "S-2")]
    assert render(plan_cases(cases)).count(question) == 1
    assert "separate parts.1: " in refused((two[0], two[1] + "  separate parts: back\n"))


# Worn parts on the shelf.

WORN = (
    "wide: {count: 4, bin: P1}",
    "wide: [{count: 4, bin: P1}, {count: 2, thickness: 2.25, bin: P7}, {count: 1, thickness: 2.3}]",
)
ON_SHELF = "WORN: shelf: 2 x plate wide 2.25 mm, bin P7, under its wear limit 2.30 mm; not used"


def test_a_worn_lot_of_the_shelf_is_named_and_changes_nothing_else() -> None:
    plain, report = answered(), answered(WORN)
    assert taken(report) == taken(plain)
    told = render(report)
    assert told.count(ON_SHELF + "\n") == 1
    assert told.count("WORN") == 1
    assert [line for line in told.splitlines() if line != ON_SHELF] == render(plain).splitlines()
    (remark,) = json.loads(render(report, as_json=True))["part remarks"]
    assert (remark["kind"], remark["where"], remark["count"]) == ("worn on the shelf", "P7", 2)
    now = (TRIED, TRIED.replace("{", "{now: trial, ", 1))
    assert "LEAVE IT AS IT IS" in render(answered(WORN, now))


def test_a_worn_lot_is_named_where_nothing_fits_and_where_nothing_was_read() -> None:
    assert ON_SHELF in render(answered(WORN, ("gap: 1.30", "gap: 9.30")))
    unread = render(
        answered(WORN, ("[wide, wide, wide, B], gap: 1.30", "[wide 2.2, wide, wide, B], gap: 0"))
    )
    assert "NO READING" in unread
    assert ON_SHELF in unread
    assert "WORN: coast: plate wide 2.20 mm, tried, under its wear limit 2.30 mm" in unread


def test_a_worn_lot_that_no_gap_could_use_is_not_named() -> None:
    """One without a bin is named too; what others reserved is theirs to mind."""
    shim = (
        "    clip: {kind",
        "    shim: {kind: shim, wear limit: 0.2, sizes: [0.3]}\n    clip: {kind",
    )
    lot = ("shelf:\n", "shelf:\n  shim: {0.3: {count: 1, thickness: 0.1}}\n")
    assert not answered(shim, lot).remarks
    beside = (WORN[0], WORN[1].replace("bin: P7", "reserved: {S-9: 1}"))
    told = "WORN: shelf: plate wide 2.25 mm, under its wear limit 2.30 mm; not used"
    assert told in render(answered(beside))


def test_worn_lots_are_told_once_for_a_batch_and_of_each_job_in_its_json() -> None:
    unread = ("[wide, wide, wide, B], gap: 1.30", "[wide 2.2, wide, wide, B], gap: 0")
    texts = [drum(WORN, ("S-1", "S-1")), drum(WORN, ("S-1", "S-2"), unread)]
    plan = plan_cases([case_of(parse(text, "jobs.yaml")) for text in texts])
    told = render(plan)
    assert told.count("WORN: shelf") == told.count(ON_SHELF) == 1
    assert (
        "  WORN: coast: plate wide 2.20 mm, tried"
        in told[told.index("S-2, Sorrel 5: no reading") :]
    )
    jobs = json.loads(render(plan, as_json=True))["jobs"]
    kinds = [[one["kind"] for one in job["part remarks"]] for job in jobs]
    assert kinds == [["worn on the shelf"], ["worn", "worn on the shelf"]]


def test_linings_of_a_gap_that_read_nothing_make_no_sum() -> None:
    lined = "{trial: {parts: [wide, wide, wide, B], linings: 1.95}, gap: 0}"
    assert not answered((TRIED, lined)).remarks
