"""Where in a file the things stand that were numbered while it was read, and where and how it breaks off.

lxml tells no column, and no line beyond 65,535; expat tells the byte of everything. So it goes through a file once
more, and only where there is something to tell of it.
"""

from __future__ import annotations

from typing import Any
from xml.parsers import expat

Mark = tuple[str, int]
"""`start` and the number of a start tag, `pi` and that of an instruction, `text` and how many tags stand before it
(an empty element has two), `doctype` and 1. Numbers count from 1 (tags before a text from 0)."""

_ERRORS = expat.errors
_TOLD = {
    _ERRORS.XML_ERROR_NO_ELEMENTS: "it ends before the outermost element is closed",
    _ERRORS.XML_ERROR_INVALID_TOKEN: "a sign stands where it must not",
    _ERRORS.XML_ERROR_UNCLOSED_TOKEN: "a tag is not finished",
    _ERRORS.XML_ERROR_TAG_MISMATCH: "an element is closed by the end tag of another",
    _ERRORS.XML_ERROR_DUPLICATE_ATTRIBUTE: "an element has the same attribute twice",
    _ERRORS.XML_ERROR_JUNK_AFTER_DOC_ELEMENT: "something stands after the outermost element",
    _ERRORS.XML_ERROR_BAD_CHAR_REF: "a number stands for a sign that XML does not allow",
    _ERRORS.XML_ERROR_MISPLACED_XML_PI: "the XML declaration does not stand at the very start",
    _ERRORS.XML_ERROR_UNCLOSED_CDATA_SECTION: "a CDATA section is not closed",
    _ERRORS.XML_ERROR_UNBOUND_PREFIX: "a prefix is used that no namespace is declared for",
}
"""The faults that people make, in our words: those of a parser could quote the file."""
_SEPARATOR = "\f"
"""Stands between namespace and name, so expat refuses it in a namespace; no XML can hold this one anyway."""
ELSE = "it breaks a rule of XML here"


class _FoundError(Exception):
    """All marks are found."""


class Marks:
    """Bytes of the marks in `found`; of a file that breaks off, `fault` has row, column and why.

    Nothing is found behind a fault. `at` is the byte of it, and `unknown` says that it is the name of a sign that XML
    does not know.
    """

    def __init__(self, content: bytes, wanted: set[Mark], *, to_end: bool = False) -> None:
        """`to_end`: whether to go on to the fault when all marks are found."""
        self.found: dict[Mark, int] = {}
        self.fault: tuple[int, int, str] | None = None
        self.at, self.unknown = 0, False
        self._content, self._wanted, self._to_end = content, wanted, to_end
        self._starts = self._tags = self._instructions = 0
        self._parser = parser = expat.ParserCreate("UTF-8", _SEPARATOR)
        parser.StartElementHandler, parser.EndElementHandler = self._start, self._end
        parser.CharacterDataHandler, parser.ProcessingInstructionHandler = self._text, self._instruction
        parser.StartDoctypeDeclHandler = self._doctype
        if not wanted and not to_end:
            return
        try:
            parser.Parse(content, True)
        except _FoundError:
            return
        except expat.ExpatError as error:
            why = _ERRORS.messages[error.code]
            self.fault = error.lineno, error.offset + 1, _TOLD.get(why, ELSE)
            self.at, self.unknown = parser.ErrorByteIndex, why == _ERRORS.XML_ERROR_UNDEFINED_ENTITY

    def _note(self, mark: Mark, at: int) -> None:
        if mark in self._wanted:
            self.found.setdefault(mark, at)
            if len(self.found) == len(self._wanted) and not self._to_end:
                raise _FoundError

    def _start(self, *told: Any) -> None:
        self._starts += 1
        self._tags += 1
        self._note(("start", self._starts), self._parser.CurrentByteIndex)

    def _end(self, name: str) -> None:
        self._tags += 1

    def _text(self, text: str) -> None:
        if text.strip(" \t\r\n"):
            self._note(("text", self._tags), self._parser.CurrentByteIndex)

    def _instruction(self, *told: str) -> None:
        self._instructions += 1
        self._note(("pi", self._instructions), self._parser.CurrentByteIndex)

    def _doctype(self, *told: Any) -> None:
        self._note(("doctype", 1), self._content.rfind(b"<!DOCTYPE", 0, self._parser.CurrentByteIndex))
        raise _FoundError
