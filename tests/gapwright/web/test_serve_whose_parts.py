"""The page asks whose parts a trial build is made of, over which linings, and how they were read.

A form that is sent as it stands is the job written by hand; what the terminal says of its parts the
page says too.
"""

from __future__ import annotations

import html
from typing import TYPE_CHECKING

import pytest

from gapwright.fit.service import fit_job
from gapwright.output.rendering import render
from gapwright.web.folder import Shop
from gapwright.web.forms.fields import source_of
from gapwright.web.pages.fit import fit
from gapwright.web.pages.measure import measure
from gapwright.web.request import PageRequest
from specs.files.read import read_case
from specs.values.lengths import parse_length
from tests.gapwright.web.sent_forms import form_at

if TYPE_CHECKING:
    from pathlib import Path

DRUM = """\
length: mm
unit:
  name: Teasel 4
  gauges: {blade: 0.02}
  families:
    lining: {kind: friction, fixed: 1.90}
    plate: {kind: steel, sizes: {full: 2.20, lean: 1.80}}
    clip: {kind: ring, sizes: {K: 1.50, L: 1.70, M: 1.90}}
  packs:
    drive:
      window: 0.90 to 1.50
      readings: {gap: feeler under the clip}
      stack: [{repeat: 2, of: [plate, lining]}, clip]
  end plays:
    nose: {window: 0.2 to 0.9, readings: {gap: dial}, stack: [clip]}
shelf:
  plate: {full: 3, lean: 2}
  clip: {K: 2, L: 2, M: 2}
job:
  name: T-9
  # whole job
  gaps:
    drive: {trial: [full, full, L], gap: 1.25}
"""
PLAIN = "{trial: [full, full, L], gap: 1.25}"
LINED = "{trial: {parts: [full, full, L], linings: 1.80}, trial parts: of this unit, gap: 1.25}"
GAP = "job/gaps/drive"
QUESTION = (
    "clip: one in each of drive and nose; one part, or 2? Counted as 2 until the unit file says "
    "`separate parts` or `shared parts`"
)
EMPTY = {f"{GAP}/trial/parts/{nth}": "" for nth in range(3)}


def drum(folder: Path, *swaps: tuple[str, str]) -> Path:
    text = DRUM
    for old, new in swaps:
        assert old in text, old
        text = text.replace(old, new)
    (folder / "job.yaml").write_text(text, encoding="utf-8")
    return folder / "job.yaml"


def form(folder: Path, *asked: tuple[str, str]) -> list[tuple[str, str]]:
    """The fields of the job's form, as it is opened."""
    page = measure(PageRequest(Shop(folder), "/measure", (("from", "job.yaml"), *asked))).text
    return form_at(page, "/fit").fields


def sent(folder: Path, fields: list[tuple[str, str]], **typed: str) -> PageRequest:
    """The form sent, with some fields typed into; each is one of the form's."""
    assert typed.keys() <= {name for name, _ in fields}
    filled = tuple((name, typed.get(name, value)) for name, value in fields)
    return PageRequest(Shop(folder), "/fit", filled)


@pytest.mark.parametrize("lengths", ["mm", "in", "thou"])
@pytest.mark.parametrize("whole", ["of this unit", "from the shelf", ""])
@pytest.mark.parametrize("gauge", ["micrometer", "blade", "own", ""])
def test_a_job_written_by_hand_comes_back_from_its_form(
    tmp_path: Path, lengths: str, whole: str, gauge: str
) -> None:
    told = f"  trial parts: {whole}\n" if whole else ""
    told += f"  gauges: {{own: 0.01}}\n  parts read with: {gauge}\n" if gauge else ""
    file = drum(tmp_path, (PLAIN, LINED), ("  # whole job\n", told))
    case = read_case(file)
    fields = form(tmp_path, ("lengths", lengths), ("length", lengths))
    for name, value in (
        ("job/trial parts", whole), ("job/parts read with", gauge),
        (f"{GAP}/trial parts", "of this unit"),
    ):  # fmt: skip
        assert (name, value) in fields
    again = Shop(tmp_path).case(source_of(sent(tmp_path, fields)))
    assert again.job == case.job
    assert again.job.gaps["drive"].trial.linings == parse_length("1.80 mm")  # type: ignore[union-attr]


