"""Types of FHIRPath: which of its own a simple value of FHIR has, and whether an item is of a type.

Source: https://hl7.org/fhirpath/N1/#is-type-specifier, https://hl7.org/fhir/R4/fhirpath.html#types.
"""

from __future__ import annotations

from decimal import Decimal
from functools import cache

from bridge.fhir import tables
from bridge.fhir.path.items import AWAY, Item, Items
from bridge.fhir.path.undecided import BeyondError, UndecidedError

SYSTEM = "System."
_OWN = {"Boolean", "String", "Integer", "Decimal", "Date", "DateTime", "Time", "Quantity"}
_AS_SIMPLE = {name: name[0].lower() + name[1:] for name in _OWN - {"Quantity"}}
_KINDS = {
    "boolean": "Boolean",
    "decimal": "Decimal",
    "integer": "Integer",
    "date": "Date",
    "dateTime": "DateTime",
    "instant": "DateTime",
    "time": "Time",
    "Quantity": "Quantity",
}


@cache
def kind_of(type: str) -> str:
    """The own type of FHIRPath that a type has or is read as: `Integer` for `positiveInt`; empty for an object."""
    if type.startswith(SYSTEM):
        return type[7:]
    for one in tables.lineage(type):
        if one in _KINDS:
            return _KINDS[one]
    return "String" if tables.is_primitive(type) else ""


@cache
def wanted(name: str) -> str:
    """The type that a name in an expression means: `FHIR.Patient`, `System.String`, or one of either without.

    Raises BeyondError for a name that neither has.
    """
    space, _, rest = name.rpartition(".")
    if space in {"", "FHIR"} and tables.knows(rest):
        return rest
    if space in {"", "FHIR"} and rest == "SimpleQuantity":
        return "Quantity"
    if space in {"", "System"} and rest in _OWN:
        return f"{SYSTEM}{rest}" if space else _AS_SIMPLE[rest]
    raise BeyondError


@cache
def _fits(type: str, name: str) -> bool:
    if type == name:
        return True
    if type.startswith(SYSTEM):
        return _AS_SIMPLE.get(type[7:]) == name
    return name in tables.lineage(type)


def is_type(item: Item, name: str) -> bool:
    """Whether the item is of a type as `wanted` gives it, or of one that is a kind of it.

    Without a namespace, `boolean` and `Boolean` mean the same, of the data as of what was worked out.
    """
    return _fits(item[1], name)


def truth(items: Items) -> bool | None:
    """What a collection says where true or false is wanted; a single item that is neither says true."""
    if not items:
        return None
    if len(items) > 1:
        raise UndecidedError
    value, type, _ = items[0]
    if value is True or value is False:
        return bool(value)
    if kind_of(type) == "Boolean":
        if value is None:
            return None
        raise UndecidedError
    return True


def single(items: Items) -> Item | None:
    """The only item, or None. Raises UndecidedError where there are several."""
    if not items:
        return None
    if len(items) > 1 or items[0][0] is AWAY:
        raise UndecidedError
    return items[0]


def text(items: Items) -> str | None:
    """The only item as a text; None without one. Raises UndecidedError for what is none."""
    item = single(items)
    if item is None or item[0] is None:
        return None
    if not isinstance(item[0], str):
        raise UndecidedError
    return item[0]


def number(items: Items) -> int | Decimal | None:
    """The only item as a number, as `text`."""
    item = single(items)
    return None if item is None or item[0] is None else as_number(item[0])


def as_number(value: object) -> int | Decimal:
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        raise UndecidedError
    found = Decimal(repr(value)) if isinstance(value, float) else value
    if isinstance(found, Decimal) and not (found.is_finite() and abs(found.adjusted()) < 400):
        raise UndecidedError
    if isinstance(found, int) and abs(found) >= 1 << 1000:
        raise UndecidedError
    return found


def made(value: object, kind: str) -> Items:
    return [(value, f"{SYSTEM}{kind}", None)]
