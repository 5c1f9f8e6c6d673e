"""The JSON API: the same answers as the command, and no fault whatever is sent."""

from __future__ import annotations

import json
from collections import Counter
from contextlib import suppress
from typing import TYPE_CHECKING, Any

import pytest
import schemathesis
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis import GenerationMode
from schemathesis.specs.openapi.checks import positive_data_acceptance

from gapwright.check.service import check_job
from gapwright.demo import write_demo
from gapwright.fit.service import fit_job
from gapwright.output.rendering import render
from gapwright.web.openapi import API
from gapwright.web.start import open_shop
from specs.errors import InputError
from specs.formats.json import parse_json
from specs.formats.yaml import parse, read
from specs.formats.yaml_text import written
from tests.amounts import times
from tests.gapwright.web.serve_command import served

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("shop") / "demo"
    write_demo(folder)
    return folder


@pytest.fixture(scope="module")
def api(folder: Path) -> Iterator[TestClient]:
    app, _ = open_shop(folder)
    with TestClient(app, base_url="http://localhost") as client:
        yield client


def job_of(folder: Path, name: str) -> dict[str, Any]:
    return read(folder / name).data


@pytest.mark.parametrize("name", ["job.yaml", "job-no-fit.yaml", "job-built.yaml"])
@pytest.mark.parametrize("lengths", ["in", "mm"])
@pytest.mark.face
def test_a_fit_is_what_the_command_prints(
    api: TestClient, folder: Path, name: str, lengths: Any  # noqa: ANN401 - a unit
) -> None:  # fmt: skip
    answer = api.post(f"/api/fit?lengths={lengths}&best=3", json=job_of(folder, name))
    assert answer.json() == json.loads(
        render(fit_job(folder / name, best=3), lengths, as_json=True)
    )


def test_a_check_is_what_the_command_prints(api: TestClient, folder: Path) -> None:
    answer = api.post("/api/check", json=job_of(folder, "job-built.yaml"))
    assert answer.json() == json.loads(render(check_job(folder / "job-built.yaml"), as_json=True))


def test_averages_and_spreads_are_exact(api: TestClient) -> None:
    job = {"length": "in", "job": {"gaps": {"low": {"gap": [0.0180, "20 thou", "0,4827 mm"]}}}}
    told = api.post("/api/readings", json=job).json()
    (one,) = told["readings"]
    assert (one["gap"], one["reading"], one["places"]) == ("low", "gap", 3)
    assert one["average"]["nm"] == "1447900/3"  # (457200 + 508000 + 482700) / 3
    assert (one["lowest"]["nm"], one["highest"]["nm"], one["spread"]["nm"]) == (
        457200,
        508000,
        50800,
    )
    assert told["problems"] == []


def test_a_reading_that_is_none_does_not_hide_the_others(api: TestClient) -> None:
    low, drive = "job/gaps/low/gap/at", "job/gaps/drive/readings/straightedge/at"
    form = {"unit": "unit.yaml", "length": "in", low: ["0.018", "o.020"], drive: "0.25"}
    told = api.post("/api/readings", data=form).json()
    assert [one["reading"] for one in told["readings"]] == ["straightedge"]
    (problem,) = told["problems"]
    assert problem["field"] == "job.gaps.low.gap.at.2"
    assert "'o.020' is no length" in problem["sentence"]


def test_what_a_unit_asks_for(api: TestClient) -> None:
    told = api.get("/api/asked?unit=unit.yaml").json()
    low = told["gaps"][0]
    assert low["readings"][0]["how"] == ["with feeler", "at 3 places, averaged", "frictions soaked"]
    assert [part["place"] for part in low["trial build"]][-1] == "low ring"
    assert (
        api.get("/api/asked?unit=unit.yaml&lengths=mm").json()["gaps"][0]["window"]
        == "window 1.016 to 1.524, aim 1.27 mm"
    )


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [
        (b"", "is no JSON"),
        (b"[]", "is no object"),
        (b'{"job": null}', "this file holds no job"),
        (b'{"job": {"gaps": {"low": {"gap": [null]}}}}', "has no value"),
        (b'{"job": {}, "job": {}}', '"job" is written twice'),
        (b'{"job": {"gaps": {"low": {"gap": NaN}}}}', "NaN is no number"),
        (b'{"a":' * 5_000 + b"1" + b"}" * 5_000, "is nested deeper than 20 levels"),
        (b'{"job": "\\ud800"}', "holds an invisible character (U+D800)"),
        (b'{"job": "\xff"}', "is not UTF-8"),
        (b'{"job": {"gaps": {"low": {"gap": 1e400}}}}', "'1e400' is no length"),
        (b'{"job": {"aims": ["thin", "sure"]}}', 'found "sure"; it is no aim any more'),
        (b'{"jbo": {}}', 'found "jbo"; did you mean "job"?'),
    ],
)  # fmt: skip
@pytest.mark.face
def test_what_is_no_job_is_said_in_a_sentence(api: TestClient, sent: bytes, sentence: str) -> None:
    answer = api.post("/api/fit", content=sent, headers={"content-type": "application/json"})
    assert answer.status_code == 422
    assert any(sentence in one["sentence"] for one in answer.json()["problems"]), answer.text


