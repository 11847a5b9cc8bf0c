"""Checks plain data against the few words of JSON Schema that `mappings/schemas/` uses, with line numbers.

The data comes from `marked_yaml`, where every scalar is text: "1950" serves as an integer and "yes" as one of an enum.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from bridge.data import table_path

Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Fault:
    """What breaks the schema, and the path of the field as `marked_yaml` spells it."""

    path: str
    message: str
    cause: str


@cache
def load_schema(name: str) -> Json:
    """A schema of `mappings/schemas/`, by the kind of file it is for."""
    found: Json = json.loads(table_path("schemas", f"{name}.schema.json").read_text(encoding="utf-8"))
    return found


def faults(data: Any, schema: Json, root: Json, path: str = "") -> Iterator[Fault]:
    """Everything in which the data breaks the schema, in the order of the file."""
    if "$ref" in schema:
        schema = root["$defs"][schema["$ref"].rsplit("/", 1)[1]]
    if "anyOf" in schema:
        options = [s if "$ref" not in s else root["$defs"][s["$ref"].rsplit("/", 1)[1]] for s in schema["anyOf"]]
        flat = [o for s in options for o in s.get("anyOf", [s])]
        fitting = next((o for o in flat if _is(data, o.get("type"))), None)
        if fitting is None:
            yield Fault(path, f"should be {' or '.join(_TYPES[o['type']] for o in flat)}", "type")
        else:
            yield from faults(data, fitting, root, path)
        return
    if not _is(data, schema.get("type")):
        kinds = schema["type"] if isinstance(schema["type"], list) else [schema["type"]]
        yield Fault(path, f"should be {' or '.join(_TYPES[k] for k in kinds)}", "type")
    elif isinstance(data, dict):
        yield from _object(data, schema, root, path)
    elif isinstance(data, list):
        if len(data) < schema.get("minItems", 0):
            yield Fault(path, "is empty", "empty")
        for index, item in enumerate(data):
            yield from faults(item, schema.get("items", {}), root, f"{path}[{index}]")
    else:
        yield from _scalar(data, schema, path)


_TYPES = {
    "object": "a list of “name: value” lines", "array": "a list", "string": "words", "integer": "a whole number",
}  # fmt: skip


def _is(data: Any, kinds: Any) -> bool:
    def one(kind: str) -> bool:
        if kind == "integer":
            return isinstance(data, str) and re.fullmatch(r"-?\d+", data) is not None
        return isinstance(data, {"object": dict, "array": list, "string": str}[kind])

    if kinds is None:
        return data is None or isinstance(data, str)
    return any(one(k) for k in (kinds if isinstance(kinds, list) else [kinds]))


def _object(data: Json, schema: Json, root: Json, path: str) -> Iterator[Fault]:
    known, others = schema.get("properties", {}), schema.get("additionalProperties", True)
    if len(data) < schema.get("minProperties", 0):
        yield Fault(path, "is empty", "empty")
    for name in schema.get("required", ()):
        if name not in data:
            yield Fault(path, f"lacks “{name}”", f"missing:{name}")
    for name, value in data.items():
        inner = f"{path}.{name}" if path else name
        if name in known:
            yield from faults(value, known[name], root, inner)
        elif others is False:
            yield Fault(inner, f"is not a setting here; known are: {', '.join(known)}", f"unknown:{name}")
        elif isinstance(others, dict):
            yield from faults(value, others, root, inner)


def _scalar(data: Any, schema: Json, path: str) -> Iterator[Fault]:
    options = [str(o).lower() if isinstance(o, bool) else str(o) for o in schema.get("enum", ())]
    if options and data not in options:
        yield Fault(path, f"should be one of: {', '.join(dict.fromkeys(options))}", "enum")
    elif isinstance(data, str):
        if len(data) < schema.get("minLength", 0):
            yield Fault(path, "is empty", "empty")
        if "pattern" in schema and not re.search(schema["pattern"], data):
            wanted = {r"^\d{4}$": "a year of four digits", r"^\d{4}-\d{2}-\d{2}$": "a date such as 2026-03-01",
                      "^[1-5]$": "a number from 1 to 5"}  # fmt: skip
            yield Fault(path, f"should be {wanted.get(schema['pattern'], schema['pattern'])}", "pattern")
