"""Writers on one shelf, killed at random moments; run as a process of its own, it forks safely.

What a writer was told is posted it notes in a file of its own before it goes on. A killed writer's
successor posts the same request once more, as a person would who saw no answer.
"""

from __future__ import annotations

import os
import signal
import sys
import time
from itertools import count
from pathlib import Path
from random import Random

from inventory import create_shelf, open_shelf
from inventory.movements import Movement, Note, Part, Request

WRITERS = 3
LONGEST = 0.08  # seconds a writer is left alive


def planned(key: str) -> Request:
    """The request of a key, the same in every life: small, or an import that takes a while.

    One in four is notes alone, the others bring a promise with what they reserve.
    """
    draw = Random(key)  # noqa: S311 - no secret hangs on it
    notes = (Note("promise", key, key * draw.randrange(1, 200)), Note("unit", "unit.yaml", key))
    if draw.random() < 0.25:
        return Request(key, "writer", "", (), notes)
    part = Part("drum ring", f"size {draw.randrange(12)}")
    moves = [
        Movement("receive", part, 2),
        Movement("reserve", part, 2, key),
        Movement("issue", part, 1, key, reserved=True),
    ]
    if draw.random() < 0.5:
        moves.append(Movement("return", part, 1, key))
    if draw.random() < 0.05:
        moves += [Movement("receive", Part("steel", f"{key} {nth}"), 1) for nth in range(600)]
    return Request(key, "writer", "", tuple(moves), notes)


def write(shelf_file: Path, notes: Path, writer: int) -> None:
    """Post one request after the other for as long as one lives."""
    done = len(notes.read_text(encoding="utf-8").splitlines()) if notes.exists() else 0
    with open_shelf(shelf_file) as shelf, notes.open("a", encoding="utf-8") as note:
        while True:
            request = planned(f"{writer}-{done}")
            receipt = shelf.post(request)
            note.write(f"{request.key} {receipt.again}\n")
            note.flush()
            done += 1


def told(folder: Path) -> int:
    """How many requests the writers were told are posted."""
    return sum(len(note.read_bytes().splitlines()) for note in folder.glob("notes-*"))


def main() -> None:
    """Keep writers at work on a shelf in a folder, and kill so many, one after the other."""
    folder, kills = Path(sys.argv[1]), int(sys.argv[2])
    shelf_file = folder / "shelf.db"
    create_shelf(shelf_file)
    draw = Random(7)  # noqa: S311
    alive: dict[int, int] = {}
    for nth in count():
        if nth >= kills + WRITERS and told(folder) >= 2 * kills:
            break
        writer = nth % WRITERS
        if writer in alive:
            time.sleep(draw.uniform(0, LONGEST))
            os.kill(alive[writer], signal.SIGKILL)
            _, status = os.waitpid(alive[writer], 0)
            sys.stdout.write("killed\n" if os.WIFSIGNALED(status) else "ended by itself\n")
        alive[writer] = os.fork()
        if not alive[writer]:
            write(shelf_file, folder / f"notes-{writer}", writer)
    for process in alive.values():
        os.kill(process, signal.SIGKILL)
        os.waitpid(process, 0)


if __name__ == "__main__":
    main()
