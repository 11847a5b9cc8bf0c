"""Codes by themselves: whether their systems have them and still use them. Looked up where a server is named, or where
the systems came with the definitions that a person added.

Source: https://hl7.org/fhir/R4/codesystem-operation-lookup.html, datatypes.html#Coding.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from bridge.check.look import text
from bridge.check.objects import objects
from bridge.fhir.systems import OWN
from bridge.issues import Issue, Where, issue
from bridge.terminology.answers import named
from bridge.terminology.members import Terminology
from bridge.terminology.tell import remarks

CODED = frozenset({"Coding", "Quantity", "Age", "Count", "Distance", "Duration", "SimpleQuantity"})
MAX_CODES = 2_000
"""Different codes of one document that are looked up."""


def check_codes(data: Any, terminology: Terminology, added: Callable[[str], bool]) -> Iterator[Issue]:
    """Issues of every code with a system, each told where it stands first. Our own codes nobody else can know.

    `added`: whether a system came with definitions that were added; these are known as they are meant.
    """
    seen: set[tuple[str, str]] = set()
    for node in objects(data):
        system, code = text(node.value, "system"), text(node.value, "code")
        if node.type not in CODED or not system or not code or system == OWN or (system, code) in seen:
            continue
        if len(seen) >= MAX_CODES:
            told = f"There are more than {MAX_CODES:,} different codes here; the rest was not looked up."
            yield issue("T208", told, Where(path=node.path), cause="T208")
            return
        version = text(node.value, "version")
        own = added(f"{system}|{version}" if version else system)
        if terminology.server is None and not own:
            continue
        seen.add((system, code))
        answer = terminology.known(system, code, text(node.value, "display") or None)
        where = Where(path=node.path)
        if answer.verdict == "out":
            told = f"{named(system)} has no code {named(code)}."
            rule = "P123" if own else "T207"
            yield issue(rule, told, where, cause=f"{rule}:{system}:{code}")
        else:
            yield from remarks(answer, system, code, where)
