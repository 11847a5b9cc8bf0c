"""What the published profiles of the International Patient Summary demand of plain JSON, read from their snapshots.

Knows nothing of the project. It covers cardinalities, fixed and pattern values, required bindings to listed codes,
which profiles a reference may point to, and the slices of the Composition's sections; it does not run invariants.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any

from tests.standards import standard_json

Json = dict[str, Any]
CANONICAL = "http://hl7.org/fhir/uv/ips/StructureDefinition/"


@cache
def profile(name: str) -> Json:
    found: Json = standard_json(f"ips/StructureDefinition-{name}.json")
    return found


def faults(bundle: Json) -> list[str]:
    """Where the bundle or a resource in it does not meet the profile that it claims."""
    entries = {e["fullUrl"]: e["resource"] for e in bundle["entry"]}
    found = [f for resource in (bundle, *entries.values()) for f in _resource(resource, entries)]
    found += [f for r in entries.values() for inner in r.get("contained", ()) for f in _resource(inner, entries)]
    return [*found, *_sections(bundle["entry"][0]["resource"], entries)]


def claims(resource: Json) -> list[str]:
    """Names of the guide's profiles that a resource claims."""
    claimed = resource.get("meta", {}).get("profile", [])
    return [c.removeprefix(CANONICAL).partition("|")[0] for c in claimed if c.startswith(CANONICAL)]


def _resource(resource: Json, entries: dict[str, Json]) -> Iterator[str]:
    for name in claims(resource):
        definition = profile(name)
        if resource["resourceType"] != definition["type"]:
            yield f"{name} claimed by {resource['resourceType']}"
        for element in definition["snapshot"]["element"]:
            if "." in element["path"] and ":" not in element["id"]:
                for problem in _element(resource, element, {**entries, **_contained(resource)}):
                    yield f"{name}: {element['path']}: {problem}"


def _contained(resource: Json) -> dict[str, Json]:
    return {f"#{inner['id']}": inner for inner in resource.get("contained", ())}


def _element(resource: Json, element: Json, entries: dict[str, Json]) -> Iterator[str]:
    *way, last = element["path"].split(".")[1:]
    for parent in _parents(resource, way):
        values = _children(parent, last)
        if len(values) < element["min"]:
            yield f"{len(values)} instead of at least {element['min']}"
        if element["max"] != "*" and len(values) > int(element["max"]):
            yield f"{len(values)} instead of at most {element['max']}"
        for value in values:
            yield from _value(value, element, entries)


def _value(value: Any, element: Json, entries: dict[str, Json]) -> Iterator[str]:
    for key, wanted in element.items():
        if key.startswith("fixed") and value != wanted:
            yield "not the fixed value"
        if key.startswith("pattern") and not holds(value, wanted):
            yield "not the pattern"
    binding = element.get("binding", {})
    required = _codes(binding["valueSet"]) if binding.get("strength") == "required" else frozenset()
    if required and isinstance(value, str) and value not in required:
        yield f"{value} is not in the required value set"
    targets = [t for type in element.get("type", ()) for t in type.get("targetProfile", ())]
    wanted = {t.rpartition("/")[2].partition("|")[0] for t in targets}
    if targets and isinstance(value, dict) and "reference" in value:
        target = entries.get(value["reference"])
        if target is None:
            yield "points to nothing in the bundle"
        elif not wanted & {target["resourceType"], "Resource", *claims(target)}:
            yield f"points to a {target['resourceType']} that claims none of {sorted(wanted)}"


def holds(value: Any, wanted: Any) -> bool:
    """Whether a value has all that a pattern has."""
    if isinstance(wanted, dict):
        return isinstance(value, dict) and all(holds(value.get(k), w) for k, w in wanted.items())
    if isinstance(wanted, list):
        return isinstance(value, list) and all(any(holds(v, w) for v in value) for w in wanted)
    return bool(value == wanted)


def _parents(node: Json, way: list[str]) -> list[Json]:
    found = [node]
    for name in way:
        found = [c for parent in found for c in _children(parent, name) if isinstance(c, dict)]
    return found


def _children(parent: Json, name: str) -> list[Any]:
    """Values of an element; one that has only an extension counts, as the standard has it."""
    if name.endswith("[x]"):
        stem = name.removesuffix("[x]")
        names = sorted({k.lstrip("_") for k in parent if k.lstrip("_").startswith(stem)})
    else:
        names = [name]
    found = []
    for each in names:
        value = parent.get(each, parent.get(f"_{each}"))
        found += value if isinstance(value, list) else [] if value is None else [value]
    return found


@cache
def _codes(canonical: str) -> frozenset[str]:
    """Codes of a value set of R4, where its expansion lists them."""
    url = canonical.partition("|")[0]
    sets = standard_json("fhir-r4/valuesets.json.gz")["entry"]
    by_url = {e["resource"].get("url"): e["resource"] for e in sets}
    composed = by_url.get(url, {}).get("compose", {}).get("include", [])
    codes: set[str] = set()
    for include in composed:
        listed = include.get("concept") or by_url.get(include.get("system"), {}).get("concept", [])
        codes |= {c["code"] for c in listed}
        if include.get("filter") or include.get("valueSet") or any("concept" in c for c in listed):
            return frozenset()
    return frozenset(codes)


def section_rules() -> Iterator[tuple[str, Json, int, int, set[str], bool]]:
    """Slice name, pattern of the code, min, max, types of its entries, and whether it must say why it is empty."""
    elements = {e["id"]: e for e in profile("Composition-uv-ips")["snapshot"]["element"]}
    for id, element in elements.items():
        head, _, rest = id.partition(":")
        if head != "Composition.section" or not rest or "." in rest:
            continue
        targets = [t for type in elements[f"{id}.entry"]["type"] for t in type.get("targetProfile", ())]
        keys = {c["key"] for c in element.get("constraint", ())}
        most = 10**6 if element["max"] == "*" else int(element["max"])
        pattern = elements[f"{id}.code"]["patternCodeableConcept"]
        yield (
            rest,
            pattern,
            element["min"],
            most,
            {t.rpartition("/")[2].partition("|")[0] for t in targets},
            "ips-comp-1" in keys,
        )


def _sections(composition: Json, entries: dict[str, Json]) -> Iterator[str]:
    for name, pattern, least, most, types, told in section_rules():
        mine = [s for s in composition["section"] if holds(s["code"], pattern)]
        if not least <= len(mine) <= most:
            yield f"{name}: {len(mine)} times"
        for section in mine:
            if told and not section.get("entry") and not section.get("emptyReason"):
                yield f"{name}: neither an entry nor a reason"
            for entry in section.get("entry", ()):
                type = entries[entry["reference"]]["resourceType"]
                if types and "Resource" not in types and type not in types:
                    yield f"{name}: lists a {type}"
