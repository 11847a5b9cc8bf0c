"""Narratives that R4 forbids (class 13): seeds/narratives.yaml."""

from __future__ import annotations

from collections.abc import Iterator

from tests.oracles.seed_definitions import Json, plus, table
from tests.oracles.seed_fault import Fault

SPACE = 'xmlns="http://www.w3.org/1999/xhtml"'


def faults(data: Json) -> Iterator[Fault]:
    type = data["resourceType"]
    if type in ("Bundle", "Binary", "Parameters"):
        return

    def seeded(kind: str, text: object, *places: str) -> Fault:
        paths = frozenset(f"{type}.{place}" for place in places)
        return Fault(13, kind, f"{type}.text", paths, lambda: plus(text=text)(data))

    for kind, made in table("narratives").items():
        yield seeded(kind, {"status": "generated", "div": made}, "text.div", "text")
    right = f"<div {SPACE}>a</div>"
    yield seeded("a status that is none", {"status": "done", "div": right}, "text.status")
    yield seeded("no status", {"div": right}, "text")
    yield seeded("no div", {"status": "generated"}, "text")
    yield seeded("a div of data", {"status": "generated", "div": {"a": "b"}}, "text.div")
    yield seeded("an empty div", {"status": "generated", "div": ""}, "text.div")
    yield seeded("a list of divs", {"status": "generated", "div": [right]}, "text.div")
    yield seeded("a text for the narrative", right, "text")
    yield seeded(
        "something beside the div", {"status": "generated", "div": right, "_div": {"id": "a"}}, "text._div", "text"
    )
