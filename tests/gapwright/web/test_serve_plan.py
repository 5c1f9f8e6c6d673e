"""The page of a plan as a browser without scripts gets it: asked for, waited for, told, kept."""

from __future__ import annotations

import re
import time
from typing import TYPE_CHECKING, Any

import pytest
from fastapi.testclient import TestClient

from gapwright.batch.service import plan_jobs
from gapwright.batch.several_shelves import plan_shelves
from gapwright.batch.tables import plan_csv
from gapwright.web.background_jobs import MOST_KEPT, BackgroundJobs
from gapwright.web.folder import Shop
from gapwright.web.pages import plan as plan_page
from gapwright.web.pages import plan_form as plan_form_page
from gapwright.web.start import open_shop
from inventory import create_shelf, open_shelf
from inventory.movements import Movement, Part, Request
from tests.gapwright.batch.test_batch_remarks import write_drums
from tests.gapwright.web.sent_forms import form_at

if TYPE_CHECKING:
    from pathlib import Path

    from httpx2 import Response

    from solver.engines.limits import Limits

JOBS = ["job.yaml", "job-no-fit.yaml"]
SCRIPT = "<script>alert(1)</script>"


def key_of(page: TestClient) -> str:
    return dict(form_at(page.get("/plan").text, "/make-plan").fields)["key"]


def planned(page: TestClient, **fields: Any) -> Response:  # noqa: ANN401 - of a form
    """Ask for a plan, and look at its address until it is there."""
    answer = page.post("/make-plan", data={"key": key_of(page), "job": JOBS, **fields})
    for _ in range(30):
        if "data-waits" not in answer.text:
            break
        answer = page.get(str(answer.url))
    return answer


def test_the_jobs_of_the_folder_are_offered_but_for_those_assembled(page: TestClient) -> None:
    text = page.get("/plan").text
    ticked = re.findall(r'name="job" value="([^"]*)"( checked)?', text)
    assert dict(ticked) == {
        "job.yaml": " checked",
        "job-no-fit.yaml": " checked",
        "job-built.yaml": "",
    }
    assert "measured after assembly" in text


