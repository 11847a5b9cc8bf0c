"""Questions to the tables made from the published R4 definitions (`mappings/standard/`).

The tables are read at the first question, each type is unpacked when it is first asked for.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any, NamedTuple

from bridge.data import table_path
from bridge.errors import MappingError

RESOURCE = "Resource"
ABSTRACT = frozenset({"Resource", "DomainResource", "Element", "BackboneElement"})
EXTENSIONS = "http://hl7.org/fhir/StructureDefinition/"
"""How the addresses of nearly all extensions begin that the standard defines; the few others are not looked at."""


class Element(NamedTuple):
    """One property of a type as JSON spells it; a choice is unpacked into one Element per type."""

    name: str
    """`status`, `valueQuantity`."""
    type: str
    """`code`, `Quantity`, the path of an inner structure (`Observation.component`), or `Resource`."""
    required: bool
    many: bool
    primitive: bool
    choice: str
    """Name of the choice (`value[x]`), empty for a plain element."""
    targets: frozenset[str]
    """Resource types a Reference may point to; empty means any."""
    codes: str
    """Name of the value set that is required here, empty for none."""
    shape: str
    """`SimpleQuantity` or `MoneyQuantity` where a Quantity must be one."""
    attribute: bool = False
    """Whether XML writes it as an attribute, beside which nothing can stand."""


@cache
def _table(name: str) -> dict[str, Any]:
    import orjson

    try:
        table: dict[str, Any] = orjson.loads(table_path("standard", name).read_bytes())
    except (OSError, orjson.JSONDecodeError):
        raise MappingError(f"The table {name} cannot be read.", "Install visit-bridge again.") from None
    return table


def edition() -> str:
    """Edition of the standard that the tables were made from: `4.0.1`."""
    return str(_table("elements.json")["about"]["edition"])


@cache
def is_resource(type: str) -> bool:
    """Whether a resource of this type can exist (abstract types cannot)."""
    row = _table("elements.json")["types"].get(type, {})
    return row.get("kind") == "resource" and not row.get("abstract")


@cache
def is_primitive(type: str) -> bool:
    return bool(_table("elements.json")["types"].get(type, {}).get("kind") == "primitive")


@cache
def is_part(type: str) -> bool:
    """Whether this is an inner structure of a type (`Observation.component`)."""
    return bool(_table("elements.json")["types"].get(type, {}).get("kind") == "part")


@cache
def resources() -> tuple[str, ...]:
    """Every type of resource that can exist, in alphabetical order."""
    return tuple(sorted(filter(is_resource, _table("elements.json")["types"])))


def types() -> Iterable[str]:
    """The name of every type: resources, data types, simple types and inner structures."""
    rows: Mapping[str, Any] = _table("elements.json")["types"]
    return rows


def knows(type: str) -> bool:
    """Whether the tables have this type, also one that is abstract or an inner structure."""
    return type in _table("elements.json")["types"]


@cache
def elements(type: str) -> Mapping[str, Element]:
    """Every property the type can have in JSON, inherited ones first. Empty for an unknown type."""
    row = _table("elements.json")["types"].get(type)
    if row is None:
        return {}
    found = dict(elements(row["base"])) if "base" in row else {}
    for name, facts in row["elements"].items():
        choice = name if name.endswith("[x]") else ""
        for code in facts["types"]:
            key = name[:-3] + code[0].upper() + code[1:] if choice else name
            found[key] = Element(
                name=key,
                type=code,
                required=bool(facts.get("min")),
                many=facts.get("max", "1") != "1",
                primitive=is_primitive(code),
                choice=choice,
                targets=frozenset(facts.get("targets", ())) if code == "Reference" else frozenset(),
                codes=facts.get("codes", ""),
                shape=next(iter(facts.get("shapes", ())), "") if code == "Quantity" else "",
                attribute=facts.get("attribute", False),
            )
    return found


@cache
def required(type: str) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """What the type must have: name (`value[x]` for a choice) and the properties that would fill it."""
    names: dict[str, list[str]] = {}
    for key, element in elements(type).items():
        if element.required:
            names.setdefault(element.choice or key, []).append(key)
    return tuple((name, tuple(keys)) for name, keys in names.items())


@cache
def codes(value_set: str) -> Mapping[str, frozenset[str]] | None:
    """Codes by system of a required value set; None where no complete list is published (media types, UCUM)."""
    row = _table("codes.json")["sets"].get(value_set)
    return None if row is None else {system: frozenset(members) for system, members in row.items()}


@cache
def plain_codes(value_set: str) -> frozenset[str] | None:
    """All codes of a required value set, for elements of type `code`, which carry no system."""
    row = codes(value_set)
    return None if row is None else frozenset().union(*row.values())


def invariants() -> Mapping[str, Mapping[str, Mapping[str, str]]]:
    """The standard's own constraints by the path they are defined on, then by key: severity and FHIRPath expression."""
    rows: Mapping[str, Mapping[str, Mapping[str, str]]] = _table("invariants.json")["invariants"]
    return rows


def extension(url: str) -> Mapping[str, Any] | list[str] | None:
    """What an extension of the standard holds: the types of its value, or its parts by name (`min`, `max`, `types`).

    None where the standard defines no extension of that address.
    """
    if not url.startswith(EXTENSIONS):
        return None
    return extensions().get(url[len(EXTENSIONS) :])


def extensions() -> Mapping[str, Mapping[str, Any] | list[str]]:
    """The same for all of them, by what follows `EXTENSIONS` in their addresses."""
    rows: Mapping[str, Mapping[str, Any] | list[str]] = _table("extensions.json")["extensions"]
    return rows


@cache
def lineage(type: str) -> tuple[str, ...]:
    """The type and, nearest first, what it is a kind of: `Age`, `Quantity`, `Element`."""
    base = _table("elements.json")["types"].get(type, {}).get("base")
    return (type, *lineage(base)) if base else (type,)


@cache
def allowed_as(type: str, name: str) -> tuple[str, ...]:
    """Under which types a value may stand where an element (`value[x]`) names its types. In a choice a `code` is no
    `string`, nor an `Age` a `Quantity`, for the key (`valueCode`) says which it is."""
    found = lineage(type)
    return tuple(one for one in found if one == type or one in ABSTRACT) if name.endswith("[x]") else found
