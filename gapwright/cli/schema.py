"""`gapwright schema`: the JSON Schema of the files and of the answers."""

from __future__ import annotations

import click


@click.command()
@click.argument("of", type=click.Choice(["unit", "shelf", "job", "kit", "answer"]), required=False)
@click.argument("verb", nargs=-1)
def schema(of: str | None, verb: tuple[str, ...]) -> int:
    """Print the JSON Schema of the files, for editors; or of an answer.

    Of a unit, shelf, job or kit it asks for that section. Of an answer it is the schema of what
    VERB prints with --json, such as `fit` or `check history`; of all verbs where none is named.
    """
    from gapwright.schema import schema_text
    from specs.errors import InputError, Problem

    if of == "answer":
        from gapwright.guide.reference import answer_schema

        click.echo(answer_schema(" ".join(verb)))
        return 0
    if verb:
        raise InputError(Problem(f"only an answer is of a verb; write: gapwright schema {of}"))
    click.echo(schema_text(of or ""))
    return 0