def test_the_folder_is_looked_through_as_often_for_many_jobs_as_for_few(
    page: TestClient, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    looks: list[Path] = []
    names = Shop.names

    def counted(shop: Shop) -> list[str]:
        looks.append(shop.folder)
        return names(shop)

    def asked(jobs: list[str]) -> int:
        looks.clear()
        assert page.get("/plan").text.count('name="job"') == len(jobs) + 1  # with the one built
        assert "to build" in planned(page, job=jobs).text
        return len(looks)

    monkeypatch.setattr(Shop, "names", counted)
    few = asked(JOBS)
    text = (folder / "job.yaml").read_text(encoding="utf-8")
    more = [f"J-{nth}" for nth in range(1, 6)]
    for name in more:
        file = folder / f"{name}.yaml"
        file.write_text(text.replace("J-1042", name), encoding="utf-8")
    assert asked([*JOBS, *(f"{name}.yaml" for name in more)]) == few > 0


@pytest.mark.face
def test_a_plan_says_what_to_build_what_each_lacks_and_what_to_order(
    page: TestClient, folder: Path
) -> None:
    answer = planned(page)
    text = answer.text
    assert answer.status_code == 200
    report = plan_jobs([folder / name for name in JOBS])
    assert (
        f'<h1 class="verdict nofit">{len(report.gaps)} of 2 jobs can be completed, proved best'
        in text
    )
    assert "J-1043, Harrow 4: for want of 2 x low steel thin" in text
    assert "order to complete one job more" in text
    assert (
        '<tr class="chosen"><td>low steel thin</td><td>1</td><td>1</td><td>0</td><td>2</td></tr>'
        in text
    )
    assert "<img alt='1 of 2 jobs completed' src='data:image/svg+xml;" in text


def test_the_page_says_which_jobs_are_close_to_a_limit(page: TestClient, folder: Path) -> None:
    write_drums(folder / "fell")
    text = planned(page, job=["fell/near.yaml", "fell/uneven.yaml"]).text
    assert "2 of 2 jobs can be completed, 1 of them CLOSE TO THE LIMIT, proved best" in text
    for line in ("READ AGAIN FIRST: uneven", "TILTED? uneven", "CLOSE TO THE LIMIT: near ("):
        assert f"<p>{line}" in text
    assert "CLOSE TO THE LIMIT: fell pack is 0.002 in from its limit, " in text
    assert "READ AGAIN FIRST: at place 2 of `depth` (0.6405 in)" in text


def test_the_address_of_a_plan_outlives_a_reload_and_a_new_start(
    page: TestClient, folder: Path
) -> None:
    answer = planned(page, **{"stands/job-no-fit.yaml": "hold"})
    where = str(answer.url).removeprefix("http://localhost")
    assert page.get(where).text == answer.text
    assert "J-1043, Harrow 4: held back" in answer.text
    app, _ = open_shop(folder)
    with TestClient(app, base_url="http://localhost") as another:
        asked = another.get(where)
    assert asked.status_code == 422
    assert plan_page.GONE in asked.text
    assert '<option value="hold" selected>' in asked.text


def test_the_table_is_the_one_the_command_writes(page: TestClient, folder: Path) -> None:
    where = planned(page).url.path
    table = page.get(f"{where}/table?lengths=mm")
    assert table.headers["content-disposition"] == 'attachment; filename="plan.csv"'
    assert table.text == plan_csv(plan_jobs([folder / name for name in JOBS]), "mm")


def test_a_long_plan_tells_what_it_is_at_and_can_be_stopped(
    page: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def long(cases: Any, executor: Any, limits: Limits, *asked: Any) -> Any:  # noqa: ANN401 - as plan_shelves
        limits.watch.words = "number (2 of 17)"
        while not limits.watch.stopped:
            time.sleep(0.01)
        return plan_shelves(cases, executor, limits, *asked)

    monkeypatch.setattr(plan_form_page, "plan_shelves", long)
    monkeypatch.setattr(plan_page, "A_MOMENT", 0.05)
    answer = page.post("/make-plan", data={"key": key_of(page), "job": JOBS})
    assert "s, number (2 of 17)" in answer.text
    assert '<noscript><meta http-equiv="refresh" content="2" />' in answer.text
    behind = page.post("/make-plan", data={"key": key_of(page), "job": JOBS})
    assert "waits for its turn" in behind.text
    assert "FITS, proved best" in page.get("/fit?from=job.yaml").text  # a bench is not held up
    given_up = page.post(f"{behind.url.path}/stop", data={"key": key_of(page), "job": JOBS[0]})
    assert plan_page.GIVEN_UP in given_up.text
    monkeypatch.setattr(plan_page, "A_MOMENT", 5.0)
    stopped = page.post(f"{answer.url.path}/stop", data={"key": key_of(page)})
    assert "1 of 2 jobs can be completed" in stopped.text


def test_a_plan_reserves_all_of_its_parts_once(page: TestClient, folder: Path) -> None:
    address = str(folder / "shop.db")
    create_shelf(address)
    parts = [Part("low steel", "thick"), Part("low steel", "thin"), Part("low ring", ".0700")]
    with open_shelf(address) as shelf:
        shelf.post(Request("in", "mary", "", tuple(Movement("receive", one, 9) for one in parts)))
    offered = planned(page, job=["job-no-fit.yaml"], shelf="shop.db").text
    assert "reserve its parts, all or none" in offered
    nobody = planned(page, job=["job-no-fit.yaml"], shelf="shop.db", move="reserve")
    assert "say who you are" in nobody.text
    done = planned(page, job=["job-no-fit.yaml"], shelf="shop.db", move="reserve", who="ann")
    assert "for 1 job, in one request" in done.text
    assert page.get(str(done.url)).text == done.text
    with open_shelf(address) as shelf:
        entries = [one for one in shelf.history() if one.movement.kind == "reserve"]
    assert {(one.who, one.movement.job) for one in entries} == {("ann", "J-1043")}
    assert len({one.key for one in entries}) == 1


def test_a_plan_gives_back_what_a_job_holds_only_where_that_was_said_and_asked_for(
    page: TestClient, folder: Path
) -> None:
    address, jobs = str(folder / "shop.db"), ["job-no-fit.yaml"]
    create_shelf(address)
    steels = [Part("low steel", "thick"), Part("low steel", "thin")]
    spare, ring = Part("overdrive ring", ".0640"), Part("low ring", ".0700")
    parts = [*steels, ring, spare]
    with open_shelf(address) as shelf:
        shelf.post(Request("in", "mary", "", tuple(Movement("receive", one, 9) for one in parts)))
        earlier = (Movement("reserve", spare, 2, "J-1043"), Movement("reserve", spare, 1, "J-7"))
        shelf.post(Request("earlier", "mary", "", earlier))

    def held() -> dict[str, int]:
        with open_shelf(address) as shelf:
            return next(dict(one.holders) for one in shelf.balances() if one.part == spare)

    offered = planned(page, job=jobs, shelf="shop.db")
    assert "given back" in offered.text
    assert "J-1043: 2 x overdrive ring .0640." in offered.text
    code = spare.lot_id
    for leave in ("", f"{code}/1/J-1043", f"{code}/2/J-7", f"{code}/2"):
        fields = {"move": "reserve", "who": "ann", "give back": leave}
        unasked = planned(page, job=jobs, shelf="shop.db", **fields)
        assert "2 reserved for J-1043 would be given back" in unasked.text
        assert "nothing was reserved" in unasked.text
        assert held() == {"J-1043": 2, "J-7": 1}
    sent = dict(form_at(offered.text, "/make-plan").fields)
    assert sent["give back"] == f"{code}/2/J-1043"
    done = page.post("/make-plan", data=sent | {"move": "reserve", "who": "ann"})
    while "data-waits" in done.text:
        done = page.get(str(done.url))
    assert "for 1 job, in one request" in done.text
    assert "no longer reserved for J-1043: 2 x overdrive ring .0640" in done.text
    assert held() == {"J-7": 1}


def test_jobs_of_two_shelves_are_planned_shelf_by_shelf(page: TestClient, folder: Path) -> None:
    text = (folder / "job.yaml").read_text(encoding="utf-8")
    (folder / "kit.yaml").write_bytes((folder / "shelf.yaml").read_bytes())
    other = text.replace("J-1042", "J-7").replace("shelf: shelf.yaml", "shelf: kit.yaml")
    (folder / "other.yaml").write_text(other, encoding="utf-8")
    answer = planned(page, job=["other.yaml", "job.yaml"])
    assert "2 shelves, each planned by itself: 2 of 2 jobs can be completed" in answer.text
    assert ">kit.yaml: 1 of 1 jobs can be completed, proved best</h2>" in answer.text
    assert "to build from shelf.yaml" in answer.text
    together = planned(page, job=["other.yaml", "job.yaml"], shelf="kit.yaml")
    assert " of 2 jobs can be completed, proved best" in together.text


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"job": ["../secret.yaml"]}, "the files here"),
        ({"job": ["/etc/passwd"]}, "the files here"),
        ({"job": ["table.csv"]}, "lies outside the folder this page was opened on"),
        ({"job": []}, "choose at least one job"),
        ({"shelf": "../secret.yaml"}, "the files here"),
        ({"budget": SCRIPT}, "write an amount such as 150 or 99.50"),
        ({"day": "soon"}, "write a date such as 2031-04-09"),
        ({"budget": "9" * 5_000}, "write an amount such as 150 or 99.50"),
    ],
)
def test_what_cannot_be_planned_is_said_and_nothing_begins(
    page: TestClient, folder: Path, fields: dict[str, Any], sentence: str
) -> None:
    (folder.parent / "secret.yaml").write_text("job: {name: secret}\n", encoding="utf-8")
    table = "job,unit,shelf,low / gap\nT-1,../secret.yaml,shelf.yaml,.02\n"
    (folder / "table.csv").write_text(table, encoding="utf-8")
    answer = page.post("/make-plan", data={"key": key_of(page), "job": JOBS, **fields})
    assert answer.status_code == 422
    assert answer.url.path == "/make-plan"
    assert sentence in answer.text
    assert SCRIPT not in answer.text
    assert "J-1043" in answer.text  # the form is there again


