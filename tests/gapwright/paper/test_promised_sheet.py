"""The sheet of a job with a promise: it prints what was promised, and says what would differ."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from gapwright.fit.promised_build import as_promised
from gapwright.fit.service import fit_job
from gapwright.record.promise import promise_of
from specs.models.record import plain

if TYPE_CHECKING:
    from gapwright.fit.report import Report
    from tests.gapwright.bench import Bench


def report_after(bench: Bench, drum: str, *swaps: tuple[str, str]) -> Report:
    """Keep the promise of the drum, change its file, and answer it again."""
    job = bench.write("job.yaml", drum)
    assert bench.run("fit", job, "--promise")[0] == 0
    text = (bench.folder / "job.yaml").read_text()
    for before, after in swaps:
        assert before in text
        text = text.replace(before, after, 1)
    bench.write("job.yaml", text)
    return fit_job(bench.folder / "job.yaml")


GONE = (".0700: {count: 1, bin: C1}, ", "")
EMPTY = ("  drum ring: {.0600: 1, .0700: {count: 1, bin: C1}, .0780: 2}\n", "")
LARGER = ("gap: .041", "gap: .051")


@pytest.mark.parametrize("swap", [GONE, EMPTY, LARGER], ids=["ring gone", "no ring", "reading"])
def test_the_promised_build_is_printed_whatever_would_be_chosen_now(
    bench: Bench, drum: str, swap: tuple[str, str]
) -> None:
    found = as_promised(report_after(bench, drum, swap))
    assert found.anew is not None
    assert found.standing is not None
    again = promise_of(found, found.standing.on)
    held = plain(found.standing, "mm")["gaps"]["low drum"]
    mine = plain(again, "mm")["gaps"]["low drum"]
    assert mine["parts"] == held["parts"] == ["thin", "thick", "thick", ".0700"]
    if swap != LARGER:  # the same readings leave the same gap
        assert (again.gaps, again.takes) == (found.standing.gaps, found.standing.takes)


def test_an_answer_as_promised_is_the_answer(bench: Bench, drum: str) -> None:
    report = report_after(bench, drum)
    assert as_promised(report) is report


@pytest.mark.face
def test_the_sheet_says_what_stands_and_what_would_differ(bench: Bench, drum: str) -> None:
    report_after(bench, drum, GONE)
    code, out, err = bench.run("sheet", str(bench.folder / "job.yaml"))
    assert (code, err) == (0, "")
    assert "PROMISED on" in out
    html = (bench.folder / "job.html").read_text()
    assert "and it stands; a new answer would differ:" in html
    assert "drum ring .0700" in html
