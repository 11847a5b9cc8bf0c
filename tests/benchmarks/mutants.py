"""How resources are mutated: in their bytes and in their data."""

from __future__ import annotations

import copy
import datetime
from collections.abc import Callable, Iterator
from decimal import Decimal
from random import Random
from typing import Any

Json = dict[str, Any]
Alter = Callable[[Random, bytes], bytes]
Change = Callable[[Random, Any], Any]
ODD: tuple[Any, ...] = (
    None,
    True,
    False,
    0,
    -1,
    1,
    2**31,
    2**63,
    10**25,
    -0.0,
    0.5,
    float("nan"),
    float("inf"),
    -float("inf"),
    Decimal("NaN"),
    Decimal("sNaN"),
    Decimal("Infinity"),
    Decimal("1E+999999"),
    Decimal("-0.0"),
    "",
    " ",
    "a",
    "\x00",
    "\ud800",
    "a\udfff",
    "\u2028",
    "\U0010ffff",
    "Patient",
    "urn:uuid:",
    "#",
    "2026-02-30",
    "9" * 300,
    [],
    {},
    [None],
    [[]],
    [{}],
    {"": ""},
    {"resourceType": "Patient"},
    {"resourceType": []},
    {"reference": "#"},
    {"reference": []},
    {"extension": {}},
    [1, "a", None, {}],
    b"bytes",
    (1, 2),
    frozenset({1}),
    datetime.date(2026, 1, 1),
    object,
    1j,
    range(3),
    NotImplemented,
    {1: 2},
    {None: None},
    {("a",): 1},
    {b"a": 1},
    {1.5: []},
    {float("nan"): 1},
    {True: "a"},
)
KEYS: tuple[Any, ...] = (
    "",
    "_",
    "__",
    "id",
    "_id",
    "resourceType",
    "_resourceType",
    "extension",
    "value",
    "valueString",
    "_valueString",
    "reference",
    "contained",
    "text",
    "div",
    "entry",
    "\ud800",
    "a" * 10_000,
    "[0]",
    "a.b",
    0,
    None,
    True,
    1.5,
    ("a",),
    b"a",
    frozenset(),
)


def places(node: Any) -> list[tuple[Any, Any]]:
    """Every value by what holds it and under which key."""
    found, waiting = [], [node]
    while waiting:
        value = waiting.pop()
        rows: Iterator[tuple[Any, Any]] = (
            iter(value.items())
            if isinstance(value, dict)
            else iter(enumerate(value))
            if isinstance(value, list)
            else iter(())
        )
        for key, inner in rows:
            found.append((value, key))
            if isinstance(inner, dict | list):
                waiting.append(inner)
    return found


def somewhere(change: Callable[[Random, Any, Any, Any], None]) -> Change:
    """The change in one to four places."""

    def made(choose: Random, data: Any) -> Any:
        for _ in range(choose.choice((1, 1, 2, 4))):
            found = places(data)
            if found:
                holder, key = choose.choice(found)
                change(choose, holder, key, found)
        return data

    return made


def odd(choose: Random, holder: Any, key: Any, found: Any) -> None:
    holder[key] = copy.copy(choose.choice(ODD))


def gone(choose: Random, holder: Any, key: Any, found: Any) -> None:
    del holder[key]


def moved(choose: Random, holder: Any, key: Any, found: Any) -> None:
    other, there = choose.choice(found)
    holder[key] = copy.deepcopy(other[there])


def renamed(choose: Random, holder: Any, key: Any, found: Any) -> None:
    if isinstance(holder, dict):
        holder[choose.choice(KEYS)] = holder.pop(key)
    else:
        holder.append(holder[key])


def wrapped(choose: Random, holder: Any, key: Any, found: Any) -> None:
    value = holder[key]
    holder[key] = choose.choice(([value], {"value": value}, [[value]], {"a": {"b": value}}, str(value), [value] * 50))


def letters(choose: Random, holder: Any, key: Any, found: Any) -> None:
    holder[key] = "".join(
        chr(choose.choice((choose.randrange(32, 127), choose.randrange(0x110000), choose.randrange(0x300))))
        for _ in range(choose.randrange(40))
    )


def kind(choose: Random, holder: Any, key: Any, found: Any) -> None:
    kinds = [(h, k) for h, k in found if k == "resourceType"]
    if kinds:
        holder, key = choose.choice(kinds)
        holder[key] = choose.choice(
            (
                "Patient",
                "Bundle",
                "StructureDefinition",
                "Questionnaire",
                "ValueSet",
                "CodeSystem",
                "Parameters",
                "Visit",
                "",
                None,
                [],
                {},
                7,
                "patient",
            )
        )


DATA: dict[str, Change] = {
    "odd values": somewhere(odd),
    "taken out": somewhere(gone),
    "moved": somewhere(moved),
    "renamed": somewhere(renamed),
    "wrapped": somewhere(wrapped),
    "random letters": somewhere(letters),
    "another kind": somewhere(kind),
}


def _at(choose: Random, content: bytes) -> int:
    return choose.randrange(len(content))


def flipped(choose: Random, content: bytes) -> bytes:
    made = bytearray(content)
    for _ in range(choose.choice((1, 1, 3, 20))):
        made[_at(choose, content)] = choose.randrange(256)
    return bytes(made)


def cut(choose: Random, content: bytes) -> bytes:
    return content[: _at(choose, content)]


def hole(choose: Random, content: bytes) -> bytes:
    at = _at(choose, content)
    return content[:at] + content[at + choose.choice((1, 1, 5, 200)) :]


def doubled(choose: Random, content: bytes) -> bytes:
    at, size = _at(choose, content), choose.choice((1, 10, 300))
    return content[: at + size] + content[at:]


def put_in(choose: Random, content: bytes) -> bytes:
    bad = choose.choice(
        (
            b"\\ud800",
            b"\\u0000",
            b"\x00",
            b"\xff\xfe",
            b"\xef\xbb\xbf",
            b"NaN",
            b"Infinity",
            b"1e999999999",
            b"9" * 5000,
            b"[" * 5000,
            b"{" * 300,
            b'{"a":' * 300,
            b'"',
            b"\\",
            b",",
            b":",
            b"null",
            b"<a/>",
            b"\n" * 100,
            b"-0",
            b"1E400",
        )
    )
    at = _at(choose, content)
    return content[:at] + bad + content[at:]


def digits(choose: Random, content: bytes) -> bytes:
    return bytes(
        choose.choice(b"0123456789.eE+-") if c in b"0123456789" and choose.random() < 0.05 else c for c in content
    )


BYTES: dict[str, Alter] = {
    "flipped": flipped,
    "cut": cut,
    "a hole": hole,
    "doubled": doubled,
    "put in": put_in,
    "digits": digits,
}