def test_what_is_typed_is_what_a_person_would_have_written(tmp_path: Path) -> None:
    typed = {
        "job/trial parts": "from the shelf", "job/parts read with": "micrometer",
        f"{GAP}/trial parts": "of this unit", f"{GAP}/trial/linings": "1,80",
    }  # fmt: skip
    drum(tmp_path)
    request = sent(tmp_path, form(tmp_path), **typed)
    by_hand = drum(
        tmp_path, (PLAIN, LINED),
        ("  # whole job\n", "  trial parts: from the shelf\n  parts read with: micrometer\n"),
    )  # fmt: skip
    assert Shop(tmp_path).case(source_of(request)).job == read_case(by_hand).job
    emptied = sent(tmp_path, form(tmp_path), **dict.fromkeys(typed, ""))
    assert Shop(tmp_path).case(source_of(emptied)).job == read_case(drum(tmp_path)).job


def test_linings_are_added_to_a_build_that_is_listed_in_short(tmp_path: Path) -> None:
    """Whoever sends one field alone keeps the parts as the file has them."""
    drum(tmp_path)
    fields = (("from", "job.yaml"), (f"{GAP}/trial/linings", "1.80"))
    source = source_of(PageRequest(Shop(tmp_path), "/fit", fields))
    assert source.data["job"]["gaps"]["drive"]["trial"] == {
        "parts": ["full", "full", "L"], "linings": "1.80",
    }  # fmt: skip


def test_linings_are_asked_for_only_where_a_stack_has_some_that_are_not_chosen(
    tmp_path: Path,
) -> None:
    drum(tmp_path)
    names = {name for name, _ in form(tmp_path)}
    assert f"{GAP}/trial/linings" in names
    assert "job/gaps/nose/trial/linings" not in names
    assert "job/gaps/nose/trial parts" in names


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        (f"{GAP}/trial/linings", "19", "19 mm is no thickness for a friction"),
        (f"{GAP}/trial/linings", "thick", "is no length: write one"),
        ("job/parts read with", "ruler", "the gauges known are"),
        (f"{GAP}/trial parts", "mine", "of this unit"),
    ],
)
def test_what_is_wrong_stands_beside_its_field_with_what_was_typed(
    tmp_path: Path, field: str, value: str, said: str
) -> None:
    drum(tmp_path)
    answer = fit(sent(tmp_path, form(tmp_path), **{field: value}))
    assert answer.status == 422
    shown = html.unescape(answer.text)
    assert (field, value) in form_at(shown, "/fit").fields
    beside = shown.index('class="wrong"', shown.index(f'name="{field}"'))
    assert said in shown[beside : beside + 300]


def test_the_answer_of_the_page_says_of_parts_what_the_terminal_says(tmp_path: Path) -> None:
    file = drum(tmp_path, (PLAIN, LINED))
    told = render(fit_job(file))
    shown = html.unescape(fit(sent(tmp_path, form(tmp_path))).text)
    for sentence in (
        QUESTION,
        "drive: read over lining 1.80 mm, 1.90 mm goes in: 2 x 0.10 mm = 0.20 mm less",
    ):
        assert sentence in " ".join(told.split())
        assert sentence in shown
    drum(tmp_path, (PLAIN, LINED), ("  end plays:\n", "  separate parts: clip\n  end plays:\n"))
    assert "one part, or 2?" not in fit(sent(tmp_path, form(tmp_path))).text


def test_linings_typed_without_a_trial_build_are_refused_and_kept(tmp_path: Path) -> None:
    drum(tmp_path)
    typed = f"{GAP}/trial/linings"
    answer = fit(sent(tmp_path, form(tmp_path), **EMPTY, **{typed: "1.80"}))
    shown = html.unescape(answer.text)
    assert answer.status == 422
    assert (typed, "1.80") in form_at(shown, "/fit").fields
    beside = shown.index("this key is missing; write it with a value")
    assert shown.rindex('value="trial"', 0, beside) > shown.index(f'name="{GAP}/trial/parts/2"')


@pytest.mark.parametrize("trial", [PLAIN, "{trial: {parts: [full, full, L]}, gap: 1.25}"])
def test_a_trial_build_that_is_emptied_is_gone(tmp_path: Path, trial: str) -> None:
    drum(tmp_path, (PLAIN, trial))
    source = source_of(sent(tmp_path, form(tmp_path), **EMPTY))
    assert source.data["job"]["gaps"]["drive"] == {"gap": {"at": "1.25"}}


def test_a_trial_build_in_a_word_stays_where_no_part_is_listed(tmp_path: Path) -> None:
    file = drum(tmp_path, (PLAIN, "{trial: none, gap: 1.25}"))
    assert Shop(tmp_path).case(source_of(sent(tmp_path, form(tmp_path)))).job == read_case(file).job