@pytest.mark.parametrize(
    "job", ["{gaps: hello}", "{gaps: [a]}", "{gaps: {low: 3}, due: [x]}", "{}"]
)
def test_a_job_that_is_all_wrong_is_offered_and_told(
    page: TestClient, folder: Path, job: str
) -> None:
    (folder / "odd.yaml").write_text(f"unit: unit.yaml\njob: {job}\n", encoding="utf-8")
    assert 'value="odd.yaml"' in page.get("/plan").text
    answer = page.post("/make-plan", data={"key": key_of(page), "job": "odd.yaml"})
    assert answer.status_code == 422
    assert "odd.yaml" in answer.text


def test_a_name_that_is_markup_is_only_a_name(page: TestClient, folder: Path) -> None:
    text = (folder / "job.yaml").read_text(encoding="utf-8")
    (folder / "evil.yaml").write_text(text.replace("J-1042", f"'{SCRIPT}'"), encoding="utf-8")
    answer = planned(page, job=["evil.yaml"])
    assert answer.status_code == 200
    assert "&lt;script&gt;" in answer.text
    assert SCRIPT not in answer.text + page.get("/plan").text


@pytest.mark.parametrize("name", ["x", "..%2f..%2fetc", "%00", SCRIPT])
def test_an_address_that_was_never_given_holds_nothing(page: TestClient, name: str) -> None:
    assert page.get(f"/plan/{name}").status_code in (404, 422)
    assert page.get(f"/plan/{name}/table").status_code in (404, 422)


def test_only_so_many_answers_are_kept() -> None:
    jobs = BackgroundJobs(5.0)
    names = []
    for nth in range(MOST_KEPT + 5):
        names.append(jobs.begin("mary", lambda _, nth=nth: nth))  # type: ignore[misc]
        background_job = jobs.find(names[-1])
        assert background_job
        assert background_job.done(5.0)
    jobs.close()
    assert [jobs.find(name) is None for name in names] == [True] * 5 + [False] * MOST_KEPT
