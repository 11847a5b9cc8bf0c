"""Builds the data of a resource while a parser walks through its XML, and tells what departs from R4's form of it.

Source: https://hl7.org/fhir/R4/xml.html and the published schema. What is wrong with the content (an unknown element,
a missing one, a text where a number must stand) is left in the data for the checks, which look at JSON too.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from bridge.fhir import tables
from bridge.fhir.read_json import MAX_DEPTH
from bridge.fhir.tables import Element
from bridge.fhir.xml_div import MAX_LEVELS, Divisions
from bridge.fhir.xml_frames import (
    HOLDER,
    OBJECT,
    PASSED,
    SIMPLE,
    Frame,
    attach,
    attach_simple,
    close_lists,
    count,
    detach,
    order,
)
from bridge.fhir.xml_marks import Mark
from bridge.fhir.xml_parse import split
from bridge.fhir.xml_values import TooLongError, value_of
from bridge.safe_text import like_code
from bridge.shapes import Json

FHIR = "http://hl7.org/fhir"
_XSI = "http://www.w3.org/2001/XMLSchema-instance"
MAX_FOUND = 1_000
"""Faults after which no more are told."""


class Found(NamedTuple):
    """A fault, told when its place is known."""

    rule: str
    message: str
    path: str
    mark: Mark


class RefusedError(Exception):
    """The file is not read any further; the builder has noted why."""


class Builder:
    """The target of a parser of `xml_parse`; the data is in `resource` when it has finished."""

    def __init__(self, content: bytes, wanted: set[str] | None = None) -> None:
        """`wanted`: paths whose marks are to be noted."""
        self.wanted = wanted or set()
        self.resource: Any = None
        self.all_found: list[Found] = []
        """One more than are told, where there are too many."""
        self.refused: Found | None = None
        self.noted: dict[str, Mark] = {}
        self.space = FHIR
        """The namespace that the outermost element has, right or not."""
        self.stack: list[Frame] = []
        self.scopes: list[tuple[int, Mapping[str, str]]] = [(-1, {})]
        """Namespaces declared around, each with the number of elements that stood open."""
        self.starts = self.instructions = self.divs = 0
        self.inside = 0
        """How many elements of a narrative are open."""
        self.division: tuple[Json, Element, int] | None = None
        """Where the narrative goes, and which of the divs in the file it is."""
        self.cutter = Divisions(content)

    def say(self, rule: str, message: str, path: str, mark: Mark | None = None) -> None:
        if len(self.all_found) <= MAX_FOUND:
            self.all_found.append(Found(rule, message, path, mark or ("start", self.starts)))

    def refuse(self, rule: str, message: str, mark: Mark | None = None) -> RefusedError:
        self.refused = Found(rule, message, "", mark or ("start", self.starts))
        return RefusedError(rule)

    def doctype(self, *told: str | None) -> None:
        raise self.refuse("S141", "The file has a document type declaration (DOCTYPE).", ("doctype", 1))

    def pi(self, target: str, text: str | None = None) -> None:
        self.instructions += 1
        path = self.stack[-1].path if self.stack else ""
        message = f"“{target[:60]}” is an instruction to a program that reads the file."
        self.say("S151", message, path, ("pi", self.instructions))

    def comment(self, text: str) -> None:
        """Carries nothing."""

    def close(self) -> None:
        """Nothing is left to do."""

    def data(self, text: str) -> None:
        if self.inside or not self.stack or not text.strip(" \t\r\n"):
            return
        frame = self.stack[-1]
        if frame.kind != PASSED and not frame.worded:
            frame.worded = True
            tags = 2 * self.starts - len(self.stack)
            self.say("S148", "There is text here between elements.", frame.path, ("text", tags))

    def start(self, tag: str, attributes: Mapping[str, str], spaces: Mapping[str, str]) -> None:
        self.starts += 1
        space, local = split(tag)
        if local == "div":
            self.divs += 1
        if self.inside:
            self.inside += 1
            if self.inside > MAX_LEVELS:
                raise self.refuse("S125", f"Elements are nested more than {MAX_LEVELS:,} deep in a narrative.")
            return
        if len(self.stack) >= MAX_DEPTH:
            raise self.refuse("S125", f"Elements are nested more than {MAX_DEPTH} deep.")
        if spaces:
            self.scopes.append((len(self.stack), spaces))
        if not self.stack:
            self._outermost(space, local, attributes)
            return
        around = self.stack[-1]
        if around.kind == PASSED:
            self.stack.append(around)
        elif around.kind == HOLDER:
            self._held(around, space, local, attributes)
        else:
            self._element(around, space, local, attributes)

    def _pass(self, path: str) -> None:
        self.stack.append(Frame(PASSED, "", {}, path, self.starts))

    def _note(self, path: str) -> None:
        if path in self.wanted:
            self.noted.setdefault(path, ("start", self.starts))

    def _outermost(self, space: str, local: str, attributes: Mapping[str, str]) -> None:
        self.resource = {"resourceType": local}
        if tables.is_resource(local):
            self.space = space
            if space != FHIR:
                self.say("S144", f"“{local}” does not stand in the namespace {FHIR}.", local)
            self._resource(local, self.resource, local, attributes)
        elif space == FHIR:
            self._pass("Resource")
        else:
            raise self.refuse("S143", f"“{local[:60]}” is the outermost element, which is no resource of FHIR.")

    def _resource(self, type: str, value: dict[str, Any], path: str, attributes: Mapping[str, str]) -> None:
        frame = Frame(OBJECT, type, value, path, self.starts)
        self._note(path)
        self.stack.append(frame)
        for name in attributes:
            self._stray(name, type, path)

    def _held(self, holder: Frame, space: str, local: str, attributes: Mapping[str, str]) -> None:
        """The resource in `contained` or `Bundle.entry.resource`."""
        self._in_space(space, local, holder.path)
        assert holder.found
        assert holder.owner is not None
        if holder.given:
            self.say("S150", "Only one resource may stand in this element.", holder.path)
            self._pass(holder.path)
            return
        holder.given = True
        value = {"resourceType": local}
        attach(holder.owner, holder.found, value)
        if tables.is_resource(local):
            self._resource(local, value, holder.path, attributes)
        else:
            self._pass(holder.path)

    def _in_space(self, space: str, local: str, path: str) -> bool:
        if space in (FHIR, self.space):
            return True
        self.say("S144", f"“{local[:60]}” does not stand in the namespace {FHIR}.", path)
        return False

    def _element(self, around: Frame, space: str, local: str, attributes: Mapping[str, str]) -> None:
        found = tables.elements(around.type).get(local)
        path = f"{around.path}.{local[:60]}"
        if found is None:
            self._note(path)
            if self._in_space(space, local, path):
                self._unknown(around, local, attributes, path)
            self._pass(path)
            return
        number = count(around.value, found)
        if found.many or number:
            self._note(path)
            path = f"{path}[{number}]"
        self._note(path)
        self._in_order(around, found, path)
        if found.attribute:
            self.say("S146", f"{local} must be an attribute here, not an element.", path)
        if found.type == "xhtml":
            self.inside, self.division = 1, (around.value, found, self.divs)
            return
        self._in_space(space, local, path)
        if found.type == tables.RESOURCE:
            frame = Frame(HOLDER, "", {}, path, self.starts)
            for key in attributes:
                self._stray(key, "", path)
        elif found.primitive:
            frame = Frame(SIMPLE, "Element", {}, f"{around.path}._{path[len(around.path) + 1 :]}", self.starts)
            self._note(frame.path)
            self._simple(frame, found, path, attributes)
        else:
            frame = Frame(OBJECT, found.type, {}, path, self.starts)
            attach(around.value, found, frame.value)
            self._attributes(frame.value, found.type, path, attributes)
        frame.owner, frame.found = around.value, found
        self.stack.append(frame)

    def _unknown(self, around: Frame, local: str, attributes: Mapping[str, str], path: str) -> None:
        """Stays in the data, so that the checks tell of it as they do in JSON, where JSON has no other use for it."""
        if local[0] == "_" or local == "resourceType":
            told = f"“{local}”" if like_code(local) else "of a name that stands here"
            self.say("S102", f"{around.type} has no element {told}.", path if like_code(local) else around.path)
        else:
            around.value.setdefault(local, attributes.get("value", {}))

    def _in_order(self, around: Frame, found: Element, path: str) -> None:
        places = order(around.type)
        if around.last and places[found.name] < places[around.last]:
            self.say("S147", f"{found.name} must stand before {around.last}.", path)
        around.last = found.name

    def _attributes(self, value: dict[str, Any], type: str, path: str, attributes: Mapping[str, str]) -> None:
        """`id` of any element, and `url` of an extension."""
        known = tables.elements(type)
        for name, text in attributes.items():
            if (found := known.get(name)) and found.attribute:
                value[name] = text
            else:
                self._stray(name, type, path)

    def _stray(self, name: str, type: str, path: str) -> None:
        space, local = split(name)
        if space == _XSI and local in ("schemaLocation", "noNamespaceSchemaLocation"):
            self.say("S152", "The file names a place from which to fetch a schema.", path)
        elif not space and type and local in tables.elements(type):
            self.say("S145", f"{local} must be an element here, not an attribute.", path)
        else:
            self.say("S145", f"There is no attribute “{local[:60]}” here.", path)

    def _simple(self, frame: Frame, found: Element, path: str, attributes: Mapping[str, str]) -> None:
        for name, text in attributes.items():
            if name == "value":
                try:
                    frame.given = value_of(found.type, text)
                except TooLongError:
                    frame.given = text
                    self.say("S127", "A number has more digits than can be meant.", path)
            elif name == "id":
                frame.value["id"] = text
            else:
                self._stray(name, "", path)

    def end(self, tag: str) -> None:
        if self.inside:
            self.inside -= 1
            if not self.inside:
                self._divided()
            return
        frame = self.stack.pop()
        if self.scopes[-1][0] == len(self.stack):
            self.scopes.pop()
        if frame.kind == PASSED:
            return
        close_lists(frame)
        if frame.found is None:
            return
        nothing = not frame.value
        if frame.kind == SIMPLE:
            nothing = nothing and frame.given is None
            if not nothing:
                attach_simple(frame, self.stack[-1])
        elif frame.kind == HOLDER:
            nothing = not frame.given
        elif nothing and frame.owner is not None:
            detach(frame.owner, frame.found)
        if nothing:
            head, _, tail = frame.path.rpartition("._") if frame.kind == SIMPLE else ("", "", "")
            path = f"{head}.{tail}" if head else frame.path
            self.say(
                "S149", "This element is empty: it has neither a value nor anything in it.", path, ("start", frame.at)
            )

    def _divided(self) -> None:
        """The narrative has ended."""
        assert self.division
        owner, found, number = self.division
        around = {prefix: space for _, spaces in self.scopes for prefix, space in spaces.items()}
        attach(owner, found, self.cutter.cut(number, around))
        if self.scopes[-1][0] == len(self.stack):
            self.scopes.pop()
