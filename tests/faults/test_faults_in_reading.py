"""Files that cannot be read, really: no permission, gone, endless, no text."""

from __future__ import annotations

import os
import time
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

from specs.errors import InputError
from specs.files.read import read_case
from specs.formats.plain_file import NOT_PLAIN
from tests.commands import DEMO, refused, run
from tests.specs.drums import DRUM, swapped


def problems(job: Path) -> list[str]:
    with pytest.raises(InputError) as caught:
        read_case(job)
    return [str(one).replace(str(job.parent), ".") for one in caught.value.problems]


def job_at(folder: Path, unit: str = "unit.yaml") -> Path:
    text = DRUM.partition("shelf:")
    (folder / "unit.yaml").write_text(text[0], encoding="utf-8")
    rest = f"length: in\nunit: {unit}\nshelf:{text[2]}"
    (folder / "job.yaml").write_text(rest, encoding="utf-8")
    return folder / "job.yaml"


def test_a_unit_file_without_permission(tmp_path: Path) -> None:
    job = job_at(tmp_path)
    (tmp_path / "unit.yaml").chmod(0)
    if os.access(tmp_path / "unit.yaml", os.R_OK):
        pytest.skip("an administrator reads everything")
    assert problems(job) == [
        "./unit.yaml: cannot be read (Permission denied): check the name and its permissions"
    ]


