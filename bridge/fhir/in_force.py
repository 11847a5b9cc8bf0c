"""Whether a resource is in force: its state by mappings/in-force.csv, and modifiers that nobody here can read.

Source: https://hl7.org/fhir/R4/conformance-rules.html#isModifier and extensibility.html#modifierExtension: who does
not understand such an element must not use the data as if it were not there.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from typing import Any, NamedTuple

from bridge.data import load_csv, table_path
from bridge.shapes import Json
from bridge.wording import say

_HL7 = "http://terminology.hl7.org/CodeSystem/"
_VERIFIED = ("Condition", "AllergyIntolerance")
_MODIFIERS = ("modifierExtension", "implicitRules")
_MODIFYING = frozenset(_MODIFIERS) | {f"_{name}" for name in _MODIFIERS}


class State(NamedTuple):
    """One row of the table: how a fact in this state is told, and whether visit-bridge writes it."""

    ours: bool
    how: str
    says: str
    """Key of the words, in the catalogue."""


@cache
def _table() -> dict[tuple[str, str], State]:
    rows = load_csv(table_path("in-force.csv"))
    return {(r["type"], r["status"]): State(r["ours"] == "yes", r["how"], r["says"]) for r in rows}


@cache
def _types() -> frozenset[str]:
    return frozenset(type for type, _ in _table())


def statuses(resource: Json) -> list[str]:
    """Every state that a resource says it is in; one that it should tell and does not is an empty text."""
    type = _text(resource, "resourceType")
    if type in _VERIFIED:
        concept = resource.get("verificationStatus")
        codings = concept.get("coding") if isinstance(concept, dict) else None
        found = [
            _text(c, "code")
            for c in (codings if isinstance(codings, list) else ())
            if isinstance(c, dict) and _text(c, "system").startswith(_HL7)
        ] or [""]
    else:
        status = resource.get("status")
        found = [status if isinstance(status, str) else ""] if "status" in resource or type in _types() else []
    found += ["not-to-be-done"] if resource.get("doNotPerform") is True else []
    return found + (["out-of-use"] if resource.get("active") is False else [])


def states(resource: Json) -> list[State]:
    """The row for each state; one that the table does not have is marked with its own name."""
    type = _text(resource, "resourceType")
    found = []
    for status in statuses(resource):
        row = _table().get((type, status)) or _table().get(("*", status))
        if row is None:
            row = State(False, "marked", "") if type in _types() else State(True, "told", "")
        found.append(row)
    return found


def label(resource: Json) -> str:
    """What must be said before anything of the resource is; empty where it is in force."""
    met = zip(statuses(resource), states(resource), strict=True)
    said = [_words(status, state) for status, state in met if state.how != "told"]
    said += [say("state.unreadable")] if modified(resource) else []
    return "; ".join(dict.fromkeys(said))


def _words(status: str, state: State) -> str:
    if state.says:
        return say(state.says)
    return say("state.unknown-to-us", state=status[:60]) if status else say("state.untold")


def withheld(resource: Json) -> bool:
    """Whether only the label may be told."""
    return any(s.how == "withheld" for s in states(resource))


def ours(resource: Json) -> bool:
    """Whether it is in a state that visit-bridge writes."""
    return all(s.ours for s in states(resource))


_unmodified: ContextVar[bool] = ContextVar("unmodified", default=False)


@contextmanager
def looked_through(document: Json) -> Iterator[None]:
    """Inside, whether anything modifies a resource of this document is asked of the whole of it, once."""
    token = _unmodified.set(not modified(document))
    try:
        yield
    finally:
        _unmodified.reset(token)


def modified(node: Any) -> bool:
    """Whether `modifiers` finds any, without where; it is asked of every resource more than once."""
    if _unmodified.get():
        return False
    waiting = [node]
    for value in waiting:
        if isinstance(value, dict):
            if not _MODIFYING.isdisjoint(value):
                return True
            waiting += [inner for inner in value.values() if isinstance(inner, dict | list)]
        elif isinstance(value, list):
            waiting += [inner for inner in value if isinstance(inner, dict | list)]
    return False


def modifiers(node: Any, path: str = "") -> Iterator[str]:
    """The place of every modifierExtension and implicitRules in the data; does not recurse."""
    waiting = [(path, node)]
    while waiting:
        place, value = waiting.pop()
        if isinstance(value, dict):
            for key, inner in value.items():
                at = f"{place}.{key}" if place else str(key)
                if key in _MODIFYING:
                    yield at
                else:
                    waiting.append((at, inner))
        elif isinstance(value, list):
            waiting += [(f"{place}[{number}]", inner) for number, inner in enumerate(value)]


def _text(node: Json, key: str) -> str:
    value = node.get(key)
    return value if isinstance(value, str) else ""
