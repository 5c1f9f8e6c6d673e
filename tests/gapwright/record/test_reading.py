"""Whoever reads a job finishes first what a program began to write together with it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from fastapi.testclient import TestClient

import gapwright
from gapwright.output import together
from gapwright.output.together import Rewrite, write_together
from gapwright.web.start import open_shop

if TYPE_CHECKING:
    from pathlib import Path

    from tests.gapwright.bench import Bench


class KilledError(BaseException):
    """What ends a program between two files."""


@pytest.fixture
def begun(bench: Bench, drum: str, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A job whose shelf was written and it was not, by a program that was ended between both."""
    start = drum.index("shelf:")
    shelf, job = drum[start : drum.index("job:")], drum[drum.index("job:") :]
    unit = f"{drum[:start]}shelf: shelf.yaml\n"
    files = {"shelf.yaml": f"length: in\n{shelf}", "job.yaml": unit + job}
    later = {
        "shelf.yaml": files["shelf.yaml"].replace("count: 5", "count: 4"),
        "job.yaml": files["job.yaml"].replace("gap: .041", "gap: .041, as built: .068"),
    }
    paths = {name: bench.folder / name for name in files}
    for name, text in files.items():
        bench.write(name, text)
    replace, done = together._replace, list[str]()

    def ended(file: Path, text: str) -> None:
        if done:
            raise KilledError
        done.append(file.name)
        replace(file, text)

    with monkeypatch.context() as patched:
        patched.setattr(together, "_replace", ended)
        with pytest.raises(KilledError):
            write_together([Rewrite(paths[name], files[name], later[name]) for name in files])
    assert paths["job.yaml"].read_text() == files["job.yaml"]
    assert paths["shelf.yaml"].read_text() == later["shelf.yaml"]
    return paths["job.yaml"]


@pytest.mark.parametrize("verb", ["fit", "check", "sheet", "batch", "library", "page"])
def test_a_job_is_read_as_it_was_being_written(bench: Bench, begun: Path, verb: str) -> None:
    if verb == "library":
        gapwright.fit_job(begun)
        gapwright.plan_jobs([begun])
    elif verb == "page":
        app, _ = open_shop(bench.folder)
        with TestClient(app, base_url="http://localhost") as page:
            assert page.get("/fit?from=job.yaml").status_code == 200
    else:
        assert bench.run(verb, str(begun))[0] == 0
    assert "as built: .068" in begun.read_text()
    assert not [path for path in bench.folder.glob(".*.together") if path.stat().st_size]
