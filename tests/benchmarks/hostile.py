"""What nobody sends in good faith: depth, size, cycles, and texts made to keep a program busy."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from random import Random
from typing import Any

from tests.benchmarks.mutants import ODD, Change, Json, places

DEEP = 100_000
HUGE = 1_000_000


def nested(opening: Callable[[Any], Any], depth: int = DEEP) -> Any:
    value: Any = "a"
    for _ in range(depth):
        value = opening(value)
    return value


def within(path: tuple[str, ...], make: Callable[[], Any]) -> Change:
    """A small resource with something under a path."""

    def made(choose: Random, data: Any) -> Any:
        value = make()
        for key in reversed(path[1:]):
            value = {key: value}
        return {"resourceType": path[0], **value}

    return made


def cyclic(choose: Random, data: Any) -> Any:
    holder, key = choose.choice(places(data))
    holder[key] = choose.choice((data, [data], {"resource": data}))
    return data


def self_extension(choose: Random, data: Any) -> Any:
    extension: Json = {"url": "https://example.org/a"}
    extension["extension"] = [extension]
    return {"resourceType": "Patient", "extension": [extension]}


def self_list(choose: Random, data: Any) -> Any:
    rows: list[Any] = []
    rows.append(rows)
    return {"resourceType": "Patient", "name": rows}


def self_bundle(choose: Random, data: Any) -> Any:
    bundle: Json = {"resourceType": "Bundle", "type": "collection"}
    bundle["entry"] = [{"fullUrl": "urn:uuid:c757873d-ec9a-4326-a141-556f43239520", "resource": bundle}]
    return bundle


def deep_items(choose: Random, data: Any) -> Any:
    return {
        "resourceType": "Questionnaire",
        "status": "draft",
        "item": [nested(lambda v: {"linkId": "a", "type": "group", "item": [v]})],
    }


def deep_bundles(choose: Random, data: Any) -> Any:
    return nested(lambda v: {"resourceType": "Bundle", "type": "collection", "entry": [{"resource": v}]}, 20_000)


HOSTILE: dict[str, Change] = {
    "deep lists": within(("Patient", "name"), lambda: nested(lambda v: [v])),
    "deep objects": within(("Patient", "name"), lambda: nested(lambda v: {"a": v})),
    "deep extensions": within(("Patient", "extension"), lambda: [nested(lambda v: {"url": "a", "extension": [v]})]),
    "deep items": deep_items,
    "deep contained": within(
        ("Patient", "contained"), lambda: [nested(lambda v: {"resourceType": "Patient", "contained": [v]})]
    ),
    "deep bundles": deep_bundles,
    "deep siblings": within(("Patient", "_birthDate"), lambda: nested(lambda v: {"extension": [{"_valueString": v}]})),
    "deep unknown": within(("Patient", "own"), lambda: nested(lambda v: {"a": [v]})),
    "a million objects": within(("Patient", "name"), lambda: [{"family": "a"}] * HUGE),
    "a million empty objects": within(("Patient", "name"), lambda: [{}] * HUGE),
    "a million texts": within(("Patient", "name", "given"), lambda: ["a"] * HUGE),
    "a million given names": lambda choose, data: {"resourceType": "Patient", "name": [{"given": ["a"] * HUGE}]},
    "a million null": lambda choose, data: {
        "resourceType": "Patient",
        "name": [{"given": [None] * HUGE, "_given": [None] * HUGE}],
    },
    "a million siblings": lambda choose, data: {"resourceType": "Patient", "name": [{"_given": [{"id": "a"}] * HUGE}]},
    "a million entries": lambda choose, data: {
        "resourceType": "Bundle",
        "type": "collection",
        "entry": [{"fullUrl": "a"}] * HUGE,
    },
    "a million unknown": lambda choose, data: {"resourceType": "Patient", **{f"a{n}": 1 for n in range(HUGE)}},
    "a million in an unknown list": within(("Patient", "own"), lambda: [1] * HUGE),
    "a million references": lambda choose, data: {
        "resourceType": "List",
        "status": "current",
        "mode": "working",
        "entry": [{"item": {"reference": "#a"}}] * HUGE,
    },
    "many contained": lambda choose, data: {
        "resourceType": "Patient",
        "contained": [{"resourceType": "Basic", "id": f"a{n}", "code": {"text": "a"}} for n in range(20_000)],
    },
    "many lists of many": lambda choose, data: {
        "resourceType": "Patient",
        "name": [{"given": ["a"] * 1000, "prefix": [1] * 1000}] * 300,
    },
    "many entries": lambda choose, data: {
        "resourceType": "Bundle",
        "type": "document",
        "entry": [
            {
                "fullUrl": f"https://example.org/fhir/Patient/a{n}",
                "resource": {
                    "resourceType": "Patient",
                    "id": f"a{n}",
                    "link": [{"other": {"reference": f"Patient/a{n + 1}"}, "type": "seealso"}],
                },
            }
            for n in range(10_000)
        ],
    },
    "a text of megabytes": within(("Patient", "birthDate"), lambda: "a" * 20_000_000),
    "blanks of megabytes": within(("Patient", "id"), lambda: " " * 20_000_000),
    "a code of megabytes": within(("Patient", "gender"), lambda: "a " * 5_000_000),
    "a narrative of megabytes": within(
        ("Patient", "text", "div"),
        lambda: '<div xmlns="http://www.w3.org/1999/xhtml">' + "<p>a</p>" * 500_000 + "</div>",
    ),
    "a deep narrative": within(
        ("Patient", "text", "div"),
        lambda: '<div xmlns="http://www.w3.org/1999/xhtml">' + "<b>" * DEEP + "a" + "</b>" * DEEP + "</div>",
    ),
    "entities in entities": within(
        ("Patient", "text", "div"),
        lambda: (
            "<!DOCTYPE div [<!ENTITY a 'aaaaaaaaaa'>"
            + "".join(f"<!ENTITY a{n} '{f'&a{n - 1};' * 10}'>" for n in range(1, 10))
            + "]><div>&a9;</div>"
        ),
    ),
    "a base64 of megabytes": within(("Binary", "data"), lambda: "YWJj" * 5_000_000),
    "a bad base64 of megabytes": within(("Binary", "data"), lambda: "YWJj" * 5_000_000 + "$"),
    "a key of megabytes": lambda choose, data: {"resourceType": "Patient", "a" * 20_000_000: 1},
    "a number of megabytes": within(("Observation", "valueInteger"), lambda: 10**100_000),
    "a long decimal": within(("Observation", "valueQuantity", "value"), lambda: Decimal("1." + "3" * 100_000)),
    "an exponent of millions": within(("Observation", "valueQuantity", "value"), lambda: Decimal("1E+999999999")),
    "a unit of megabytes": lambda choose, data: {
        "resourceType": "Observation",
        "status": "final",
        "code": {"text": "a"},
        "valueQuantity": {"value": 1, "system": "http://unitsofmeasure.org", "code": "m.(" * 300_000},
    },
    "a deep unit": lambda choose, data: {
        "resourceType": "Observation",
        "status": "final",
        "code": {"text": "a"},
        "valueQuantity": {"value": 1, "system": "http://unitsofmeasure.org", "code": "(" * DEEP + "m" + ")" * DEEP},
    },
    "an address of megabytes": within(("Patient", "implicitRules"), lambda: "http://" + "a/" * 5_000_000),
    "an OID of megabytes": within(("Patient", "implicitRules"), lambda: "urn:oid:1" + ".1" * 5_000_000),
    "a reference of megabytes": lambda choose, data: {
        "resourceType": "Patient",
        "managingOrganization": {"reference": "Organization/" * 1_000_000},
    },
    "a language of megabytes": within(("Patient", "language"), lambda: "a-" * 1_000_000),
    "a type of media of megabytes": within(("Binary", "contentType"), lambda: "a/a;" * 1_000_000 + "a"),
    "a date of digits": within(("Patient", "birthDate"), lambda: "1" * 5_000_000),
    "cyclic": cyclic,
    "an extension in itself": self_extension,
    "a list in itself": self_list,
    "a bundle in itself": self_bundle,
    "no object": lambda choose, data: choose.choice(ODD),
    "bytes: deep lists": lambda choose, data: b'{"resourceType":"Patient","name":' + b"[" * DEEP + b"]" * DEEP + b"}",
    "bytes: deep objects": lambda choose, data: b'{"a":' * DEEP + b"1" + b"}" * DEEP,
    "bytes: not closed": lambda choose, data: b"[" * 5_000_000,
    "bytes: a million objects": lambda choose, data: (
        b'{"resourceType":"Patient","name":[' + b",".join([b'{"family":"a"}'] * HUGE) + b"]}"
    ),
    "bytes: a million keys": lambda choose, data: (
        b'{"resourceType":"Patient",' + b",".join(b'"a%d":1' % n for n in range(HUGE)) + b"}"
    ),
    "bytes: one key a million times": lambda choose, data: (
        b'{"resourceType":"Patient",' + b",".join([b'"a":1'] * HUGE) + b"}"
    ),
    "bytes: a million lines": lambda choose, data: b'{"resourceType":"Patient"}\n' * HUGE,
    "bytes: a number of megabytes": lambda choose, data: b'{"resourceType":"Patient","a":' + b"9" * 5_000_000 + b"}",
}
REFUSED = frozenset(
    name
    for name in HOSTILE
    if name.split(": ")[-1].startswith(
        (
            "deep",
            "a million",
            "a deep",
            "an extension in",
            "a list in",
            "a bundle in",
            "one key",
            "not closed",
            "entities",
        )
    )
)
"""Hostile kinds of which at least one issue must be told."""
