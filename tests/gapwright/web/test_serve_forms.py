"""A form is a job file: what a page shows of a job and sends again is the very same job."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

import pytest

from gapwright.demo import write_demo
from gapwright.web.folder import Shop
from gapwright.web.forms.fields import is_length, name_of, path_of, source_of, with_unit
from gapwright.web.pages.check import check
from gapwright.web.pages.measure import measure
from gapwright.web.request import PageRequest
from specs.errors import InputError
from specs.files.parse import parse_file
from specs.files.read import read_case
from specs.findings import dotted
from specs.formats.yaml import Source
from specs.formats.yaml_text import written
from specs.gaps.built import parts_of
from specs.gaps.job_gap import JobGap
from specs.values.lengths import LengthError, parse_length
from tests.gapwright.web.sent_forms import form_at
from tests.oracles.random_jobs import LARGER, as_text, random_job

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from specs.models.case import Case
    from specs.models.job import Parts

JOBS = 60
UNITS = ("in", "mm", "thou")


def sent_again(folder: Path, name: str, lengths: str, page: str = "/measure") -> Case:
    """Open a job in a form, in a unit of length, and send the form as it stands."""
    shop = Shop(folder)
    show, to = (measure, "/fit") if page == "/measure" else (check, "/checked")
    asked = (("from", name), ("lengths", lengths), ("length", lengths))
    form = form_at(show(PageRequest(shop, page, asked)).text, to)
    return shop.case(source_of(PageRequest(shop, to, tuple(form.fields))))


def meant(case: Case) -> Any:  # noqa: ANN401 - to be compared
    """A job with its builds as they are understood: a part may say the unit it was measured in."""
    gaps = {
        name: (
            work.model_copy(update=dict.fromkeys(("trial", "now", "as_built"))),
            [_listed(case, name, one) for one in (work.trial, work.now)],
            work.as_built and (work.as_built.at, work.as_built.state),
            work.as_built and _listed(case, name, parts_of(work.as_built)),
        )
        for name, work in case.job.gaps.items()
    }
    return case.job.model_copy(update={"gaps": gaps})


def _listed(case: Case, name: str, parts: Parts | None) -> object:
    listed = parts is not None and not isinstance(parts.parts, str)
    return JobGap(case, name).build(parts) if listed and parts else parts


@pytest.mark.parametrize("lengths", UNITS)
@pytest.mark.parametrize("page", ["/measure", "/check"])
def test_the_demo_jobs_come_back_as_they_are(tmp_path: Path, lengths: str, page: str) -> None:
    write_demo(tmp_path / "demo")
    for name in ("job.yaml", "job-no-fit.yaml", "job-built.yaml"):
        case = read_case(tmp_path / "demo" / name)
        assert meant(sent_again(tmp_path / "demo", name, lengths, page)) == meant(case)


@pytest.mark.parametrize("lengths", UNITS)
def test_a_reading_between_two_blades_is_shown_and_comes_back(tmp_path: Path, lengths: str) -> None:
    write_demo(tmp_path / "demo")
    job = tmp_path / "demo" / "job.yaml"
    text = job.read_text(encoding="utf-8")
    blades = text.replace("gap: [.018, .020, .019]", "gap: {goes: .018, stops: .020}")
    assert blades != text
    job.write_text(blades, encoding="utf-8")
    shown = measure(PageRequest(Shop(tmp_path / "demo"), "/measure", (("from", "job.yaml"),))).text
    assert "read by the feeler that goes .018 and the one that stops .020" in shown
    assert 'name="job/gaps/low/gap/at"' not in shown
    asked = (("from", "job.yaml"), ("lengths", "mm"), ("length", "mm"))
    shown = measure(PageRequest(Shop(tmp_path / "demo"), "/measure", asked)).text
    assert "read by the feeler that goes .018 in and the one that stops .020 in" in shown
    assert meant(sent_again(tmp_path / "demo", "job.yaml", lengths)) == meant(read_case(job))


def test_random_jobs_come_back_as_they_are(tmp_path: Path) -> None:
    """Jobs of every kind, in another unit of length in turn: layouts, shims, states, words."""
    roads: Counter[str] = Counter()
    for seed in range(JOBS):
        drawn = random_job(seed, LARGER if seed % 2 else 1)
        (tmp_path / "job.yaml").write_text(written(as_text(drawn.document)), encoding="utf-8")
        try:
            case = read_case(tmp_path / "job.yaml")
        except InputError:
            continue
        again = sent_again(tmp_path, "job.yaml", UNITS[seed % 3])
        assert meant(again) == meant(case), seed
        assert again.unit == case.unit
        works = case.job.gaps.values()
        roads["job"] += 1
        roads["trial"] += any(work.trial is not None for work in works)
        roads["now"] += any(work.now is not None for work in works)
        roads["several places"] += any(work.gap and len(work.gap.at) > 1 for work in works)
    assert roads["job"] >= 50, roads
    assert min(roads[road] for road in ("trial", "now")) >= 5, roads


SHIMS = """\
length: mm
unit:
  families:
    ring: {kind: ring, sizes: {"1": 1.5, "1 wide": 1.7}}
    shim: {kind: shim, sizes: [0.1, 0.2]}
  packs:
    low:
      window: 0.5 to 0.9
      layouts:
        bare: {rank: 0, stack: [ring]}
        shimmed: {rank: 1, stack: [{part: shim, how many: 0 to 3}, ring]}
