"""P: where extensions stand, and what is known of them.

Sources: https://hl7.org/fhir/R4/extensibility.html, defining-extensions.html#context and
valueset-extension-context-type.html. What an extension holds is looked at elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import cache
from typing import Any

from bridge.check.extension_places import Place, Places
from bridge.check.look import part, parts, text
from bridge.check.node import Node
from bridge.fhir import tables
from bridge.fhir.path import Env, invariant, selected
from bridge.issues import Issue, Where, issue
from bridge.shapes import Json

DefinitionOf = Callable[[str], Json | None]
OTHER_EDITIONS = tuple(f"http://hl7.org/fhir/{edition}/" for edition in ("1.0", "3.0", "4.0", "4.3", "5.0"))
"""Where elements of other editions are extensions (https://hl7.org/fhir/R4/versions.html#extensions)."""
ALSO = {
    "structuredefinition-fhir-type": {"ElementDefinition.type"},
    "regex": {"ElementDefinition.type"},
    "structuredefinition-normative-version": {"ElementDefinition", "DomainResource"},
    "translation": {"ValueSet.expansion.contains"},
    "valueset-concept-comments": {"CodeSystem.concept"},
}
"""Places that the standard's own published definitions use, though those of the extensions do not name them."""
MAX_CONTEXTS = 200
"""Contexts of one definition that are looked at."""


def check_extension_contexts(
    nodes: Iterable[Node], definition_of: DefinitionOf, left: list[int] | None = None
) -> Iterator[Issue]:
    """Issues of the places of all extensions among the nodes of a walk.

    `definition_of` gives the structure of an extension by its address: its `context`, `contextInvariant`, `elements`.
    `left`: how many items the expressions of all of them together may look at.
    """
    nodes = list(nodes)
    extensions = [node for node in nodes if node.type == "Extension"]
    if not extensions:
        return
    places = Places(nodes, left)
    told: set[str] = set()
    for node in extensions:
        url = text(node.value, "url")
        place = places.of(node)
        if not url or place is None:
            continue
        if ":" not in url:
            if place.type != "Extension":
                yield _told("P178", "The url of this extension is relative.", node)
            continue
        structure = definition_of(url)
        if not isinstance(structure, dict):
            yield from _unknown(url, place, node, told)
        elif text(structure, "type") != "Extension":
            yield _told("P179", f"{_short(url)} is the address of something else than an extension.", node)
        else:
            yield from _misplaced(url, structure, place, node, places)


def _told(rule: str, message: str, node: Node) -> Issue:
    return issue(rule, message, Where(path=node.path))


def _unknown(url: str, place: Place, node: Node, told: set[str]) -> Iterator[Issue]:
    """What is to be said of an extension that nobody here defines; of each address once, unless it modifies."""
    if url in told and not place.modifies:
        return
    told.add(url)
    if url.startswith(tables.EXTENSIONS):
        like = _spellings().get(url[len(tables.EXTENSIONS) :].partition("|")[0].lower())
        if like:
            yield _told("P177", f"The standard spells the address of this extension …/{like[:60]}.", node)
        else:
            yield _told("P176", "The standard's edition R4 defines no extension of this address.", node)
    elif place.modifies:
        yield _told("P175", "The meaning of this modifier extension is not known here.", node)
    elif not url.startswith(OTHER_EDITIONS):
        yield _told("P174", "The definition of this extension is not at hand.", node)


def _short(url: str) -> str:
    """The name at the end of an address, which says more than its beginning."""
    return url.rpartition("/")[2][:60]


@cache
def _spellings() -> dict[str, str]:
    return {name.lower(): name for name in tables.extensions()}


def _misplaced(url: str, structure: Json, place: Place, node: Node, places: Places) -> Iterator[Issue]:
    modifies = _is_modifier(structure)
    if modifies is not None and modifies is not place.modifies:
        told = "an extension that changes no meaning" if place.modifies else "a modifier extension"
        yield _told("P173", f"{_short(url)} is {told}; it stands in {place.holder}.", node)
    also = ALSO.get(url.removeprefix(tables.EXTENSIONS), set()) if url.startswith(tables.EXTENSIONS) else set()
    verdict = not also.isdisjoint(place.names) or _allowed(structure, place, node, places)
    if verdict is False:
        yield _told("P170", f"{_short(url)} may not stand on {place.named[:60]}.", node)
    elif verdict is None:
        yield _told("P172", f"Whether {_short(url)} may stand on {place.named[:60]} could not be decided.", node)
    rows = structure.get("contextInvariant")
    for expression in rows[:MAX_CONTEXTS] if isinstance(rows, list) else ():
        if not isinstance(expression, str):
            continue
        env = Env(place.resource, node.resource, places.resolve, node.value, places.left)
        holds = invariant(expression)(place.value, place.type, env)
        if holds is False:
            yield _told("P171", f"{_short(url)} asks of {place.named[:60]} what is not so here.", node)
        elif holds is None:
            yield _told("P172", f"What {_short(url)} asks of {place.named[:60]} could not be decided.", node)


def _is_modifier(structure: Json) -> bool | None:
    """Whether the definition is one of a modifier; None where that cannot be seen."""
    rows = parts(structure, "elements") or parts(part(structure, "snapshot"), "element")
    first = next((row for row in rows if row.get("path") == "Extension"), None)
    return None if first is None else first.get("isModifier") is True


def _allowed(structure: Json, place: Place, node: Node, places: Places) -> bool | None:
    """Whether the place is one of its contexts; None where one of them could not be looked at."""
    contexts = parts(structure, "context")[:MAX_CONTEXTS]
    if not contexts:
        return True
    answer: bool | None = False
    for context in contexts:
        says = _is_at(text(context, "type"), text(context, "expression"), place, node, places)
        if says:
            return True
        if says is None:
            answer = None
    return answer


def _is_at(type: str, expression: str, place: Place, node: Node, places: Places) -> bool | None:
    if type == "element":
        return expression in {"Element", "*"} or _spelt(expression) in place.names
    if type == "extension":
        return _in_extension(expression, place)
    if type == "fhirpath":
        return _met_by(expression, place, node, places)
    return None


@cache
def _spelt(expression: str) -> str:
    """The path that the id of an element names, without the profile before it and the slices in it."""
    steps = expression.rpartition("#")[2].split(".")
    return ".".join(step.partition(":")[0] for step in steps)


def _in_extension(expression: str, place: Place) -> bool:
    """`url` is an extension itself, `url#part` or `url#Extension.extension:part` one inside of it."""
    url, _, inner = expression.partition("#")
    if place.type != "Extension":
        return False
    own = text(place.value, "url")
    if not inner or inner == "Extension":
        return own.partition("|")[0] == url.partition("|")[0]
    return own == inner.rpartition(":")[2].rpartition(".")[2] and url in place.within


def _met_by(expression: str, place: Place, node: Node, places: Places) -> bool | None:
    env = Env(place.resource, node.resource, places.resolve, left=places.left)
    items: list[tuple[Any, str, Any]] | None = selected(expression)(place.resource, place.resource_type, env)
    if items is None:
        return None
    mine = place.beside if place.beside is not None else place.value
    return any(value is mine or beside is mine for value, _, beside in items)
