"""Writers of jobs and their shelf, killed at random moments; run as a process of its own.

Each writer counts one up in the shelf's file and in its own job's, together, and notes what it was
told is written. All are killed at once, and what is found then is written out.
"""

from __future__ import annotations

import os
import re
import signal
import sys
import time
from pathlib import Path
from random import Random

from gapwright.output.together import ChangedError, Rewrite, finish, write_together

WRITERS = 3
LONGEST = 0.3  # seconds the writers are left alive


def number(text: str) -> int:
    return int(re.findall(r"[0-9]+", text)[-1])


def up(file: Path) -> Rewrite:
    text = file.read_text(encoding="utf-8")
    return Rewrite(file, text, text.replace(f"n: {number(text)}", f"n: {number(text) + 1}"))


def write(shelf: Path, job: Path, notes: Path) -> None:
    """Count up for as long as one lives."""
    with notes.open("a", encoding="utf-8") as note:
        while True:
            finish(job)
            try:
                write_together([up(shelf), up(job)])
            except ChangedError:
                continue
            note.write(".")
            note.flush()


def forked(shelf: Path, job: Path, notes: Path) -> int:
    process = os.fork()
    if not process:
        write(shelf, job, notes)
    return process


def main() -> None:
    """Keep writers at work in a folder, kill all, and print what is there, so many times."""
    folder, rounds = Path(sys.argv[1]), int(sys.argv[2])
    shelf = folder / "shelf.yaml"
    shelf.write_text("# counts\nshelf: {n: 0}\n", encoding="utf-8")
    jobs = [folder / f"bench {nth}" / "job.yaml" for nth in range(WRITERS)]
    for job in jobs:
        job.parent.mkdir()
        job.write_text("job:\n  n: 0", encoding="utf-8")
    draw = Random(7)  # noqa: S311
    for _ in range(rounds):
        alive = [forked(shelf, job, job.with_name("notes")) for job in jobs]
        time.sleep(draw.uniform(0, LONGEST))
        for process in alive:
            os.kill(process, signal.SIGKILL)
        ended = [os.WIFSIGNALED(os.waitpid(process, 0)[1]) for process in alive]
        files = [shelf, *jobs]
        draw.shuffle(files)
        finished = sum(map(finish, files))
        told = [job.with_name("notes").stat().st_size for job in jobs]
        counts = [number(file.read_text(encoding="utf-8")) for file in (shelf, *jobs)]
        sys.stdout.write(" ".join(map(str, [sum(ended), finished, *counts, *told])) + "\n")


if __name__ == "__main__":
    main()