shelf: {ring: {"1": 1, "1 wide": 1}, shim: {0.1: 3, 0.2: 3}}
job:
  gaps:
    low: {trial: {layout: shimmed, parts: [PARTS, RING]}, gap: [0.71, '0,69']}
"""


@pytest.mark.parametrize("parts", ["[]", "0.1", "[0.1, 0.2]", "[0.2, 0.2, 0.1]"])
@pytest.mark.parametrize("ring", ["'1'", "1 wide", "1 wide 1.69", "1 1.51", "1.7"])
@pytest.mark.parametrize("lengths", ["mm", "in"])
def test_shims_layouts_and_measured_parts(
    tmp_path: Path, parts: str, ring: str, lengths: str
) -> None:
    text = SHIMS.replace("PARTS", parts).replace("RING", ring)
    (tmp_path / "job.yaml").write_text(text, encoding="utf-8")
    case = read_case(tmp_path / "job.yaml")
    assert meant(sent_again(tmp_path, "job.yaml", lengths)) == meant(case)


def test_what_is_not_shown_is_kept(tmp_path: Path) -> None:
    """A job file holds more than a form asks for."""
    folder = tmp_path / "demo"
    write_demo(folder)
    text = (folder / "job.yaml").read_text(encoding="utf-8")
    more = "  aims: [thin, aim]\n  gauges: {feeler: .002}\n  parts: {low friction: .0795}\n"
    text = text.replace("now: trial, gap", "now: trial, keep: {low ring: .0780}, gap", 1)
    (folder / "more.yaml").write_text(text + more, encoding="utf-8")
    for page in ("/measure", "/check"):
        assert (
            sent_again(folder, "more.yaml", "mm", page).job == read_case(folder / "more.yaml").job
        )


@pytest.mark.parametrize(
    "path", [("job", "name"), ("job", "gaps", "a/b", "gap", "at"), ("job", "gaps", "100 %", "now")]
)  # fmt: skip
def test_a_field_is_called_by_its_path(path: tuple[str, ...]) -> None:
    assert path_of(name_of(path)) == path


@pytest.mark.parametrize("name", ["key", "unit", "job", "jobs/x", "job/" + "a/" * 9, ""])
def test_other_fields_are_none_of_the_jobs(name: str) -> None:
    assert path_of(name) == ()


@pytest.mark.parametrize(
    "text", [".047", "47", "1,19", "47 thou", "1/16", "-.002", "x", "", "1,5 in"]
)
@pytest.mark.parametrize("unit", UNITS)
def test_a_number_given_its_unit_is_the_same_length_in_any_form(text: str, unit: str) -> None:
    given = with_unit(text, unit)  # type: ignore[arg-type]
    for declared in UNITS:
        try:
            length = parse_length(text, unit)  # type: ignore[arg-type]
        except LengthError:
            assert given == text
        else:
            assert parse_length(given, declared) == length  # type: ignore[arg-type]


def test_a_field_is_a_length_just_where_the_reader_asks_for_its_unit(tmp_path: Path) -> None:
    """Every value of this job is a bare number, and neither it nor its unit names a unit."""
    asked = dict.fromkeys(("u", "gauge"), "1.5") | {"state": {"disc": "1.5"}}
    taken = {"at": "1.5"} | asked
    build = {"parts": ["1.5"], "layout": "1.5"}
    gap = {
        "gap": taken, "readings": {"a": "1.5"}, "trial": build, "now": ["1.5"],
        "as built": {**taken, **build, "hand": "1.5"}, "layout": "1.5", "keep": {"ring": "1.5"},
    }  # fmt: skip
    job = {
        **dict.fromkeys(("name", "hand", "note"), "1.5"), "facts": {"drum": "1.5"},
        "found": {"piston": "1.5"}, "readings": {"c": "1.5", "d": taken}, "gaps": {"low": gap},
        "parts": {"friction": "1.5"}, "priority": "1", "due": "2031-04-09",
        "gauges": {"blade": {"tells": "1.5", "limits": "1.5"}, "depth": "1.5"},
    }  # fmt: skip
    source = Source(str(tmp_path / "job.yaml"), {"job": job}, {(): 0})
    refused = parse_file(source).problems
    assert all("has no unit" in one.sentence for one in refused)
    bare = {one.field for one in refused}
    assert len(bare) == 12
    leaves = [*paths_in(job, ("job",))]
    assert bare == {dotted(path) for path in leaves if is_length(path)}
    assert all(
        is_length(path_of(f"job/gaps/low/{one}/measured/0")) for one in ("trial", "now", "as built")
    )


def paths_in(held: object, path: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    if isinstance(held, dict):
        for key, one in held.items():
            yield from paths_in(one, (*path, key))
    else:
        yield path
