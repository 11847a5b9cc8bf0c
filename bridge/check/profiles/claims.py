"""Which profiles each resource has to conform to: those it claims, and those that the standard sets for what it is.

Source: https://hl7.org/fhir/R4/resource-definitions.html#Meta.profile, observation-vitalsigns.html.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any

from bridge.check.look import numbered, part, parts, text
from bridge.check.profiles.context import Context, entered, in_bundle, outermost
from bridge.check.profiles.part import Item
from bridge.data import load_csv, table_path
from bridge.fhir import tables
from bridge.shapes import Json

LOINC = "http://loinc.org"
MAX_BUNDLES = 20
"""Bundles in bundles that are looked into."""


def resources(data: Any, path: str) -> Iterator[tuple[Item, Context]]:
    """Every resource of a known type with its place: the outermost, what it contains, what stands in its entries."""
    waiting = [((data, text(data, "resourceType"), path, None), outermost(data, path), 0)]
    while waiting:
        item, context, depth = waiting.pop()
        value, type, path, _ = item
        if not tables.is_resource(type):
            continue
        yield item, context
        inner: list[tuple[Json, str, bool]] = []
        if type == "Bundle" and depth < MAX_BUNDLES:
            context = in_bundle(value, path, context)
            inner = [(part(e, "resource"), f"{path}.entry[{n}].resource", False) for n, e in numbered(value, "entry")]
        elif type == "Parameters":
            rows = numbered(value, "parameter")
            inner = [(part(p, "resource"), f"{path}.parameter[{n}].resource", False) for n, p in rows]
        if "contained" in value:
            inner += [(c, f"{path}.contained[{n}]", True) for n, c in numbered(value, "contained")]
        for resource, place, contained in reversed(inner):
            at = (resource, text(resource, "resourceType"), place, None)
            waiting.append((at, entered(resource, place, context, contained), depth + (type == "Bundle")))


def claimed(resource: Json) -> Iterator[tuple[int, str]]:
    """The profiles that a resource says it conforms to, with their numbers."""
    profiles = part(resource, "meta").get("profile") if "meta" in resource else None
    for number, url in enumerate(profiles if isinstance(profiles, list) else ()):
        if isinstance(url, str) and url:
            yield number, url


def implied(resource: Json) -> list[str]:
    """The profiles that the standard sets for an Observation of a vital sign, whatever it claims."""
    if resource.get("resourceType") != "Observation":
        return []
    codes = {text(c, "code") for c in parts(part(resource, "code"), "coding") if c.get("system") == LOINC}
    return [url for code in sorted(codes) if (url := _vital_signs().get(code))] if codes else []


@cache
def _vital_signs() -> dict[str, str]:
    rows = load_csv(table_path("profiles", "vital-signs.csv"))
    return {row["loinc"]: row["profile"] for row in rows}
