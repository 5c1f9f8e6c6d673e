"""The shape of the house: layers, circles, doors, names. Each law is seen to bite once."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

HOME = Path(__file__).parent.parent
MAY_IMPORT = {
    "specs": {"specs"},
    "inventory": {"inventory", "specs"},
    "solver": {"solver", "specs"},
    "gapwright": {"gapwright", "inventory", "solver", "specs"},
}
DOORS = {
    "ortools": {"solver/engines/cp_sat.py"},
    "highspy": {
        "solver/engines/highs.py",
        "solver/stock/shelf/dual_prices.py",
        "solver/stock/shelf/master.py",
    },
    "numpy": {
        "solver/engines/highs.py",
        "solver/engines/integer_rows.py",
        "solver/stock/shelf/dual_prices.py",
        "solver/stock/shelf/master.py",
        "solver/stock/shelf/rounded_cuts.py",
    },
    "scipy": {"specs/uncertainty/confidence.py"},
    "yaml": {"specs/formats/yaml.py", "specs/formats/yaml_edit.py"},
    "click": {"gapwright/__main__.py", "gapwright/cli/"},
    "sqlite3": {"inventory/sqlite_door.py"},
    "segno": {"gapwright/drawing/qr.py"},
    "psycopg": {"inventory/postgres_door.py"},
    "matplotlib": {
        "gapwright/drawing/figure.py",
        "gapwright/batch/chart.py",
        "gapwright/check/chart.py",
        "gapwright/cover/chart.py",
        "gapwright/fit/chart.py",
        "gapwright/stock/kit/chart.py",
    },
    "jinja2": {"gapwright/output/template.py"},
    "markdown_it": {"gapwright/guide/pages.py"},
    "fastapi": {"gapwright/web/app.py"},
    "starlette": {"gapwright/web/app.py"},
    "uvicorn": {"gapwright/web/app.py"},
    "dask": {"gapwright/workers.py"},
    "distributed": {"gapwright/workers.py"},
}
SPEAK_SQL = {"inventory/sql.py", "inventory/sqlite_door.py", "inventory/postgres_door.py"}
SQL = re.compile(r"(SELECT|INSERT|UPDATE|DELETE|CREATE|PRAGMA|BEGIN|COMMIT) ")
MODELS_ONLY_IN = "specs"  # pydantic
FLOATS_ALLOWED = {
    "solver/engines/cp_sat.py",  # seconds of a time limit
    "solver/engines/limits.py",
    "solver/engines/highs.py",  # an engine in floating point
    "solver/engines/integer_rows.py",  # its duals
    "solver/stock/shelf/dual_prices.py",  # the same engine; prices leave whole
    "solver/stock/shelf/master.py",
    "solver/stock/shelf/replications.py",  # seconds of a time limit
    "specs/uncertainty/",  # a chance is no rational number; what floats may be off by is bounded
}
TOP_LEVEL = {
    "README.md", "DEVELOPERS.md", "pyproject.toml", "solver", "inventory", "specs", "tests",
    "benchmarks", "gapwright", "CHANGELOG.md", "LICENSE",
}  # fmt: skip
VAGUE = {"utils", "util", "helpers", "helper", "common", "manager", "misc", "result"}
MOST_IN_A_FUNCTION = 40

MODULES = sorted(path for name in MAY_IMPORT for path in (HOME / name).rglob("*.py"))


def imported(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name.partition(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            yield node.module.partition(".")[0]


def breaches(name: str, text: str) -> list[str]:
    """Everything in one module that goes against the laws of the house."""
    tree = ast.parse(text)
    layer = name.partition("/")[0]
    names = set(imported(tree))
    found = [f"imports {other}" for other in names & MAY_IMPORT.keys() - MAY_IMPORT[layer]]
    found += [
        f"opens the door {door}" for door in names & DOORS.keys() if not opened(name, DOORS[door])
    ]
    if name not in SPEAK_SQL and speaks_sql(tree):
        found.append("speaks SQL")
    if "pydantic" in names and layer != MODELS_ONLY_IN:
        found.append("models what people write outside specs")
    if Path(name).stem in VAGUE:
        found.append("has a name that says nothing")
    if ast.get_docstring(tree) is None:
        found.append("does not say what it knows")
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and node.end_lineno is not None:
            manual = ast.get_docstring(node, clean=False) or ""  # which may be as long as it must
            if node.end_lineno - node.lineno - manual.count("\n") >= MOST_IN_A_FUNCTION:
                found.append(f"{node.name} is too long")
        elif layer != "gapwright" and not opened(name, FLOATS_ALLOWED) and is_float(node):
            found.append("uses a float")
    return found


def circles(texts: dict[str, str]) -> set[str]:
    """The modules, of those given by name, that import themselves by way of others.

    Every import counts: within functions and for type checking too.
    """
    reached = {name: set(imported_modules(ast.parse(text), texts)) for name, text in texts.items()}
    for middle in texts:
        for name in texts:
            if middle in reached[name]:
                reached[name] |= reached[middle]
    return {name for name in texts if name in reached[name]}


def imported_modules(tree: ast.AST, known: Iterable[str]) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            for alias in node.names:
                inner = f"{node.module}.{alias.name}"
                yield inner if inner in known else node.module


def opened(name: str, allowed: set[str]) -> bool:
    """Whether a module is one of those allowed, or stands in a folder that is."""
    return any(name.startswith(here) for here in allowed)


def is_float(node: ast.AST) -> bool:
    literal = isinstance(node, ast.Constant) and isinstance(node.value, float)
    return literal or (isinstance(node, ast.Name) and node.id == "float")


def speaks_sql(tree: ast.AST) -> bool:
    return any(
        isinstance(node, ast.Constant) and isinstance(node.value, str) and SQL.match(node.value)
        for node in ast.walk(tree)
    )


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(HOME)))
def test_every_module_keeps_the_laws_of_the_house(path: Path) -> None:
    assert breaches(str(path.relative_to(HOME)), path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("name", "text", "breach"),
    [
        ("solver/a.py", '"""A."""\nfrom inventory import on_hand\n', "imports inventory"),
        ("inventory/a.py", '"""A."""\nimport solver.rebuild.fit\n', "imports solver"),
        ("specs/a.py", '"""A."""\nimport gapwright\n', "imports gapwright"),
        ("solver/a.py", '"""A."""\nimport ortools\n', "opens the door ortools"),
        ("gapwright/a.py", '"""A."""\nimport yaml\n', "opens the door yaml"),
        ("gapwright/a.py", '"""A."""\nimport sqlite3\n', "opens the door sqlite3"),
        ("inventory/ledger.py", '"""A."""\nimport psycopg\n', "opens the door psycopg"),
        ("inventory/ledger.py", '"""A."""\nX = "SELECT 1"\n', "speaks SQL"),
        ("gapwright/a.py", '"""A."""\nimport matplotlib\n', "opens the door matplotlib"),
        ("gapwright/paper/job_sheet.py", '"""A."""\nimport jinja2\n', "opens the door jinja2"),
        ("gapwright/paper/job_sheet.py", '"""A."""\nimport segno\n', "opens the door segno"),
        ("gapwright/web/a.py", '"""A."""\nimport fastapi\n', "opens the door fastapi"),
        (
            "gapwright/batch/service.py",
            '"""A."""\nimport distributed\n',
            "opens the door distributed",
        ),
        ("solver/a.py", '"""A."""\nX = 0.5\n', "uses a float"),
        ("solver/a.py", '"""A."""\nX = float("1")\n', "uses a float"),
        ("gapwright/a.py", '"""A."""\nimport pydantic\n', "models what people write outside specs"),
        ("solver/utils.py", '"""A."""\n', "has a name that says nothing"),
        ("solver/a.py", "X = 1\n", "does not say what it knows"),
        ("solver/a.py", '"""A."""\ndef f():\n' + "    x = 1\n" * 40, "f is too long"),
    ],
)
def test_each_law_bites(name: str, text: str, breach: str) -> None:
    assert breaches(name, text) == [breach]


def test_no_modules_import_each_other_in_a_circle() -> None:
    texts = {
        ".".join(path.relative_to(HOME).with_suffix("").parts).removesuffix(".__init__"):
        path.read_text(encoding="utf-8")
        for path in MODULES
    }  # fmt: skip
    assert circles(texts) == set()


@pytest.mark.parametrize(
    "back",
    [
        "import specs.a\n",
        "from specs import a\n",
        "from specs.a import x\n",
        "if TYPE_CHECKING:\n    from specs.a import X\n",
        "def f():\n    from specs.a import x\n",
    ],
)
def test_a_circle_is_seen_wherever_its_import_stands(back: str) -> None:
    there = {"specs": "", "specs.a": "from specs.b import y\n", "specs.b": "from specs import c\n"}
    assert circles({**there, "specs.c": ""}) == set()
    assert circles({**there, "specs.c": back}) == {"specs.a", "specs.b", "specs.c"}


def named_twice(texts: dict[str, str]) -> dict[str, list[str]]:
    """Public classes whose name means something else in another module."""
    found: dict[str, list[str]] = {}
    for name, text in texts.items():
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                found.setdefault(node.name, []).append(name)
    return {name: homes for name, homes in found.items() if len(homes) > 1}


def test_no_public_class_has_a_name_of_two_meanings() -> None:
    texts = {str(path.relative_to(HOME)): path.read_text(encoding="utf-8") for path in MODULES}
    assert named_twice(texts) == {}


def test_a_name_of_two_meanings_is_seen() -> None:
    texts = {"specs/a.py": "class Gap: ...\n", "solver/b.py": "class Gap: ...\nclass _Gap: ...\n"}
    assert named_twice(texts) == {"Gap": ["specs/a.py", "solver/b.py"]}


def test_nothing_else_stands_at_the_top() -> None:
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
        cwd=HOME, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if listed.returncode:
        pytest.skip("not a git checkout")
    top = {line.partition("/")[0] for line in listed.stdout.splitlines()}
    assert {name for name in top if not name.startswith(".")} == TOP_LEVEL


def test_help_loads_nothing_heavy() -> None:
    asked = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "gapwright", "--help"],
        cwd=HOME, capture_output=True, text=True, check=True,
    )  # fmt: skip
    loaded = {
        line.rpartition("|")[2].strip().partition(".")[0] for line in asked.stderr.splitlines()
    }
    heavy = {
        "ortools",
        "pandas",
        "numpy",
        "scipy",
        "pydantic",
        "yaml",
        "jinja2",
        "fastapi",
        "distributed",
        "specs",
        "solver",
    }
    assert not loaded & heavy
    assert "click" in loaded


def test_the_engine_is_loaded_only_where_a_solve_begins() -> None:
    script = (
        "import sys, gapwright, gapwright.fit.service, gapwright.fit.text, gapwright.fit.answer\n"
        "assert not {'ortools', 'scipy'} & sys.modules.keys()"
    )
    subprocess.run([sys.executable, "-c", script], cwd=HOME, check=True)


def test_the_public_name_offers_what_it_says() -> None:
    import gapwright

    for name in gapwright.__all__:
        assert getattr(gapwright, name) is not None
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = gapwright.nothing


def test_a_file_of_the_users_own_that_hides_a_package_is_named(tmp_path: Path) -> None:
    (tmp_path / "solver.py").write_text("", encoding="utf-8")
    environment = {"PYTHONPATH": f"{tmp_path}:{HOME}", "PATH": "/usr/bin:/bin"}
    asked = subprocess.run(
        [sys.executable, "-m", "gapwright", "--help"],
        cwd=tmp_path, capture_output=True, text=True, check=False, env=environment,
    )  # fmt: skip
    assert asked.returncode == 2
    assert "hides gapwright's own package `solver`" in asked.stderr