def test_a_unit_file_the_system_will_not_open(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job, opened = job_at(tmp_path), Path.open

    def forbid(self: Path, *rest: Any, **named: Any) -> object:  # noqa: ANN401 - whatever is asked
        if self.name == "unit.yaml":
            raise PermissionError(13, "Permission denied")
        return opened(self, *rest, **named)

    monkeypatch.setattr(Path, "open", forbid)
    assert problems(job) == [
        "./unit.yaml: cannot be read (Permission denied): check the name and its permissions"
    ]


def test_a_disk_that_fails_while_a_file_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Failing(BytesIO):
        def read(self, _: int | None = None) -> bytes:
            raise OSError(5, "Input/output error")

    (tmp_path / "job.yaml").touch()
    monkeypatch.setattr(Path, "open", lambda *_: Failing())
    assert problems(tmp_path / "job.yaml") == [
        "./job.yaml: cannot be read (Input/output error): check the name and its permissions"
    ]


def test_a_file_that_vanishes_between_naming_and_reading(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job, opened = job_at(tmp_path), Path.open

    def vanish(self: Path, *rest: Any) -> object:  # noqa: ANN401 - whatever may be asked
        if self.name == "unit.yaml":
            self.unlink()
        return opened(self, *rest)

    assert read_case(job).unit.packs
    monkeypatch.setattr(Path, "open", vanish)
    assert problems(job) == ["./unit.yaml: no such file: check the name"]


def test_a_folder_that_vanishes_too(tmp_path: Path) -> None:
    assert problems(job_at(tmp_path, "gone/unit.yaml")) == [
        "./gone/unit.yaml: no such file: its folder cannot be listed"
    ]


def test_links_that_lead_nowhere_or_round(tmp_path: Path) -> None:
    (tmp_path / "loose.yaml").symlink_to(tmp_path / "nowhere.yaml")
    (tmp_path / "round.yaml").symlink_to(tmp_path / "round.yaml")
    assert problems(job_at(tmp_path, "loose.yaml"))[0].startswith("./loose.yaml: no such file")
    (told,) = problems(job_at(tmp_path, "round.yaml"))
    assert told.startswith("./round.yaml: cannot be read (Too many levels of symbolic links)")


@pytest.mark.parametrize(
    ("device", "told"),
    [("/dev/zero", NOT_PLAIN), ("/dev/null", NOT_PLAIN), ("/dev", "is a folder")],
)
def test_a_device_is_no_file(tmp_path: Path, device: str, told: str) -> None:
    if not Path(device).exists():
        pytest.skip(f"no {device} here")
    (found,) = problems(job_at(tmp_path, device))
    assert told in found


def test_a_file_without_end_is_left_at_two_megabytes(tmp_path: Path) -> None:
    job = job_at(tmp_path, "long.yaml")
    with (tmp_path / "long.yaml").open("wb") as stream:
        stream.truncate(1_000_000_000_000)  # all of it one hole
    begun = time.process_time()
    assert problems(job) == ["./long.yaml: is larger than 2 MB: check that it is the right file"]
    assert time.process_time() - begun < 5


NOT_UTF_8 = "holds a character that is not UTF-8: save the file as UTF-8"


@pytest.mark.parametrize(
    ("raw", "told"),
    [
        (b"\xff\xfe\x00", "./unit.yaml: is UTF-16: save it as UTF-8"),
        (b"a: 1\nb: \xe9\n", f"./unit.yaml:2: {NOT_UTF_8}"),
        (b"\x7fELF\x02\x01", "./unit.yaml:1: holds an invisible character (U+007F): delete it"),
        (b"PK\x03\x04", "./unit.yaml:1: holds an invisible character (U+0003): delete it"),
        (b"a: \xed\xa0\x80", f"./unit.yaml:1: {NOT_UTF_8}"),
    ],
)  # fmt: skip
def test_a_file_that_is_no_text(tmp_path: Path, raw: bytes, told: str) -> None:
    job = job_at(tmp_path)
    (tmp_path / "unit.yaml").write_bytes(raw)
    assert problems(job) == [told]


# The same through the command line.


def test_a_command_lists_every_problem_on_a_line_of_its_own(tmp_path: Path) -> None:
    job = tmp_path / "drum.yaml"
    swaps = ("kind: ring", "kind: rign"), ("thick: 5", "thick: five"), ("gap: .041", "gap: nan")
    job.write_text(swapped(DRUM, *swaps), encoding="utf-8")
    told = refused("fit", "drum.yaml", cwd=tmp_path)
    assert told == [
        'drum.yaml:8: unit.families.drum ring.kind: found "rign"; did you mean "ring"?',
        (
            'drum.yaml:14: shelf.drum steel.thick: found "five"; write a whole number of 0 or '
            "more, such as 3"
        ),
        (
            "drum.yaml:18: job.gaps.low drum.gap: 'nan' is no length: write one like 0.071 in, "
            "1.80 mm or 71 thou"
        ),
    ]


def test_a_command_names_a_file_that_is_not_there_and_one_near_it(tmp_path: Path) -> None:
    (tmp_path / "drum.yaml").write_text(DRUM, encoding="utf-8")
    assert refused("fit", "durm.yaml", cwd=tmp_path) == [
        "durm.yaml: no such file: did you mean drum.yaml?"
    ]
    assert refused("fit", tmp_path) == [f"{tmp_path}: is a folder: name a file in it"]
    assert refused("fit", "drum.yaml", "--unit", "x.json", cwd=tmp_path) == [
        "x.json: no such file: check the name"
    ]


def test_a_command_names_a_file_whose_name_is_no_text(tmp_path: Path) -> None:
    name = os.fsdecode(b"dr\xfcm.yaml")
    (tmp_path / name).write_text(DRUM.replace("kind: ring", "kind: rign"), encoding="utf-8")
    told = refused("fit", name, cwd=tmp_path)
    assert told == [
        'dr\\udcfcm.yaml:8: unit.families.drum ring.kind: found "rign"; did you mean "ring"?'
    ]


def test_a_job_whose_readings_are_all_to_come(tmp_path: Path) -> None:
    (tmp_path / "drum.yaml").write_text(DRUM.replace(", gap: .041", ""), encoding="utf-8")
    assert refused("fit", "drum.yaml", cwd=tmp_path) == [
        "drum.yaml: no gap has all its readings yet: low drum waits for gap"
    ]


def test_the_demo_itself_fits() -> None:
    assert run("fit", DEMO / "job.yaml").returncode == 0
