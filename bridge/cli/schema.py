"""`visit-bridge schema`: the JSON Schema of a visit."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

SCHEMA_ID = "urn:uuid:2288736b-1066-4d80-9b3a-42f082661af8"
"""Made once, never to change: editors and programs may know the schema by it."""


@click.command("schema")
@click.option("--output", "-o", type=click.Path(dir_okay=False, path_type=Path), help="Write to this file.")
def command(output: Path | None) -> None:
    """Print the JSON Schema of a visit, for editors and programs.

    An editor that knows it completes and checks a visit written in YAML or JSON
    while it is typed. The same version prints the same bytes.

    \b
    Examples:
      visit-bridge schema
      visit-bridge schema --output visit.schema.json
    """
    import json

    text = json.dumps(visit_schema(), indent=2, ensure_ascii=True) + "\n"
    if output is None:
        click.echo(text, nl=False)
        return
    output.write_bytes(text.encode("ascii"))


def visit_schema() -> dict[str, Any]:
    """The schema as plain data: JSON Schema 2020-12, with our own `$id`."""
    from bridge.visit import Visit

    head = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": SCHEMA_ID,
        "title": "A visit to an ear-care practice",
    }
    return head | {k: v for k, v in Visit.model_json_schema().items() if k not in head}
