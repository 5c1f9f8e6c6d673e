"""The documents as a person follows them: every block of commands, from the top, in one terminal.

A block of commands is marked `sh`. A block marked with a language and the name of a file
(`yaml drum.yaml`) is written into that file; one marked `yaml drum.yaml, low drum` takes the place
of the line of `low drum` in it. A block without a mark right after commands is what the last of
them prints.
"""

from __future__ import annotations

import re
import subprocess
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tests.commands import HOME, environment

if TYPE_CHECKING:
    from pathlib import Path

GUIDE = HOME / "gapwright" / "guide"
WHITE = "<rect width='100%' height='100%' fill='#fff'/>"
"""Paper under the README's picture, which may be looked at on a dark page."""
INSTALLS = "python3 -m venv"
"""What a block of commands holds that makes the environment: `.ci/run` runs these two."""
SHIMS = {
    "gapwright": f'exec "{sys.executable}" -m gapwright "$@"',
    "pip": "exit 0",  # the extras are installed here
    "pytest": f'exec "{sys.executable}" -m pytest -p no:cacheprovider -n 0 "$@"',
    "ruff": "exit 0",  # `.ci/run` has both, with what they take
    "mypy": "exit 0",
    "python": f'exec "{sys.executable}" "$@"',
    "activate": "PATH=$PWD/.venv/bin:$PATH",
}
LATER = """\
gapwright() {
    case "$1 $2" in
        "serve "*) set -- serve --help ;;
        "stock shelf") set -- "$@" --scenarios 20 --weeks 100 --time 1 --workers 1 ;;
        "stock kit") set -- "$@" --time 6 ;;
    esac
    command gapwright "$@" || echo "[exit $? of gapwright $*]"
}
"""
"""What would not end, or takes long, is asked for less."""


@dataclass(frozen=True, slots=True)
class Block:
    """A block between fences."""

    mark: str
    text: str


def blocks(document: Path) -> list[Block]:
    """Every block of a document, in order."""
    text = document.read_text(encoding="utf-8")
    found = re.findall(r"^```([^\n]*)\n(.*?)^```$", text, flags=re.MULTILINE | re.DOTALL)
    return [Block(mark, body) for mark, body in found]


def of(document: Path, language: str) -> list[str]:
    """The texts of a document's blocks of one language."""
    return [block.text for block in blocks(document) if block.mark.partition(" ")[0] == language]


def followed(document: Path, folder: Path) -> list[tuple[Block, str]]:
    """Follow a document in a folder: each block of commands with what they print, errors too.

    Where `gapwright` ends with another code than 0 a line `[exit CODE of COMMAND]` says so.
    """
    bin_ = folder / ".venv" / "bin"
    bin_.mkdir(parents=True)
    for name, shim in SHIMS.items():
        (bin_ / name).write_text(f"#!/bin/sh\n{shim}\n", encoding="utf-8")
        (bin_ / name).chmod(0o755)
    script, told = [LATER], list[Block]()
    for nth, block in enumerate(blocks(document)):
        language, _, name = block.mark.partition(" ")
        if language == "sh" and INSTALLS not in block.text:
            told.append(block)
            script.append(f"{block.text}echo '<<end>>'\n")
        elif name:
            file, _, key = name.partition(", ")
            new = folder / f"block-{nth}"
            new.write_text(block.text, encoding="utf-8")
            taken = f"sed -i -e '/^ *{key}: {{/{{r {new}\nd}}' {file}\n" if key else ""
            script.append(taken or f"cp {new} {file}\n")
    done = subprocess.run(
        ["bash", "-c", "".join(script)],
        cwd=folder, check=False, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
        env=environment({"GAPWRIGHT_WHO": "mary", "PAGER": "cat"}), encoding="utf-8",
    )  # fmt: skip
    printed = done.stdout.split("<<end>>\n")
    assert len(printed) == len(told) + 1, done.stdout
    return list(zip(told, printed, strict=False))


def shown(document: Path) -> dict[int, str]:
    """Which block of commands, counted from 0, is followed by what it prints."""
    found: dict[int, str] = {}
    nth, before = -1, ""
    for block in blocks(document):
        if block.mark == "sh" and INSTALLS not in block.text:
            nth += 1
        if not block.mark and before == "sh":
            found[nth] = block.text
        before = block.mark
    return found


def picture() -> str:
    """Draw the README's picture: the stack of its drum as `fit` builds it."""
    import gapwright
    from gapwright.drawing.stack import draw_stack
    from specs.files.read import case_of
    from specs.formats.yaml import parse

    drum = of(HOME / "README.md", "yaml")[0]
    report = gapwright.fit_case(case_of(parse(drum, "drum.yaml")))
    drawn = draw_stack(report.gaps[0], (), "in", 110.0).svg
    return drawn.replace("</title>", f"</title>{WHITE}", 1) + "\n"


if __name__ == "__main__":
    sys.stdout.write(picture())
