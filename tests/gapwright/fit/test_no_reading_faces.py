"""What a gap that reads nothing is told as: terminal, JSON, exit code, batch, sheet and page."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from gapwright.web.folder import Shop
from gapwright.web.forms.fields import source_of
from gapwright.web.pages.fit import fit as fit_page
from gapwright.web.pages.measure import measure
from gapwright.web.request import PageRequest
from tests.commands import ran, refused
from tests.gapwright.web.sent_forms import form_at

if TYPE_CHECKING:
    from pathlib import Path

UNIT = """\
length: in
unit:
  name: Alder 2
  families:
    disc: {kind: friction, fixed: .0650}
    steel: {kind: steel, sizes: {thick: .0800, thin: .0720}}
    ring: {kind: ring, sizes: {slim: .0500, mid: .0570, full: .0640}}
    washer: {kind: washer, sizes: {red: .0450, grey: .0530, black: .0610}}
  packs:
    low:
      window: .025 to .038
      readings: {gap: {what: feeler under the ring, gauge: feeler, places: 3}}
      stack: [{repeat: 2, of: [disc, steel]}, disc, ring]
  end plays:
    front play:
      window: .006 to .016
      stack: [washer]
"""
SHELF = """\
length: in
shelf:
  steel: {thick: 1, thin: 1}
  ring: {slim: 1, mid: 1, full: 1}
  washer: {red: 1, grey: 1, black: 1}
