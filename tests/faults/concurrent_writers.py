"""Eight processes at one shelf at once; run as a process of its own, it forks safely."""

from __future__ import annotations

import os
import sys
import time
from uuid import uuid4

from inventory import open_shelf
from inventory.movements import Movement, Note, Part, Request
from inventory.refusals import ShortShelfError

CROWD, STOCK, KEYS = 8, 240, 25
RING = Part("drum ring", ".0600")
NEWER = "CREATE TABLE newer (n INTEGER);\nINSERT INTO newer VALUES (1);\n"


def reserve_until_empty(address: str, nth: int) -> list[str]:
    """Reserve one ring after the other, issuing every third, until there are no more."""
    given: list[str] = []
    with open_shelf(address, patience=60) as shelf:
        while True:
            job = f"J-{nth}-{len(given)}"
            moves = [Movement("reserve", RING, 1, job)]
            moves += [Movement("issue", RING, 1, job, reserved=True)] * (len(given) % 3 == 0)
            try:
                shelf.post(Request(job, f"bench {nth}", "", tuple(moves)))
            except ShortShelfError:
                return given
            given.append(job)
            time.sleep(0.002)  # or one bench would have them all before another has looked


def post_the_same(address: str, _nth: int) -> list[str]:
    """Post the same requests as everybody else; gives those that were the first of their key."""
    with open_shelf(address, patience=60) as shelf:
        asked = [
            Request(f"key {n}", "kit counter", "", (Movement("receive", RING, 1),))
            for n in range(KEYS)
        ]
        return [request.key for request in asked if not shelf.post(request).again]


def return_until_refused(address: str, _nth: int) -> list[str]:
    """Return one ring after the other to where they came from, until none is out any more."""
    given: list[str] = []
    with open_shelf(address, patience=60) as shelf:
        while True:
            job = f"J-{len(given) // 2 % 2}"
            back = (Movement("return", RING, 1, job), Movement("return", RING, 1, "J-2"))
            try:
                shelf.post(Request(uuid4().hex, "bench", "", back))
            except ShortShelfError:
                return given
            given += [job, "J-2"]
            time.sleep(0.002)


def open_an_old_one(address: str, _nth: int) -> list[str]:
    """Open a shelf of version 1, as everybody else does, and note something on it."""
    with open_shelf(address, patience=60) as shelf:
        shelf.post(Request(uuid4().hex, "bench", "", (), (Note("promise", "J-1", "mine"),)))
        return [str(shelf.verify().entries)]


def open_with_a_newer_version(address: str, _nth: int) -> list[str]:
    """Open the shelf with a gapwright that knows one more step of its version."""
    make_newer()
    with open_shelf(address, patience=60) as shelf:
        return [str(shelf.verify().entries)] if shelf.name.startswith("postgres") else ["opened"]


def make_newer() -> None:
    """Teach this process one more step."""
    from inventory import postgres_door, sqlite_door

    for door in (sqlite_door, postgres_door):
        setattr(door, "STEPS", (*door.STEPS, NEWER))  # noqa: B010 - a constant, save for this test


ROLES = {
    role.__name__: role
    for role in (
        reserve_until_empty, post_the_same, return_until_refused, open_an_old_one,
        open_with_a_newer_version,
    )
}  # fmt: skip


def main() -> None:
    """Let the crowd play a role, each telling what it got; the worst exit code is ours."""
    role, address = sys.argv[1:]
    children = []
    for nth in range(CROWD):
        child = os.fork()
        if not child:
            got = ROLES[role](address, nth)
            os.write(1, "".join(f"{nth} {word}\n" for word in got).encode())
            os._exit(0)
        children.append(child)
    sys.exit(max(os.waitpid(child, 0)[1] for child in children) and 1)


if __name__ == "__main__":
    main()
