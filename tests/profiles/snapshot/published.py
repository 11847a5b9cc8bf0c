"""Published definitions as oracles, and how one snapshot differs from another.

Sources: the files of FHIR R4 4.0.1, IPS 2.0.0 and UK Core that tests/standards.py reaches.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from typing import Any

from bridge.profiles.facts import facts
from tests.standards import standard_json, standards_file

Json = dict[str, Any]
PLAIN = ("path", "sliceName", "min", "max", "base", "contentReference", "maxLength", "mustSupport", "isModifier")
VALUES = ("fixed", "pattern", "minValue", "maxValue")


@cache
def definitions(name: str) -> list[Json]:
    """The StructureDefinitions of a bundle, or those of IPS."""
    if name == "ips":
        folder = standards_file("ips/StructureDefinition-Patient-uv-ips.json").parent
        return [standard_json(f"ips/{path.name}") for path in sorted(folder.glob("StructureDefinition-*.json"))]
    resources = (entry["resource"] for entry in standard_json(f"{name}.json.gz")["entry"])
    return [one for one in resources if one["resourceType"] == "StructureDefinition"]


@cache
def shelf(*names: str, snapshots: bool = True) -> dict[str, Json]:
    """Structures by url."""
    found = {}
    for name in names:
        for definition in definitions(name):
            found[definition["url"]] = facts(definition if snapshots else said_only(definition))
    return found


def said_only(definition: Json) -> Json:
    return {key: value for key, value in definition.items() if key != "snapshot"}


def differences(made: list[Json], definition: Json, strict: bool) -> Iterator[tuple[str, str]]:
    """Where `made` is not what is published, as (what, id). The published one is read without `facts`.

    `strict`: the sources and the order of constraints are looked at, and the definition that a repeated element is of.
    """
    published = definition["snapshot"]["element"]
    ours, theirs = [one["id"] for one in made], [one["id"] for one in published]
    for id in theirs:
        if id not in ours:
            yield "missing", id
    for id in ours:
        if id not in theirs:
            yield "more", id
    if [id for id in ours if id in theirs] != [id for id in theirs if id in ours]:
        yield "order", definition["id"]
    by_id = {one["id"]: one for one in made}
    for element in published:
        if element["id"] in by_id:
            mine, other = (_view(one, definition["url"], strict) for one in (by_id[element["id"]], element))
            for what in mine.keys() | other.keys():
                if mine.get(what) != other.get(what):
                    yield what, element["id"]


def _view(element: Json, url: str, strict: bool) -> Json:
    """What an element means, comparable: a version that a publisher pinned to what is of R4 itself is taken off."""
    view: Json = {key: element[key] for key in PLAIN if key in element and element[key] is not False}
    for key, value in element.items():
        if key.startswith(VALUES):
            view[key] = json.dumps(value, sort_keys=True)
    view["type"] = [
        (row["code"], *(tuple(map(_bare, row.get(key, ()))) for key in ("profile", "targetProfile", "aggregation")))
        for row in element.get("type", ())
    ]
    if binding := element.get("binding"):
        largest = [one for one in binding.get("extension", ()) if one["url"].endswith("maxValueSet")]
        sets = [_bare(one.get("valueCanonical", "")) for one in largest]
        view["binding"] = (binding.get("strength"), _bare(binding.get("valueSet", "")), sets)
    if slicing := element.get("slicing"):
        by = [(row["type"], row["path"]) for row in slicing.get("discriminator", ())]
        view["slicing"] = (by, slicing.get("ordered", False), slicing.get("rules"))
    rules = [
        (row["key"], row["severity"], row.get("expression", ""), strict and _bare(row.get("source", url)))
        for row in element.get("constraint", ())
    ]
    view["constraint"] = rules if strict else sorted(rules)
    if not strict and "contentReference" in view:
        view["contentReference"] = "#" + view["contentReference"].partition("#")[2]
    return view


def _bare(canonical: str) -> str:
    return canonical.removesuffix("|4.0.1")
