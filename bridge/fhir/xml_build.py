"""Builds the data of a resource while a parser walks through its XML, and tells what departs from R4's form of it.

Source: https://hl7.org/fhir/R4/xml.html and the published schema. What is wrong with the content (an unknown element,
a missing one, a text where a number must stand) is left in the data for the checks, which look at JSON too.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from bridge.fhir import tables
from bridge.fhir.read_json import MAX_DEPTH
from bridge.fhir.tables import Element
from bridge.fhir.xml_div import SEPARATOR, Division
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
from bridge.fhir.xml_text import Places
from bridge.fhir.xml_values import TooLongError, value_of
from bridge.issues import Issue, Where, issue

FHIR = "http://hl7.org/fhir"
_XSI = "http://www.w3.org/2001/XMLSchema-instance"
MAX_ISSUES = 1_000
"""Faults after which no more are told."""


class RefusedError(Exception):
    """The file is not read any further; carries the issue that says why."""

    def __init__(self, issue: Issue) -> None:
        super().__init__(issue.rule)
        self.issue = issue


class Builder:
    """Handlers for a parser of expat; the data is in `data` when it has finished."""

    def __init__(self, parser: Any, content: bytes, file: str, wanted: set[str] | None = None) -> None:
        """`wanted`: paths whose places are to be noted."""
        self.parser, self.content, self.file, self.wanted = parser, content, file, wanted
        self.data: Any = None
        self.issues: list[Issue] = []
        self.found: dict[str, int] = {}
        """Where the elements of the wanted paths begin, in bytes."""
        self.lines = Places(content)
        self.space = FHIR
        """The namespace that the outermost element has, right or not."""
        self.spaces: list[tuple[str, str]] = []
        self.stack: list[Frame] = []
        parser.namespace_prefixes = True
        parser.StartElementHandler, parser.EndElementHandler = self.start, self.end
        parser.CharacterDataHandler, parser.ProcessingInstructionHandler = self.words, self.instruction
        parser.XmlDeclHandler, parser.StartDoctypeDeclHandler = self.declaration, self.doctype
        parser.StartNamespaceDeclHandler = lambda prefix, space: self.spaces.append((prefix or "", space or ""))
        parser.EndNamespaceDeclHandler = lambda prefix: self.spaces.pop()

    def where(self, at: int, path: str = "") -> Where:
        row, column = self.lines.at(at)
        return Where(file=self.file, row=row, column=column, path=path)

    def say(self, rule: str, message: str, path: str, at: int | None = None) -> None:
        if len(self.issues) < MAX_ISSUES:
            where = self.where(self.parser.CurrentByteIndex if at is None else at, path)
            self.issues.append(issue(rule, message, where))
        elif len(self.issues) == MAX_ISSUES:
            message = f"More than {MAX_ISSUES:,} faults of writing; the rest is not told."
            self.issues.append(issue("S117", message, Where(file=self.file)))

    def refuse(self, rule: str, message: str) -> RefusedError:
        return RefusedError(issue(rule, message, self.where(self.parser.CurrentByteIndex)))

    def declaration(self, version: str, encoding: str | None, standalone: int) -> None:
        if encoding is not None and encoding.upper() != "UTF-8":
            raise self.refuse("S120", "The file says that it is written in another encoding than UTF-8.")
        if version != "1.0":
            raise self.refuse("S140", "The file says that it is another edition of XML than 1.0.")

    def doctype(self, *told: Any) -> None:
        at = self.content.rfind(b"<!DOCTYPE", 0, self.parser.CurrentByteIndex)
        raise RefusedError(issue("S141", "The file has a document type declaration (DOCTYPE).", self.where(at)))

    def instruction(self, target: str, data: str) -> None:
        path = self.stack[-1].path if self.stack else ""
        self.say("S151", f"“{target[:60]}” is an instruction to a program that reads the file.", path)

    def words(self, text: str) -> None:
        frame = self.stack[-1]
        if not text.isspace() and frame.kind != PASSED and not frame.worded:
            frame.worded = True
            self.say("S148", "There is text here between elements.", frame.path)

    def start(self, name: str, attributes: Mapping[str, str]) -> None:
        if len(self.stack) >= MAX_DEPTH:
            raise self.refuse("S125", f"Elements are nested more than {MAX_DEPTH} deep.")
        space, _, rest = name.rpartition(SEPARATOR) if name.count(SEPARATOR) < 2 else name.partition(SEPARATOR)
        local = rest.partition(SEPARATOR)[0]
        if not self.stack:
            self._outermost(space, local, attributes)
            return
        around = self.stack[-1]
        if around.kind == PASSED:
            self.stack.append(around)
        elif around.kind == HOLDER:
            self._held(around, space, local, attributes)
        else:
            self._element(around, name, space, local, attributes)

    def _pass(self, path: str) -> None:
        self.stack.append(Frame(PASSED, "", {}, path, self.parser.CurrentByteIndex))

    def _note(self, path: str, at: int) -> None:
        if self.wanted is not None and path in self.wanted:
            self.found.setdefault(path, at)

    def _outermost(self, space: str, local: str, attributes: Mapping[str, str]) -> None:
        self.data = {"resourceType": local}
        if tables.is_resource(local):
            self.space = space
            if space != FHIR:
                self.say("S144", f"“{local}” does not stand in the namespace {FHIR}.", local)
            self._resource(local, self.data, local, attributes)
        elif space == FHIR:
            self._pass("Resource")
        else:
            raise self.refuse("S143", f"“{local[:60]}” is the outermost element, which is no resource of FHIR.")

    def _resource(self, type: str, value: dict[str, Any], path: str, attributes: Mapping[str, str]) -> None:
        frame = Frame(OBJECT, type, value, path, self.parser.CurrentByteIndex)
        self._note(path, frame.at)
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

    def _element(self, around: Frame, name: str, space: str, local: str, attributes: Mapping[str, str]) -> None:
        at = self.parser.CurrentByteIndex
        found = tables.elements(around.type).get(local)
        path = f"{around.path}.{local[:60]}"
        if found is None:
            self._note(path, at)
            if self._in_space(space, local, path):
                self._unknown(around, local, attributes, path)
            self._pass(path)
            return
        number = count(around.value, found)
        if found.many or number:
            self._note(path, at)
            path = f"{path}[{number}]"
        self._note(path, at)
        self._in_order(around, found, path)
        if found.attribute:
            self.say("S146", f"{local} must be an attribute here, not an element.", path)
        if found.type == "xhtml":
            self._division(around, found, name, attributes)
            return
        self._in_space(space, local, path)
        if found.type == tables.RESOURCE:
            frame = Frame(HOLDER, "", {}, path, at)
            for key in attributes:
                self._stray(key, "", path)
        elif found.primitive:
            frame = Frame(SIMPLE, "Element", {}, f"{around.path}._{path[len(around.path) + 1 :]}", at)
            self._note(frame.path, at)
            self._simple(frame, found, path, attributes)
        else:
            frame = Frame(OBJECT, found.type, {}, path, at)
            attach(around.value, found, frame.value)
            self._attributes(frame.value, found.type, path, attributes)
        frame.owner, frame.found = around.value, found
        self.stack.append(frame)

    def _unknown(self, around: Frame, local: str, attributes: Mapping[str, str], path: str) -> None:
        """Stays in the data, so that the checks tell of it as they do in JSON, where JSON has no other use for it."""
        if local[0] == "_" or local == "resourceType":
            self.say("S102", f"{around.type} has no element “{local[:60]}”.", path)
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
        space, _, local = name.rpartition(SEPARATOR) if name.count(SEPARATOR) < 2 else name.partition(SEPARATOR)
        local = local.partition(SEPARATOR)[0]
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

    def _division(self, around: Frame, found: Element, name: str, attributes: Mapping[str, str]) -> None:
        division = Division(self.parser, self.content, self.spaces, lambda text: attach(around.value, found, text))
        division.note(name, attributes)

    def end(self, name: str) -> None:
        frame = self.stack.pop()
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
            self.say("S149", "This element is empty: it has neither a value nor anything in it.", path, frame.at)
