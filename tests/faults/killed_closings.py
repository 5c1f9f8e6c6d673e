"""Jobs closed by processes that are killed at random moments; run as a process of its own.

Each round two benches close one job, on a shelf in a file or in a ledger, and both are killed.
What is there then is printed: whether the job is closed, and how many rings its shelf has.
"""

from __future__ import annotations

import os
import signal
import sys
import time
from contextlib import suppress
from pathlib import Path
from random import Random

from gapwright.close.service import close_job
from gapwright.jobs.service import list_jobs
from gapwright.shelf.service import Author
from inventory import create_shelf, open_shelf
from inventory.movements import Movement, Part, Request
from specs.errors import InputError
from specs.files.read import read_case

RINGS, BENCHES = 1_000, 2
PATIENCE = 1.6  # how much longer than a closing takes the benches are left alive at most
UNIT = """\
length: in
unit:
  families:
    disc: {kind: friction, fixed: .0800}
    ring: {kind: ring, sizes: {A: .0600, B: .0700}}
  packs: {low: {window: .010 to .090, stack: [disc, ring]}}
"""
JOB = """\
length: in
unit: unit.yaml
shelf: SHELF
job:
  name: J-N
  gaps:
    low: {trial: [A], gap: .05, as built: {at: .05, parts: [A]}} # by hand
"""


def close(job: Path, who: str) -> None:
    """Close a job, as a bench does, unless the other was first."""
    with suppress(InputError):
        close_job(job, Author(who))
    os._exit(0)


def forked(job: Path, who: str) -> int:
    process = os.fork()
    if not process:
        close(job, who)
    return process


def written(folder: Path, nth: int, shelf: str) -> Path:
    """Write one job more."""
    job = folder / f"J-{nth}.yaml"
    job.write_text(JOB.replace("SHELF", shelf).replace("J-N", f"J-{nth}"), encoding="utf-8")
    return job


def rings(folder: Path, shelf: str, job: Path) -> int:
    """How many rings the shelf has."""
    if shelf == "shop.db":
        with open_shelf(folder / shelf) as opened:
            return sum(balance.on_hand for balance in opened.balances())
    return sum(lot.count for lot in read_case(job).shelf["ring"]["A"])


def main() -> None:
    """Close so many jobs in a folder, the benches killed, and print what is there after each."""
    folder, rounds, shelf = Path(sys.argv[1]), int(sys.argv[2]), sys.argv[3]
    (folder / "unit.yaml").write_text(UNIT, encoding="utf-8")
    if shelf == "shop.db":
        create_shelf(folder / shelf)
        with open_shelf(folder / shelf) as opened:
            many = Movement("receive", Part("ring", "A"), RINGS)
            opened.post(Request("begin", "test", "", (many,)))
    else:
        text = f"length: in\nshelf: {{ring: {{A: {RINGS}}}}} # counted\n"
        (folder / shelf).write_text(text, encoding="utf-8")
    draw = Random(7)  # noqa: S311
    close_job(written(folder, 0, shelf), Author("first"))
    first = written(folder, 1, shelf)
    began = time.perf_counter()
    os.waitpid(forked(first, "second"), 0)
    longest = PATIENCE * (time.perf_counter() - began)
    for nth in range(2, rounds + 2):
        job = written(folder, nth, shelf)
        benches = [forked(job, f"bench {one}") for one in range(BENCHES)]
        time.sleep(draw.uniform(0, longest))
        for process in benches:
            os.kill(process, signal.SIGKILL)
        ended = [os.WIFSIGNALED(os.waitpid(process, 0)[1]) for process in benches]
        begun = any(folder.glob(".*.together"))
        (listed,) = list_jobs([job], closed=True).jobs
        closed = listed.state.name == "closed" and not listed.changed
        words = (sum(ended), int(begun), int(closed), rings(folder, shelf, job))
        sys.stdout.write(" ".join(map(str, words)) + "\n")


if __name__ == "__main__":
    main()
