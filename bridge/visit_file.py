"""Writes a visit as a YAML file in the model's own shape: what `read` takes, and a person can go on with."""

from __future__ import annotations

from decimal import Decimal
from functools import cache
from typing import Any

from pydantic import BaseModel

from bridge.visit import Visit
from bridge.visit.base import Term

YAML_TYPE = "application/yaml"
_WIDTH = 100


def visit_file(visit: Visit, notes: tuple[str, ...] = ()) -> bytes:
    """The visit in the order of its fields, without those that say nothing; `notes` stand above it as comments.

    The digest of the record that it came from is such a note too, for whoever reads this file gets one of this file.
    """
    import yaml

    if visit.source_sha256:
        notes = (*notes, f"SHA-256 of the record that it was made from: {visit.source_sha256}")
    data = _plain(visit.model_copy(update={"source_sha256": None}))
    text = yaml.dump(data, Dumper=_dumper(), allow_unicode=True, sort_keys=False, default_flow_style=None, width=_WIDTH)
    return ("".join(f"# {note}\n" for note in notes) + text).encode("utf-8")


def _plain(value: Any) -> Any:
    """Plain data without fields that are empty or as they are when nobody says anything; a bare term is its words."""
    if isinstance(value, Term) and not value.codings and value.assertion is None:
        return value.text
    if isinstance(value, BaseModel):
        fields = type(value).model_fields
        pairs = ((name, getattr(value, name), fields[name].default) for name in fields)
        return {name: _plain(inner) for name, inner, usual in pairs if inner not in (None, ()) and inner != usual}
    if isinstance(value, tuple):
        return [_plain(inner) for inner in value]
    return value


@cache
def _dumper() -> type[Any]:
    """Days, times and numbers stand as they are; words that another reader could take for something else are quoted."""
    import yaml

    class Dumper(yaml.SafeDumper):
        def ignore_aliases(self, data: Any) -> bool:
            return True

    resolvers = yaml.SafeDumper.yaml_implicit_resolvers
    Dumper.yaml_implicit_resolvers = {
        first: [(tag, pattern) for tag, pattern in found if not tag.endswith(":timestamp")]
        for first, found in resolvers.items()
    }
    Dumper.add_representer(Decimal, _decimal)
    Dumper.add_representer(str, _text)
    return Dumper


def _decimal(dumper: Any, value: Decimal) -> Any:
    text = f"{value:f}"
    return dumper.represent_scalar(f"tag:yaml.org,2002:{'float' if '.' in text else 'int'}", text)


def _text(dumper: Any, value: str) -> Any:
    return dumper.represent_scalar("tag:yaml.org,2002:str", value, style="|" if "\n" in value else None)
