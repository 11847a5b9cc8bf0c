"""Fields of a visit in plain words: `wax seen before the work, right ear`."""

from __future__ import annotations

import re
from functools import cache

from bridge.data import load_csv, table_path


@cache
def _names() -> dict[str, str]:
    return {row["field"]: row["name"] for row in load_csv(table_path("words", "field-names.csv"))}


def named_fields() -> list[str]:
    """The fields that have a name: `ear.` for either ear, `@` for before and after the work."""
    return [field for field in _names() if field not in ("ask", "ignore")]


def field_name(path: str, rows: str = "visit") -> str:
    """A field as a person calls it; for paths outside the table, the path's own words."""
    bare = re.sub(r"\[\d+\]", "", path)
    head, _, rest = bare.partition(".")
    ear = {"right": ", right ear", "left": ", left ear"}.get(head, "")
    if head == "ear" and rest and rows == "visit":
        ear = ", the ear that the cell names"
    key = f"ear.{rest}" if head in ("right", "left", "ear") and rest else bare
    stage = re.match(r"ear\.(before|after)\.", key)
    name = _names().get(f"ear.@.{key[stage.end() :]}" if stage else key)
    if name is None:
        return bare.replace("_", " ").replace(".", ", ")
    return (name.replace("@", stage[1]) if stage else name) + ear
