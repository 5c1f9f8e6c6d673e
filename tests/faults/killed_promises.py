"""A bench that keeps and reserves, killed at random moments; run as a process of its own.

It promises two answers of one job in turn: in the job's file, and in a ledger with what they take
from the shelf. After each kill a line says what is there then.
"""

from __future__ import annotations

import json
import os
import signal
import sys
import time
from dataclasses import replace
from itertools import count
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING, cast

from gapwright.fit.reserve import reserve
from gapwright.fit.service import fit_case
from gapwright.output.together import finish
from gapwright.record.promise import keep_promise, promise_of, standing_promise
from gapwright.shelf.import_export import ImportOptions, import_counts
from gapwright.shelf.service import Author
from inventory import create_shelf, open_shelf
from specs.files.read import case_of, read_case
from specs.formats.yaml import parse
from specs.formats.yaml_edit import with_value
from tests.gapwright.conftest import DRUM

if TYPE_CHECKING:
    from gapwright.fit.report import Report

LONGEST = 0.12  # seconds the bench is left alive
DAY = "2031-04-02"
TEXT = f"# a job of the bench\n{DRUM}# the end\n"
BENCH = Author("bench")


def answers(folder: Path) -> list[Report]:
    """The two answers, their shelf being the ledger."""
    shelf = TEXT[TEXT.index("shelf:") : TEXT.index("job:")]
    text = TEXT.replace(shelf, "shelf: shop.db\n")
    texts = (text, text.replace("gap: .041", "gap: .051"))
    return [fit_case(case_of(parse(one, str(folder / "ledger.yaml")))) for one in texts]


def live(job: Path, reports: list[Report], first: int) -> None:
    """Promise one answer after the other for as long as one lives."""
    for nth in count(first):
        report = reports[nth % 2]
        reserve(report, BENCH)
        keep_promise(read_case(job), promise_of(report, DAY), None)


def found(folder: Path, job: Path) -> dict[str, object]:
    """What is there: in the ledger what the job holds and what is promised, and in the file."""
    finish(job)
    case = read_case(job)
    on_ledger = standing_promise(replace(case, ledger=str(folder / "shop.db")))
    with open_shelf(str(folder / "shop.db")) as shelf:
        held = {one.lot_id: dict(one.holders).get("J-7", 0) for one in shelf.balances()}
        requests = shelf.verify().requests
    text = job.read_bytes().decode()
    return {
        "held": {lot: number for lot, number in held.items() if number},
        "takes": {one.code: one.count for one in on_ledger.takes} if on_ledger else {},
        "requests": requests,
        "in file": case.job.promised.answer if case.job.promised else None,
        "rest": with_value(text, ("job", "promised"), None, str(job)) == TEXT,
    }


def main() -> None:
    """Keep a bench at work in a folder, and kill it so many times, or more on a slow machine."""
    folder, kills = Path(sys.argv[1]), int(sys.argv[2])
    job = folder / "job.yaml"
    job.write_bytes(TEXT.encode())
    create_shelf(str(folder / "shop.db"))
    import_counts(str(folder / "shop.db"), ImportOptions(job, "add"), BENCH)
    reports, draw = answers(folder), Random(7)  # noqa: S311
    told: dict[str, object] = {"requests": 0}
    for nth in count():
        if nth >= kills and cast("int", told["requests"]) >= 2 * kills:
            break
        process = os.fork()
        if not process:
            live(job, reports, nth)
        time.sleep(draw.uniform(0, LONGEST))
        os.kill(process, signal.SIGKILL)
        _, status = os.waitpid(process, 0)
        told = {"killed": os.WIFSIGNALED(status), **found(folder, job)}
        sys.stdout.write(json.dumps(told) + "\n")


if __name__ == "__main__":
    main()
