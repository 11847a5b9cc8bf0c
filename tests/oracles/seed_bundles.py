"""Documents and transactions that break the rules on bundles (classes 11 and 12).

Source: bundle.html, documents.html, references.html and http.html of R4, and the bdl constraints.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tests.oracles.seed_definitions import DROP, Json, Keys, edited, plus, spots
from tests.oracles.seed_fault import Fault

NONE = "urn:uuid:00000000-0000-4000-8000-00000000dead"
WORD = {"text": "a"}
BASIC: Json = {"resourceType": "Basic", "code": WORD}


def faults(data: Json) -> Iterator[Fault]:
    kind = data.get("type")
    if data.get("resourceType") != "Bundle":
        return
    if kind == "document":
        yield from documents(data)
    if kind == "transaction":
        yield from transactions(data)


class Seeder:
    def __init__(self, number: int, data: Json) -> None:
        self.number = number
        self.data = data
        self.of = f"Bundle of {len(data['entry'])}"

    def __call__(self, kind: str, keys: Keys, new: Any, *places: str) -> Fault:
        return Fault(
            self.number,
            kind,
            self.of,
            frozenset(f"Bundle{place}" for place in places),
            lambda: edited(self.data, keys, new),
        )


def references(data: Json) -> Iterator[tuple[Keys, int, str]]:
    """Each reference that leads to an entry: its place, the number of its entry, and the types it may lead to."""
    urls = {entry.get("fullUrl") for entry in data["entry"]}
    for number, entry in enumerate(data["entry"]):
        resource = entry.get("resource", {})
        if resource.get("resourceType") in (None, "Bundle"):
            continue
        for spot in spots(resource, resource["resourceType"]):
            if spot.type == "Reference":
                values = spot.value if isinstance(spot.value, list) else [spot.value]
                for index, value in enumerate(values):
                    keys = (*spot.keys, index) if isinstance(spot.value, list) else spot.keys
                    if isinstance(value, dict) and value.get("reference") in urls and "contained" not in keys:
                        yield ("entry", number, "resource", *keys), number, ",".join(sorted(spot.fact.targets))


def spelt(keys: Keys) -> str:
    return "".join(f"[{k}]" if isinstance(k, int) else f".{k}" for k in keys)


def documents(data: Json) -> Iterator[Fault]:
    seeded = Seeder(11, data)
    entries = data["entry"]
    last = len(entries) - 1
    yield seeded(
        "the Composition is not first", ("entry",), [*entries[1:], entries[0]], "", ".entry[0]", ".entry[0].resource"
    )
    yield seeded("no Composition", ("entry",), entries[1:], "", ".entry[0]", ".entry[0].resource")
    yield seeded("no entries", ("entry",), DROP, "")
    yield seeded("no identifier", ("identifier",), DROP, "")
    yield seeded("an identifier without system", ("identifier",), {"value": "1"}, "", ".identifier")
    yield seeded(
        "an identifier without value", ("identifier",), {"system": "https://example.org/ids"}, "", ".identifier"
    )
    yield seeded("no time", ("timestamp",), DROP, "")
    yield seeded("a total", (), plus(total=len(entries)), "", ".total")
    for number, entry in ((0, entries[0]), (last, entries[last])):
        here = f".entry[{number}]"
        yield seeded(
            "a request in an entry",
            ("entry", number, "request"),
            {"method": "POST", "url": "Basic"},
            "",
            here,
            f"{here}.request",
        )
        yield seeded(
            "a response in an entry", ("entry", number, "response"), {"status": "201"}, "", here, f"{here}.response"
        )
        yield seeded("a search in an entry", ("entry", number, "search"), {"mode": "match"}, "", here, f"{here}.search")
        yield seeded("an entry without address", ("entry", number, "fullUrl"), DROP, here, f"{here}.fullUrl")
        yield seeded("an address that is not whole", ("entry", number, "fullUrl"), "Basic/1", here, f"{here}.fullUrl")
        yield seeded(
            "an address with a version",
            ("entry", number, "fullUrl"),
            "https://example.org/fhir/Basic/1/_history/1",
            here,
            f"{here}.fullUrl",
        )
        if "id" in entry["resource"]:
            yield seeded(
                "an address of another resource",
                ("entry", number, "fullUrl"),
                "https://example.org/fhir/Basic/other",
                here,
                f"{here}.fullUrl",
            )
        yield seeded("an address that is no UUID", ("entry", number, "fullUrl"), "urn:uuid:1", here, f"{here}.fullUrl")
        yield seeded("an entry of nothing but its address", ("entry", number, "resource"), DROP, "", here)
        yield seeded(
            "an entry with an unknown kind of resource",
            ("entry", number, "resource"),
            {"resourceType": "Visit"},
            f"{here}.resource",
        )
    twice = {**entries[last], "resource": {**BASIC, "id": "a"}}
    yield seeded(
        "one address for two entries",
        ("entry",),
        [*entries, twice],
        "",
        f".entry[{last + 1}]",
        f".entry[{last + 1}].fullUrl",
        f".entry[{last}].fullUrl",
    )
    stray = {"fullUrl": NONE, "resource": BASIC}
    yield seeded(
        "an entry that nothing leads to",
        ("entry",),
        [*entries, stray],
        f".entry[{last + 1}]",
        f".entry[{last + 1}].resource",
        f".entry[{last + 1}].fullUrl",
    )
    yield seeded(
        "a section that leads nowhere",
        ("entry", 0, "resource", "section"),
        [{"title": "a", "entry": [{"reference": NONE}]}],
        ".entry[0].resource.section[0].entry[0]",
        ".entry[0].resource.section[0].entry[0].reference",
    )
    yield seeded(
        "a section that leads to no resource of an entry",
        ("entry", 0, "resource", "section"),
        [{"title": "a", "entry": [{"reference": "Basic/none"}]}],
        ".entry[0].resource.section[0].entry[0]",
        ".entry[0].resource.section[0].entry[0].reference",
    )
    yield seeded(
        "a section of nothing", ("entry", 0, "resource", "section"), [{"title": "a"}], ".entry[0].resource.section[0]"
    )
    for keys, number, targets in references(data):
        place = spelt(keys)
        around = "the Composition" if number == 0 else "another resource"
        places = (place, f"{place}.reference")
        yield seeded(f"a UUID in {around} that leads nowhere", keys, {"reference": NONE}, *places)
        yield seeded(
            f"a type and id in {around} that lead nowhere",
            keys,
            {"reference": f"{targets.split(',')[0] or 'Patient'}/zz-none"},
            *places,
        )
        yield seeded(f"nothing contained in {around}", keys, {"reference": "#zz-none"}, *places)
        yield from misled(seeded, data, keys, targets, around)


def misled(seeded: Seeder, data: Json, keys: Keys, targets: str, around: str) -> Iterator[Fault]:
    """A reference to an entry of a kind that may not stand there."""
    if not targets or "Resource" in targets.split(","):
        return
    place = spelt(keys)
    for entry in data["entry"]:
        type = entry.get("resource", {}).get("resourceType", "")
        if entry.get("fullUrl") and type and type not in targets.split(","):
            yield seeded(
                f"{around} leads to an entry of another kind",
                keys,
                {"reference": entry["fullUrl"]},
                place,
                f"{place}.reference",
            )
            return


def transactions(data: Json) -> Iterator[Fault]:
    seeded = Seeder(12, data)
    entries = data["entry"]
    last = len(entries) - 1
    with_resource = [n for n, e in enumerate(entries) if "resource" in e and "request" in e]
    for number in (with_resource[0], with_resource[-1]):
        here = f".entry[{number}]"
        type = entries[number]["resource"]["resourceType"]
        asked = ("entry", number, "request")
        request = (here, f"{here}.request")
        method, url = f"{here}.request.method", f"{here}.request.url"
        yield seeded("no request", asked, DROP, "", here)
        yield seeded("no method", (*asked, "method"), DROP, *request)
        yield seeded("no url", (*asked, "url"), DROP, *request)
        yield seeded("a method that is none", (*asked, "method"), "FETCH", method)
        yield seeded("a method in small letters", (*asked, "method"), "post", method)
        yield seeded(
            "a POST without resource", ("entry", number), {"request": {"method": "POST", "url": type}}, *request
        )
        yield seeded(
            "a PUT without resource", ("entry", number), {"request": {"method": "PUT", "url": f"{type}/1"}}, *request
        )
        yield seeded(
            "a DELETE with a resource", asked, {"method": "DELETE", "url": f"{type}/1"}, *request, f"{here}.resource"
        )
        yield seeded(
            "a GET with a resource", asked, {"method": "GET", "url": f"{type}/1"}, *request, f"{here}.resource"
        )
        yield seeded("a POST to another type", asked, {"method": "POST", "url": "Slot"}, *request, url)
        yield seeded("a PUT to another type", asked, {"method": "PUT", "url": "Slot/1"}, *request, url)
        yield seeded("a PUT to a type alone", asked, {"method": "PUT", "url": type}, *request, url)
        yield seeded("a PUT to another id", asked, {"method": "PUT", "url": f"{type}/zz-other"}, *request, url)
        yield seeded("an unknown type in the url", asked, {"method": "PUT", "url": "Visit/1"}, *request, url)
        yield seeded(
            "a condition of creation with a question mark",
            asked,
            {"method": "POST", "url": type, "ifNoneExist": "?identifier=a"},
            *request,
            f"{here}.request.ifNoneExist",
        )
        yield seeded(
            "a condition of creation for a PUT",
            asked,
            {"method": "PUT", "url": f"{type}?identifier=a", "ifNoneExist": "identifier=a"},
            *request,
            f"{here}.request.ifNoneExist",
        )
        yield seeded(
            "a time that is none", (*asked, "ifModifiedSince"), "2026-01-01", f"{here}.request.ifModifiedSince"
        )
        yield seeded(
            "a response in an entry", ("entry", number, "response"), {"status": "201"}, "", here, f"{here}.response"
        )
        yield seeded("a search in an entry", ("entry", number, "search"), {"mode": "match"}, "", here, f"{here}.search")
        yield seeded("an address that is not whole", ("entry", number, "fullUrl"), "Basic/1", here, f"{here}.fullUrl")
        yield seeded(
            "an address with a version",
            ("entry", number, "fullUrl"),
            "https://example.org/fhir/Basic/1/_history/1",
            here,
            f"{here}.fullUrl",
        )
    yield seeded(
        "a DELETE without id",
        ("entry", last),
        {"request": {"method": "DELETE", "url": "Patient"}},
        f".entry[{last}].request",
        f".entry[{last}].request.url",
    )
    yield seeded("an empty entry", ("entry", last), {"id": "a"}, "", f".entry[{last}]")
    yield seeded("a total", (), plus(total=1), "", ".total")
    once = {"fullUrl": NONE, "resource": BASIC, "request": {"method": "POST", "url": "Basic"}}
    more = (f".entry[{last + 1}]", f".entry[{last + 2}]")
    yield seeded(
        "one address for two entries",
        ("entry",),
        [*entries, once, {**once, "resource": {**BASIC, "code": {"text": "b"}}}],
        "",
        *more,
        *(f"{m}.fullUrl" for m in more),
    )
    named = {
        "resource": {**BASIC, "id": "zz"},
        "request": {"method": "PUT", "url": "Basic/zz"},
        "fullUrl": "https://example.org/fhir/Basic/zz",
    }
    gone = {"request": {"method": "DELETE", "url": "Basic/zz"}}
    places = (
        *more,
        *(f"{m}.request" for m in more),
        *(f"{m}.request.url" for m in more),
        *(f"{m}.fullUrl" for m in more),
    )
    yield seeded("a resource changed and deleted at once", ("entry",), [*entries, named, gone], *places)
    again = {**named, "fullUrl": "https://example.org/other/Basic/zz"}
    yield seeded("a resource changed twice", ("entry",), [*entries, named, again], *places)
    for keys, _, targets in references(data):
        place = spelt(keys)
        yield seeded("a UUID that leads nowhere", keys, {"reference": NONE}, place, f"{place}.reference")
        yield seeded("nothing contained", keys, {"reference": "#zz-none"}, place, f"{place}.reference")
        yield from misled(seeded, data, keys, targets, "a resource")
