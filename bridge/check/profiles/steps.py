"""Paths of discriminators: what they lead to in the data, and in a profile.

The restricted FHIRPath of https://hl7.org/fhir/R4/profiling.html#discriminator: names, `$this`, `extension('url')`,
`resolve()` and `ofType(type)`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import cache
from typing import NamedTuple

from bridge.check.profiles.context import Context, entered, target
from bridge.check.profiles.part import Item, Part, items, places
from bridge.fhir import tables

_STEP = re.compile(
    r"(?P<this>\$this)|extension\(\s*['\"](?P<extension>[^'\"]+)['\"]\s*\)|(?P<resolve>resolve\(\s*\))"
    r"|ofType\(\s*(?:FHIR\.)?(?P<type>\w+)\s*\)|\(?(?P<name>[A-Za-z]\w*)(?:\[x\])?(?: as (?P<as>\w+)\))?"
)
Met = tuple[Item, Context]
Roots = Callable[[Iterable[str]], list[Part]]
"""The outermost parts of profiles, by their addresses; of those that are at hand."""


class Step(NamedTuple):
    """One step of a path: `this`, `name`, `extension`, `resolve` or `type`, and the word that goes with it."""

    kind: str
    word: str


@cache
def steps(path: str) -> tuple[Step, ...] | None:
    """The steps of a path; None where it is none that a discriminator may have."""
    found: list[Step] = []
    at = 0
    while at < len(path):
        step = _STEP.match(path, at)
        if step is None:
            return None
        if step["name"]:
            found.append(Step("name", step["name"]))
            if step["as"]:
                found.append(Step("type", step["as"]))
        elif step["extension"]:
            found.append(Step("extension", step["extension"]))
        elif step["type"]:
            found.append(Step("type", step["type"]))
        elif step["resolve"]:
            found.append(Step("resolve", ""))
        at = step.end()
        if at < len(path):
            if path[at] != ".":
                return None
            at += 1
            if at == len(path):
                return None
    return tuple(found)


def follow(met: list[Met], way: Iterable[Step]) -> list[Met]:
    """What the steps lead to in the data."""
    for kind, word in way:
        met = [one for item, context in met for one in _next(item, context, kind, word)]
    return met


def _next(item: Item, context: Context, kind: str, word: str) -> Iterable[Met]:
    value, type, path, beside = item
    if kind == "type":
        return [(item, context)] if word in tables.lineage(type) else []
    if kind == "resolve":
        found = target(value, context)
        if found.resource is None:
            return []
        return [((found.resource, found.type, found.path, None), found.context)]
    owner = value if isinstance(value, dict) else beside
    if not isinstance(owner, dict):
        return []
    name = "extension" if kind == "extension" else word
    kept = places(type, name) or places(type, f"{name}[x]")
    inner = items(owner, kept, path)
    if kind == "extension":
        inner = [one for one in inner if isinstance(one[0], dict) and one[0].get("url") == word]
    if any(place[1] == tables.RESOURCE for place in kept):
        return [(one, _inside(one, context, word == "contained")) for one in inner]
    return [(one, context) for one in inner]


def _inside(item: Item, context: Context, contained: bool) -> Context:
    return entered(item[0], item[2], context, contained) if isinstance(item[0], dict) else context


def defined(parts: list[Part], way: Iterable[Step], roots: Roots) -> list[Part]:
    """The elements of profiles that say what is asked of what the steps lead to."""
    for kind, word in way:
        parts = [found for part in parts for found in _defined(part, kind, word, roots)]
    return parts


def _defined(part: Part, kind: str, word: str, roots: Roots) -> list[Part]:
    if kind == "type":
        sliced = [s for s in part.slices if word in s.declared]
        return [part, *sliced]
    if kind == "resolve":
        return roots(url for facts in part.declared.values() for url in facts.get("targets", ()))
    within = [part, *roots(url for facts in part.declared.values() for url in facts.get("profiles", ()))]
    name = "extension" if kind == "extension" else word
    found = [inner for one in within if (inner := one.part(name)) is not None]
    if kind == "name":
        return found + [s for one in found for s in one.slices if s.min or len(one.slices) == 1]
    sliced = [s for one in found for s in one.slices if word in urls_of(s, roots)]
    return sliced or roots([word])


def urls_of(slice: Part, roots: Roots) -> list[str]:
    """The address that the extensions of a slice have: as the slice fixes it, or as its profile is called."""
    for one in (slice, *roots(profiles_of(slice))):
        url = one.part("url")
        if url is not None and url.fixed is not None:
            return [url.fixed[1]]
    return [url.partition("|")[0] for url in profiles_of(slice)]


def profiles_of(part: Part) -> list[str]:
    return [url for facts in part.declared.values() for url in facts.get("profiles", ())]