"""
LOW = "low: {trial: [thick, thick, full], gap: .019}"
NO_LOW = "low: {trial: [thick, thick, full], gap: [.004, 0, .003]}"
FRONT = "front play: {trial: [black], gap: 0}"


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    (tmp_path / "unit.yaml").write_text(UNIT, encoding="utf-8")
    (tmp_path / "shelf.yaml").write_text(SHELF, encoding="utf-8")
    return tmp_path


def job(bench: Path, name: str, *gaps: str) -> str:
    text = f"length: in\nunit: unit.yaml\nshelf: shelf.yaml\njob:\n  name: {name}\n  gaps:\n"
    (bench / f"{name}.yaml").write_text(text + "".join(f"    {gap}\n" for gap in gaps), "utf-8")
    return f"{name}.yaml"


@pytest.mark.face
def test_the_others_are_solved_and_the_gap_waits_with_its_trial_build(bench: Path) -> None:
    done = ran("fit", job(bench, "A-1", LOW, FRONT), cwd=bench)
    assert done.returncode == 3
    first, *lines = done.stdout.splitlines()
    assert first.startswith("A-1, Alder 2: FITS, proved best; NO READING of front play")
    assert any(line.startswith("low: clearance 0.0") for line in lines)
    at = lines.index(
        "no reading: front play, `gap` reads nothing: the true end play may be anything below"
    )
    assert lines[at + 1 : at + 4] == [
        "  first see the drum home on its splines and each washer flat, and read again",
        "  trial build next: red; 0.016 in looser than the one tried",
        "  it leaves 0.006 in or more in every drum that what is on hand can serve",
    ]
    told = json.loads(ran("fit", "A-1.yaml", "--json", cwd=bench).stdout)
    assert told["answer"] == "fit"
    (waits,) = told["waiting"]
    assert (waits["gap"], waits["for"]) == ("front play", ["gap"])
    assert waits["no reading"]["places"] == {"gap": [1]}
    trial = waits["no reading"]["next trial"]
    assert (trial["parts"], trial["left out"]) == ([["red"]], None)
    assert (trial["looser"]["nm"], trial["leaves"]["nm"]) == (406_400, 152_400)


def test_one_place_at_nothing_is_no_reading_and_nothing_is_solved(bench: Path) -> None:
    done = ran("fit", job(bench, "A-2", NO_LOW), cwd=bench)
    assert done.returncode == 3
    lines = done.stdout.splitlines()
    assert lines[0] == "A-2, Alder 2: NO READING"
    assert lines[1].startswith(
        "no reading: low, `gap` reads nothing at place 2 of 3: the true clear"
    )
    assert "  a ring that stands proud of its groove is a reading: write how far, `proud`" in lines
    assert "  trial build next: thin, thick, slim; 0.022 in looser than the one tried" in lines
    assert "waiting: front play, for gap, trial build" in lines
    told = json.loads(ran("fit", "A-2.yaml", "--json", cwd=bench).stdout)
    assert (told["answer"], told["proved"]) == ("no reading", False)
    assert told["waiting"][1]["no reading"] is None


def test_where_nothing_on_hand_is_looser_a_place_is_left_out(bench: Path) -> None:
    trial = "trial: [thin, thin, slim], gap: {stops: .003}"
    said = ran("fit", job(bench, "A-3", f"low: {{{trial}}}"), cwd=bench).stdout
    assert "  trial build next: left out, thin, slim; 0.072 in looser than the one tried" in said
    assert "  steel 1 is left out for this reading alone, and goes in after it" in said
    taken = "low: {trial parts: of this unit, trial: [left out, thin, slim], gap: .093}"
    done = ran("fit", job(bench, "A-3", taken), cwd=bench)
    assert "A-3, Alder 2: NO FIT, proved" in done.stdout
    assert "nearest 0.021 in, 0.004 in too tight" in done.stdout


def test_a_ring_alone_cannot_be_left_out(bench: Path) -> None:
    unit = UNIT.replace("[{repeat: 2, of: [disc, steel]}, disc, ring]", "[disc, ring]")
    (bench / "unit.yaml").write_text(unit, encoding="utf-8")
    done = ran("fit", job(bench, "A-4", "low: {trial: [slim], gap: 0}"), cwd=bench)
    assert (
        "  nothing on hand is sure to leave something to read: take its space by depths"
        in done.stdout
    )
    told = json.loads(ran("fit", "A-4.yaml", "--json", cwd=bench).stdout)
    assert told["waiting"][0]["no reading"]["next trial"] is None


def test_a_batch_goes_on_and_says_of_each_job_what_waits(bench: Path) -> None:
    files = [
        job(bench, "A-5", LOW), job(bench, "A-6", NO_LOW),
        job(bench, "A-7", FRONT, "low: {trial: [thick, thick, slim], gap: .030}"),
    ]  # fmt: skip
    done = ran("batch", *files, cwd=bench)
    assert done.returncode == 3
    assert done.stdout.startswith("2 of 3 jobs can be completed, proved best")
    assert (
        "  A-6, Alder 2: no reading\n    no reading: low, `gap` reads nothing at place 2"
        in done.stdout
    )
    assert "  no reading: front play, `gap` reads nothing: the true end play" in done.stdout
    told = json.loads(ran("batch", *files, "--json", cwd=bench).stdout)
    by_name = {one["job"]: one for one in told["jobs"]}
    assert [by_name[name]["complete"] for name in ("A-5", "A-6", "A-7")] == [True, False, True]
    assert by_name["A-6"]["gaps"] == []
    assert by_name["A-6"]["waiting"][0]["no reading"]["next trial"]["parts"][2] == ["slim"]
    assert by_name["A-7"]["waiting"][0]["gap"] == "front play"
    alone = ran("batch", files[1], cwd=bench)
    assert alone.returncode == 3
    assert alone.stdout.startswith("0 of 1 jobs can be completed")
    assert ran("batch", files[2], cwd=bench).returncode == 3  # complete, and a gap has no reading


def test_sheet_and_page_say_it_too(bench: Path) -> None:
    name = job(bench, "A-8", LOW, FRONT)
    assert ran("sheet", name, cwd=bench).returncode == 3
    sheet = (bench / "A-8.html").read_text(encoding="utf-8")
    assert "NO READING of front play" in sheet
    assert "trial build next: red; 0.016 in looser than the one tried" in sheet
    shop = Shop(bench)
    shown = fit_page(PageRequest(shop, "/fit", (("from", name),))).text
    assert "trial build next: red; 0.016 in looser than the one tried" in shown
    none = job(bench, "A-9", NO_LOW)
    assert "NO READING" in fit_page(PageRequest(shop, "/fit", (("from", none),))).text


def test_the_page_asks_for_a_proud_ring_and_a_place_left_out(bench: Path) -> None:
    name = job(bench, "A-10", "low: {trial: [thick, left out, full], gap: {proud: .004}}")
    shop, proud = Shop(bench), "job/gaps/low/gap/proud"

    def sent(*changed: tuple[str, str]) -> object:
        asked = (("from", name),)
        form = form_at(measure(PageRequest(shop, "/measure", asked)).text, "/fit")
        assert (proud, ".004") in form.fields
        assert ("job/gaps/low/trial/parts/1", "left out") in form.fields
        fields = tuple((key, dict(changed).get(key, value)) for key, value in form.fields)
        return source_of(PageRequest(shop, "/fit", fields)).data["job"]["gaps"]["low"]

    assert sent() == {"trial": {"parts": ["thick", "left out", "full"]}, "gap": {"proud": ".004"}}
    assert "gap" not in sent((proud, ""))  # type: ignore[operator]
    assert (
        'name="job/gaps/front play/gap/proud"'
        not in measure(PageRequest(shop, "/measure", (("from", name),))).text
    )


def test_verbs_that_need_the_gap_say_what_it_waits_for(bench: Path) -> None:
    built = f"{NO_LOW[:-1]}, as built: {{at: .03, parts: [thin, thin, slim]}}}}"
    (line,) = refused("check", job(bench, "A-11", built), cwd=bench)
    assert "nothing was promised yet: low waits for gap, which reads nothing" in line


def test_a_finished_gap_that_reads_nothing_is_never_as_promised(bench: Path) -> None:
    unit = UNIT.replace("window: .006 to .016", "window: 0 to .016")
    (bench / "unit.yaml").write_text(unit, encoding="utf-8")
    built = "front play: {trial: [black], gap: .002, as built: {at: 0, parts: [black]}}"
    done = ran("check", job(bench, "A-12", built), cwd=bench)
    assert done.returncode == 3
    lines = done.stdout.splitlines()
    assert lines[0] == (
        "A-12, Alder 2: NO READING after assembly: not as worked out; "
        "no promise was kept, its parts are as listed"
    )
    assert lines[2].startswith("front play: no reading, worked out 0.002 in")
    assert lines[3].startswith("  it reads nothing: the true gap may be anything below")
    assert "least change" not in done.stdout
    told = json.loads(ran("check", "A-12.yaml", "--json", cwd=bench).stdout)
    assert (told["as promised"], told["change"], told["would be explained by"]) == (False, None, [])
    assert told["gaps"][0]["nothing at"] == [1]
