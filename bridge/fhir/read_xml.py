"""Reads received R4 XML into the data that the same resource in JSON gives; nothing in it is expanded or fetched.

Source: https://hl7.org/fhir/R4/xml.html. The parser is expat, which knows the column of every sign and is asked for no
entity: a document type declaration, where all of them would be declared, ends the reading.
"""

from __future__ import annotations

import re
from typing import Any
from xml.parsers import expat

from bridge.fhir.read_json import MAX_BYTES
from bridge.fhir.xml_build import Builder, RefusedError
from bridge.fhir.xml_div import SEPARATOR
from bridge.fhir.xml_text import xml_bytes
from bridge.issues import Issue, Where, issue

_ERRORS = expat.errors
_TOLD = {
    _ERRORS.XML_ERROR_NO_ELEMENTS: "there is no element in it",
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
"""The faults that people make, in our words: the parser's own could quote the file."""

_NAMED = re.compile(rb"&(?!#|(?:amp|lt|gt|quot|apos);)")
_UNREADABLE = frozenset({"S120", "S124", "S125", "S128", "S140", "S141", "S142", "S143"})


def read_xml(content: bytes, file: str = "", *, max_bytes: int = MAX_BYTES) -> tuple[Any, list[Issue]]:
    """The data and what is wrong with its writing, each with line and column; None where it cannot be read at all.

    Values are those of `read_json`: whole numbers int, other numbers Decimal as written, narratives as text. A number
    or true/false that is misspelt stays a text, an element repeated that may not be becomes a list.
    """
    builder, found = build(content, file, max_bytes)
    if builder is None or any(i.rule in _UNREADABLE for i in found):
        return None, found
    return builder.data, found


def build(
    content: bytes, file: str = "", max_bytes: int = MAX_BYTES, wanted: set[str] | None = None
) -> tuple[Builder | None, list[Issue]]:
    """The finished builder, None for what is no text in UTF-8; `wanted` are paths whose places it is to note."""
    text, found = xml_bytes(content, file, max_bytes)
    if text is None:
        return None, found
    parser = expat.ParserCreate("UTF-8", SEPARATOR)
    builder = Builder(parser, text, file, wanted)
    try:
        parser.Parse(text, True)
    except RefusedError as refused:
        return builder, [*found, *builder.issues, refused.issue]
    except expat.ExpatError as error:
        return builder, [*found, *builder.issues, _told(error, builder)]
    return builder, [*found, *builder.issues]


def _told(error: expat.ExpatError, builder: Builder) -> Issue:
    where = Where(file=builder.file, row=error.lineno, column=error.offset + 1)
    why = _ERRORS.messages[error.code]
    if why == _ERRORS.XML_ERROR_UNDEFINED_ENTITY:
        name = _NAMED.search(builder.content, builder.parser.ErrorByteIndex)
        where = builder.where(name.start()) if name else where
        return issue("S142", "A name between “&” and “;” stands here that XML does not know.", where)
    return issue("S140", f"This is not well-formed XML: {_TOLD.get(why, 'it breaks a rule of XML here')}.", where)
