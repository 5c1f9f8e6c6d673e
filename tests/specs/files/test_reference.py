"""The reference of the files is made from the models, and its examples are true."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
import yaml
from pydantic import TypeAdapter

from specs.files.parse import File
from specs.files.reference import CHAPTERS, reference
from specs.formats.yaml import parse
from specs.values.fields import Context, Written

if TYPE_CHECKING:
    from pydantic.fields import FieldInfo

FIELDS = [
    pytest.param(model, name, field, id=f"{title}: {name}")
    for title, model in CHAPTERS
    for name, field in model.model_fields.items()
]


def test_the_page_is_what_the_models_say() -> None:
    page = Path(__file__).parents[3] / "gapwright" / "guide" / "files.md"
    assert page.read_text(encoding="utf-8") == "\n".join(reference()), (
        "python -m specs.files.reference > gapwright/guide/files.md"
    )


def models(model: type[Written]) -> set[type[Written]]:
    """A model and all it holds."""
    found: set[Any] = {model}
    waiting: list[Any] = [field.annotation for field in model.model_fields.values()]
    while waiting:
        kind = waiting.pop()
        if isinstance(kind, type) and issubclass(kind, Written) and kind not in found:
            found.add(kind)
            waiting += [field.annotation for field in kind.model_fields.values()]
        waiting += [*getattr(kind, "__args__", ()), *getattr(kind, "__metadata__", ())]
    return found


def test_every_model_has_its_chapter() -> None:
    assert models(File) == {model for _, model in CHAPTERS}


@pytest.mark.parametrize(("model", "name", "field"), FIELDS)
def test_every_key_has_a_meaning_and_an_example(
    model: type[Written], name: str, field: FieldInfo
) -> None:
    assert model.__doc__
    assert (field.description or "").endswith((".", "..."))
    assert field.examples, f"{name} has no example"


@pytest.mark.parametrize(("model", "name", "field"), FIELDS)
def test_every_example_can_be_written(model: type[Written], name: str, field: FieldInfo) -> None:
    for example in field.examples or []:
        if "..." in str(example):
            continue
        value = parse(f"it: {example}", "example.yaml").data["it"]
        kind: Any = field.rebuild_annotation()
        taken = TypeAdapter(kind).validate_python(value, context=Context("in"))
        assert taken is not None, (model, name)


def test_a_false_example_would_be_noticed() -> None:
    kind: Any = dict(CHAPTERS)["... window"].model_fields["gap"].rebuild_annotation()
    with pytest.raises(ValueError, match="one length, not a range"):
        TypeAdapter(kind).validate_python("0.020 in", context=Context("in"))


def test_the_page_shows_only_yaml_that_can_be_read() -> None:
    page = "\n".join(reference())
    shown = [line.split("`")[-2] for line in page.split("\n") if line.startswith("| `")]
    assert len(shown) > 100
    for example in shown:
        assert yaml.safe_load(f"it: {example}")["it"] is not None
