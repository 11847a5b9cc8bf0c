"""The published definitions as the seeders and generators read them, straight from the files of R4 4.0.1.

Nothing of the project is imported: what an element may hold is known here independently of our tables.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import yaml

from tests.standards import standard_json

Json = dict[str, Any]
Keys = tuple[Any, ...]
DROP: Any = object()
"""In place of a new value: take the property out."""

FHIR_TYPE = "http://hl7.org/fhir/StructureDefinition/structuredefinition-fhir-type"
SYSTEM = "http://hl7.org/fhirpath/System."
PROFILE = "http://hl7.org/fhir/StructureDefinition/"


class Fact(NamedTuple):
    """One element of a type."""

    name: str
    """As defined: `value[x]` for a choice."""
    path: str
    types: tuple[str, ...]
    """Type codes; `#Observation.referenceRange` for what is defined there."""
    min: int
    max: str
    codes: str
    """Value set that is required."""
    targets: frozenset[str]
    simple: bool
    """Whether a Quantity here is a SimpleQuantity."""

    @property
    def choice(self) -> bool:
        return self.name.endswith("[x]")

    @property
    def attribute(self) -> bool:
        """Whether it has no `_x` beside it: the ids of elements and the url of an extension."""
        return self.path == "Extension.url" or (self.name == "id" and self.types == ("string",))

    @property
    def keys(self) -> dict[str, str]:
        """How JSON spells it, and the type that goes with each spelling."""
        if not self.choice:
            return {self.name: self.types[0]}
        return {self.name[:-3] + t[0].upper() + t[1:]: t for t in self.types}


class Spot(NamedTuple):
    """A property that is there."""

    keys: Keys
    fact: Fact
    type: str
    value: Any
    owner: str
    """Where the elements of what holds it are defined: `Patient`, `Patient.contact`, `Period`."""


def structures() -> Iterator[Json]:
    for file in ("profiles-types", "profiles-resources"):
        for entry in standard_json(f"fhir-r4/{file}.json.gz")["entry"]:
            structure = entry["resource"]
            if structure["resourceType"] == "StructureDefinition" and structure.get("derivation") != "constraint":
                yield structure


@cache
def primitives() -> frozenset[str]:
    return frozenset(s["type"] for s in structures() if s["kind"] == "primitive-type")


@cache
def resources() -> tuple[str, ...]:
    """Every kind of resource that can be sent."""
    return tuple(sorted(s["type"] for s in structures() if s["kind"] == "resource" and not s["abstract"]))


@cache
def definitions() -> dict[str, dict[str, Fact]]:
    """Elements by the path of what holds them, in the order of the standard."""
    found: dict[str, dict[str, Fact]] = {}
    for structure in structures():
        if structure["kind"] == "primitive-type":
            continue
        for element in structure["snapshot"]["element"]:
            parent, _, name = element["path"].rpartition(".")
            if parent:
                found.setdefault(parent, {})[name] = _fact(element, name, structure["kind"] == "resource")
    return found


def _fact(element: Json, name: str, resource: bool) -> Fact:
    rows = element.get("type", ())
    binding = element.get("binding", {})
    profiles = [p for row in rows if row["code"] == "Reference" for p in row.get("targetProfile", ())]
    types = tuple(map(_type, rows)) or ("#" + element.get("contentReference", "#")[1:],)
    if resource and element.get("base", {}).get("path") == "Resource.id":
        types = ("id",)  # typed string in the files; the page of resources says id
    return Fact(
        name,
        element["path"],
        types,
        element["min"],
        element["max"],
        binding.get("valueSet", "").partition("|")[0] if binding.get("strength") == "required" else "",
        frozenset(p.removeprefix(PROFILE) for p in profiles),
        any(p.endswith("/SimpleQuantity") for row in rows for p in row.get("profile", ())),
    )


def _type(row: Json) -> str:
    for extension in row.get("extension", ()):
        if extension["url"] == FHIR_TYPE:
            return str(extension["valueUrl"])
    return str(row["code"])


@cache
def codes() -> dict[str, tuple[tuple[str, str], ...]]:
    """System and code of each member of the value sets whose published expansion is whole."""
    found = {}
    for entry in standard_json("fhir-r4/valueset-expansions.json.gz")["entry"]:
        expansion = entry["resource"]["expansion"]
        rows = [row for row in _inside(expansion.get("contains", ())) if "code" in row and not row.get("abstract")]
        if rows and not expansion.get("extension"):
            found[entry["resource"]["url"]] = tuple((row.get("system", ""), row["code"]) for row in rows)
    return found


def _inside(rows: Any) -> Iterator[Json]:
    for row in rows:
        yield row
        yield from _inside(row.get("contains", ()))


@cache
def spellings(name: str) -> frozenset[str]:
    """Every key that an element may have, whatever holds it: one, or all of a choice."""
    if not name.endswith("[x]"):
        return frozenset({name})
    return frozenset(key for facts in definitions().values() if name in facts for key in facts[name].keys)


@cache
def table(name: str) -> Any:
    """One of the tables in seeds/. Do not change what you get."""
    return yaml.safe_load((Path(__file__).parent / "seeds" / f"{name}.yaml").read_text(encoding="utf-8"))


def elements(owner: str) -> dict[str, Fact]:
    return definitions()[owner]


@cache
def spelt(owner: str) -> dict[str, tuple[Fact, str]]:
    """Every key that JSON may have in an object of a type."""
    return {key: (fact, type) for fact in elements(owner).values() for key, type in fact.keys.items()}


def inner(fact: Fact, type: str, value: Any = None) -> str:
    """Where the elements of a value are defined."""
    if type == "Resource":
        kind = value.get("resourceType", "") if isinstance(value, dict) else ""
        return str(kind)
    if type.startswith("#"):
        return type[1:]
    return fact.path if type in ("BackboneElement", "Element") else type


def spots(node: Json, owner: str, at: Keys = ()) -> Iterator[Spot]:
    """Every property that the definitions know, from the outside in; `_x` only for what is inside of it."""
    for key, value in node.items():
        if key.startswith("_"):
            known = spelt(owner).get(key[1:])
            rows = enumerate(value) if isinstance(value, list) else [(-1, value)]
            for index, row in rows:
                if known and isinstance(row, dict):
                    yield from spots(row, "Element", (*at, key) if index < 0 else (*at, key, index))
            continue
        known = spelt(owner).get(key)
        if known is None:
            continue
        fact, type = known
        yield Spot((*at, key), fact, type, value, owner)
        for index, item in enumerate(value if isinstance(value, list) else [value]):
            where = inner(fact, type, item)
            if isinstance(item, dict) and where in definitions():
                yield from spots(item, where, (*at, key, index) if isinstance(value, list) else (*at, key))


def edited(data: Any, keys: Keys, new: Any) -> Any:
    """The data with another value at a place; only what is on the way there is copied. `new` may be a function."""
    if not keys:
        return new(data) if callable(new) else new
    first, rest = keys[0], keys[1:]
    copied: Any = list(data) if isinstance(data, list) else dict(data)
    if new is DROP and not rest:
        copied.pop(first, None) if isinstance(copied, dict) else copied.pop(first)
        return copied
    before = copied.get(first) if isinstance(copied, dict) else copied[first]
    copied[first] = edited(before, rest, new)
    return copied


def without(*names: str) -> Callable[[Json], Json]:
    """A function for `edited`: the object without these properties."""
    return lambda node: {k: v for k, v in node.items() if k.removeprefix("_") not in names}


def plus(**more: Any) -> Callable[[Json], Json]:
    """A function for `edited`: the object with more properties (`_x` too)."""
    return lambda node: {**node, **more}


def spell(data: Json, keys: Keys) -> str:
    """A place as a path: `Patient.name[0].given[1]`."""
    return data["resourceType"] + "".join(f"[{k}]" if isinstance(k, int) else f".{k}" for k in keys)