@pytest.mark.parametrize("best", ["0", "21", "-1", "x", "1.5", "9" * 5_000, "\u0663"])
def test_how_many_builds_are_asked_for_is_checked(api: TestClient, folder: Path, best: str) -> None:
    answer = api.post("/api/fit", params={"best": best}, json=job_of(folder, "job.yaml"))
    assert answer.status_code == 422
    assert "write a whole number from 1 to 20" in answer.text


TREES = st.recursive(
    st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.text("abcdef", min_size=1), inner, max_size=4)
    ),
    max_leaves=12,
)


@given(st.dictionaries(st.text("abcdef", min_size=1), TREES, min_size=1, max_size=5))
def test_json_and_yaml_say_the_same(data: dict[str, Any]) -> None:
    assert parse_json(json.dumps(data).encode(), "x").data == parse(written(data), "x").data


@given(st.decimals(allow_nan=False, allow_infinity=False, places=4, min_value=-99, max_value=99))
def test_a_number_keeps_its_digits(number: Any) -> None:  # noqa: ANN401 - a decimal
    assert parse_json(f'{{"a": {number}}}'.encode(), "x").data == {"a": str(number)}


@given(st.binary(max_size=200))
def test_bytes_end_in_a_sentence_or_a_job(raw: bytes) -> None:
    with suppress(InputError):
        assert parse_json(raw, "x").file == "x"


GOOD = {
    "length": "in",
    "unit": "unit.yaml",
    "shelf": "shelf.yaml",
    "job": {
        "name": "J-9",
        "gaps": {
            "low": {
                "trial": ["thick", "thick", "thick", ".0780"],
                "now": "trial",
                "gap": {"at": [".018", ".020"], "state": {"frictions": "dry"}},
                "keep": {"low ring": ".0780"},
                "as built": {"at": [".046"], "parts": ["thin", "thick", "thick", ".0700"]},
            }
        },
        "facts": {"drive drum": "shallow"},
        "aims": ["thin", "aim"],
        "gauges": {"feeler": ".001"},
        "parts": {"low friction": ".0795"},
    },
}
ODD: list[Any] = [
    "",
    "none",
    "old",
    "-1",
    "1,5 mm",
    "9" * 40,
    "thick",
    "now",
    [],
    {},
    [[]],
    {"at": []},
    None,
    True,
    7,
]


def paths_of(node: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:  # noqa: ANN401
    """Every place in a tree."""
    inner = (
        node.items()
        if isinstance(node, dict)
        else enumerate(node if isinstance(node, list) else [])
    )
    for key, one in inner:
        yield (*path, key)
        yield from paths_of(one, (*path, key))


def changed(data: Any, path: tuple[Any, ...], value: Any) -> Any:  # noqa: ANN401
    """The tree with something else at one place."""
    copy = json.loads(json.dumps(data))
    node = copy
    for key in path[:-1]:
        node = node[key]
    node[path[-1]] = value
    return copy


def test_one_odd_thing_in_a_good_job_is_answered_or_told(api: TestClient) -> None:
    """Each value of a job that fits is made odd in turn: both answers come, and no fault."""
    seen = Counter(
        api.post(address, json=changed(GOOD, path, odd)).status_code
        for address in ("/api/fit", "/api/check", "/api/readings")
        for nth, path in enumerate(paths_of(GOOD))
        for odd in ODD[nth % 5 :: 5]
    )
    assert seen.keys() == {200, 422}
    assert min(seen.values()) > 25, seen


@pytest.fixture(scope="module")
def described(folder: Path) -> Iterator[schemathesis.BaseSchema]:
    with served(folder, "--time", "2") as port:
        yield schemathesis.openapi.from_url(f"http://127.0.0.1:{port}/api/openapi.json")


@pytest.mark.parametrize(
    ("mode", "method", "path"),
    [
        (mode, route.method, route.path)
        for mode in (GenerationMode.POSITIVE, GenerationMode.NEGATIVE)
        for route in API
        if mode is GenerationMode.POSITIVE
        or (route.description and (route.description.fields or route.description.sends))
    ],
)
@pytest.mark.face
def test_nothing_that_is_sent_is_a_fault(
    described: schemathesis.BaseSchema, mode: GenerationMode, method: str, path: str
) -> None:
    """What the description allows, and much that it does not, is answered as it says."""
    cases = described[path][method].as_strategy(generation_mode=mode)

    @settings(max_examples=times(80, 6), deadline=None, phases=[Phase.generate], derandomize=True,
              suppress_health_check=list(HealthCheck))  # fmt: skip
    @given(cases)
    def sent(case: Any) -> None:  # noqa: ANN401 - as schemathesis makes it
        case.call_and_validate(excluded_checks=[positive_data_acceptance])

    sent()
