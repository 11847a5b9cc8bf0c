"""Published profiles as trees of their snapshots, and where in data their elements and slices stand.

Independent of the checker: only what the published files say, for the slicings that can be told apart without
following references (value, pattern, type, profile of what is in an entry).
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from typing import Any, NamedTuple

from tests.oracles.seed_definitions import Json, Keys
from tests.standards import standard_json, standards_file

EXTENSIONS = ("extension", "modifierExtension")


class Node:
    """An element of a profile with what stands under it."""

    def __init__(self, element: Json) -> None:
        self.element = element
        self.id: str = element["id"]
        self.name = self.id.rpartition(".")[2].partition(":")[0]
        self.slice: str = element.get("sliceName", "") if ":" in self.id.rpartition(".")[2] else ""
        self.parts: list[Node] = []
        self.slices: list[Node] = []

    @property
    def min(self) -> int:
        return int(self.element.get("min", 0))

    @property
    def max(self) -> int | None:
        most = self.element.get("max", "*")
        return None if most == "*" else int(most)

    @property
    def base_min(self) -> int:
        return int(self.element.get("base", {}).get("min", 0))

    @property
    def base_max(self) -> int | None:
        most = self.element.get("base", {}).get("max", "*")
        return None if most == "*" else int(most)

    @property
    def types(self) -> list[Json]:
        rows: list[Json] = self.element.get("type", [])
        return rows

    @property
    def wanted(self) -> tuple[str, Any] | None:
        """The fixed value or pattern, with the name of its property."""
        for key, value in self.element.items():
            if key.startswith(("fixed", "pattern")):
                return key, value
        return None


class Met(NamedTuple):
    """An element (or slice) of a profile in data: what holds it, and its values with their places."""

    node: Node
    owner: Keys
    holder: Json
    values: list[tuple[Keys, Any]]
    within: tuple[str, ...]
    """Names of the slices around it, the innermost last."""
    deciding: tuple[str, ...] = ()
    """The elements beside it that tell in which slice they stand: without them it is another slice, or none."""


@cache
def profiles() -> dict[str, Json]:
    """The published profiles by address: IPS, UK Core, and the vital signs of R4."""
    found = [json.loads(p.read_bytes()) for p in sorted(standards_file("ips").glob("StructureDefinition-*.json"))]
    for name in ("uk-core/uk-core-snapshots.json.gz", "fhir-r4/profiles-others.json.gz"):
        found += [entry["resource"] for entry in standard_json(name)["entry"]]
    found = [one for one in found if one["resourceType"] == "StructureDefinition" and "snapshot" in one]
    return {one["url"]: one for one in found if one.get("kind") != "logical" and one["derivation"] == "constraint"}


@cache
def tree(url: str) -> Node:
    nodes: dict[str, Node] = {}
    root: Node | None = None
    for element in profiles()[url]["snapshot"]["element"]:
        node = nodes[element["id"]] = Node(element)
        above, _, last = node.id.rpartition(".")
        if not above:
            root = node
        elif ":" in last:
            sliced = nodes.get(f"{above}.{last.partition(':')[0]}")
            if sliced is not None:
                sliced.slices.append(node)
        elif above in nodes:
            nodes[above].parts.append(node)
    assert root is not None
    return root


def met(url: str, data: Json) -> Iterator[Met]:
    """Every element and slice of a profile that has something to stand in."""
    yield from _parts(tree(url), (), data, (), ())


def _parts(node: Node, at: Keys, value: Any, within: tuple[str, ...], deciding: tuple[str, ...]) -> Iterator[Met]:
    if not isinstance(value, dict):
        return
    for part in node.parts:
        values = values_of(part, at, value)
        yield Met(part, at, value, values, within, tuple(path.partition(".")[0] for path in deciding))
        below = tuple(path.partition(".")[2] for path in deciding if path.partition(".")[0] == part.name)
        for keys, inner in values:
            yield from _parts(part, keys, inner, within, below)
        for one in part.slices:
            if not told_apart(part):
                continue
            members = [(keys, inner) for keys, inner in values if is_in(part, one, keys, inner)]
            yield Met(one, at, value, members, (*within, one.slice))
            paths = tuple(by["path"] for by in discriminators(part))
            for keys, inner in members:
                yield from _parts(one, keys, inner, (*within, one.slice), paths)


def values_of(node: Node, at: Keys, holder: Json) -> list[tuple[Keys, Any]]:
    if node.name.endswith("[x]"):
        stem = node.name[:-3]
        keys = [key for key in holder if key.startswith(stem) and key[len(stem) : len(stem) + 1].isupper()]
    else:
        keys = [node.name] if node.name in holder else []
    found: list[tuple[Keys, Any]] = []
    for key in keys:
        if isinstance(holder[key], list):
            found += [((*at, key, n), value) for n, value in enumerate(holder[key])]
        else:
            found.append(((*at, key), holder[key]))
    return found


def discriminators(node: Node) -> list[Json]:
    """Those of its slicing; extensions are always told apart by their addresses."""
    by: list[Json] = node.element.get("slicing", {}).get("discriminator", [])
    return by or ([{"type": "value", "path": "url"}] if node.name in EXTENSIONS else [])


def told_apart(node: Node) -> bool:
    by = discriminators(node)
    return bool(by) and not any("resolve()" in one["path"] or "ofType" in one["path"] for one in by)


def is_in(node: Node, slice: Node, keys: Keys, value: Any) -> bool:
    return all(_matches(one, slice, keys, value) for one in discriminators(node))


def _matches(by: Json, slice: Node, keys: Keys, value: Any) -> bool:
    path = [step for step in by["path"].split(".") if step != "$this"]
    if node_is_extension(slice) and path == ["url"]:
        return isinstance(value, dict) and value.get("url") in urls_of(slice)
    defined, values = [slice], [value]
    last = keys[-1] if isinstance(keys[-1], str) else keys[-2]
    for step in path:
        defined = [part for one in defined for part in one.parts if part.name in (step, f"{step}[x]")]
        values = [v for one in values if isinstance(one, dict) for _, v in _named(one, step)]
        last = step
    if not defined:
        return False
    if by["type"] in ("value", "pattern"):
        wanted = [part.wanted for part in defined if part.wanted]
        return bool(wanted) and all(any(fits(w, v) for v in values) for _, w in wanted)
    if by["type"] in ("type", "profile"):
        rows = [row for part in defined for row in part.types]
        return any(_typed(row, last, v) for row in rows for v in values)
    return False


def _named(holder: Json, step: str) -> list[tuple[str, Any]]:
    found = []
    for key, value in holder.items():
        if key == step or (key.startswith(step) and key[len(step) :][:1].isupper()):
            found += [(key, one) for one in (value if isinstance(value, list) else [value])]
    return found


def _typed(row: Json, key: str, value: Any) -> bool:
    if isinstance(value, dict) and "resourceType" in value:
        return bool(row["code"] == value["resourceType"])
    return key.lower().endswith(row["code"].lower())


def node_is_extension(node: Node) -> bool:
    return node.name in EXTENSIONS


def urls_of(slice: Node) -> list[str]:
    fixed = [part.wanted[1] for part in slice.parts if part.name == "url" and part.wanted]
    return fixed or [url.partition("|")[0] for row in slice.types for url in row.get("profile", ())]


def fits(wanted: Any, value: Any) -> bool:
    """Whether a value has all of a pattern."""
    if isinstance(wanted, dict):
        return isinstance(value, dict) and all(fits(inner, value.get(key)) for key, inner in wanted.items())
    if isinstance(wanted, list):
        return isinstance(value, list) and all(any(fits(w, v) for v in value) for w in wanted)
    return bool(wanted == value)
