"""N: the readable text of a resource (https://hl7.org/fhir/R4/narrative.html, txt-1 and txt-2).

One well-formed `div` of XHTML with something in it, made of the elements and attributes of `narrative.csv`,
and nothing that runs, fetches or hides. `bridge.check.xhtml_plain` says yes to the common ones without this.
"""

from __future__ import annotations

import re
from functools import cache
from typing import NamedTuple
from xml.parsers import expat

from bridge.data import load_csv, table_path

NAMESPACE = "http://www.w3.org/1999/xhtml"
XML = "http://www.w3.org/XML/1998/namespace"
MAX_DEPTH = 100
MAX_PROBLEMS = 20
"""Faults of one text that are told; the rest of it is not looked at."""
_UNKNOWN_SIGN = 11  # XML_ERROR_UNDEFINED_ENTITY
_RUNS = re.compile(r"(?:javascript|vbscript|livescript|mocha|data|blob|filesystem|about):", re.IGNORECASE)
_PICTURE = re.compile(r"data:image/[a-z0-9.+-]+[;,]", re.IGNORECASE)
_FAR = re.compile(r"(?:[a-z][a-z0-9+.-]*:)?//", re.IGNORECASE)
_STYLE_RUNS = re.compile(r"expression\(|@import|behaviou?r:|-moz-binding|script:", re.IGNORECASE)
_STYLE_FAR = re.compile(r"(?:url|image|src)\(['\"]?(?:[a-z][a-z0-9+.-]*:)?//", re.IGNORECASE)
_STYLE_NOTHING = re.compile(r"/\*.*?(?:\*/|\Z)|[\\\s]", re.DOTALL)
"""What a browser does not see in a style, or what could hide a word in it; a remark without end hides all."""
_IGNORED = re.compile(r"[\x00-\x20\x7f-\xa0]")
"""What browsers skip in front of and inside of the scheme of an address."""
_ADDRESSES = frozenset({"href", "src", "cite", "longdesc", "usemap"})


class Markup(NamedTuple):
    """What narratives may be made of."""

    kinds: dict[str, str]
    """Kind by name of element."""
    attributes: dict[str, frozenset[str]]


class Fault(NamedTuple):
    """Something that is wrong in a text."""

    rule: str
    told: str
    """Continues a sentence that begins with "The narrative"."""
    cause: str = ""


@cache
def markup() -> Markup:
    rows = {row["element"]: row for row in load_csv(table_path("standard", "narrative.csv"))}
    everywhere = frozenset(rows.pop("*")["attributes"].split())
    return Markup(
        {name: row["kind"] for name, row in rows.items()},
        {name: everywhere.union(row["attributes"].split()) for name, row in rows.items()},
    )


DOUBTFUL = frozenset({"N110", "N111", "N112", "N113"})
"""Rules that only warn."""


def narrative_faults(text: str) -> list[Fault]:
    """Everything that is wrong or doubtful in the text of a `Narrative.div`."""
    look = _Look()
    parser = look.parser
    try:
        parser.Parse(text.encode("utf-8", "replace"), True)
    except expat.ExpatError as error:
        look.not_well_formed(error)
    except _EnoughError:
        return look.faults
    if not look.faults or all(fault.rule in DOUBTFUL for fault in look.faults):
        look.content()
    return look.faults


class _EnoughError(Exception):
    pass


class _Look:
    def __init__(self) -> None:
        self.parser = expat.ParserCreate(namespace_separator=" ")
        self.parser.namespace_prefixes = True
        self.parser.StartElementHandler = self.start
        self.parser.EndElementHandler = self.end
        self.parser.CharacterDataHandler = self.words
        self.parser.ProcessingInstructionHandler = lambda *_: self.stop("holds a processing instruction")
        self.parser.StartDoctypeDeclHandler = lambda *_: self.stop("holds a document type")
        self.parser.XmlDeclHandler = lambda *_: self.stop("starts with a declaration of XML, which a fragment has not")
        self.faults: list[Fault] = []
        self.ids: set[str] = set()
        self.open: list[str] = []
        self.in_paragraph = 0
        self.seen = self.blank = False

    def add(self, rule: str, told: str, cause: str = "") -> None:
        line = self.parser.CurrentLineNumber
        self.faults.append(Fault(rule, told + (f" (line {line} of the text)" if line > 1 else ""), cause))
        if len(self.faults) >= MAX_PROBLEMS:
            raise _EnoughError

    def stop(self, told: str) -> None:
        self.add("S113", told)
        raise _EnoughError

    def not_well_formed(self, error: expat.ExpatError) -> None:
        known = error.code == _UNKNOWN_SIGN
        told = "has a named sign such as &nbsp;, which XML does not know" if known else "is not well-formed XHTML"
        where = f" (line {error.lineno} of the text)" if error.lineno > 1 else ""
        self.faults.append(Fault("S113", told + where))

    def content(self) -> None:
        if not self.seen:
            rule, told = ("N111", "holds only blanks that no reader sees") if self.blank else ("N104", "says nothing")
            self.faults.append(Fault(rule, told))

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        namespace, name, prefix = _named(tag)
        if not self.open and name != "div":
            self.stop("does not start with a div")
        if namespace != NAMESPACE:
            self.stop("is not in the namespace of XHTML")
        if prefix:
            self.add("N107", "names its elements with a prefix", "prefix")
        kind = markup().kinds.get(name)
        if kind is None:
            self.add("N101", f"holds the element {name[:60]}, which narratives must not have", name[:60])
        elif self.in_paragraph and kind in ("block", "root"):
            self.add("N105", f"holds the element {name} inside of a paragraph", name)
        self.open.append(name)
        self.in_paragraph += name == "p"
        if len(self.open) > MAX_DEPTH:
            self.stop(f"is nested more than {MAX_DEPTH} deep")
        for key, value in attributes.items():
            self.attribute(name, key, value)
        if name == "img":
            self.image(attributes)

    def end(self, _: str) -> None:
        self.in_paragraph -= self.open.pop() == "p"

    def words(self, text: str) -> None:
        if not self.seen and text.strip(" \t\r\n"):
            self.seen = not text.isspace()
            self.blank = True

    def attribute(self, element: str, key: str, value: str) -> None:
        namespace, name, _ = _named(key)
        spelt = f"xml:{name}" if namespace == XML else name
        allowed = markup().attributes.get(element)
        if (namespace and namespace != XML) or (allowed is not None and spelt not in allowed):
            told = "that would run a script" if name[:2].lower() == "on" else f"which {element} must not have there"
            self.add("N102", f"holds the attribute {spelt[:60]}, {told}", spelt[:60])
        elif spelt in _ADDRESSES:
            self.address(element, spelt, value)
        elif spelt == "style":
            self.style(_STYLE_NOTHING.sub("", value))
        elif spelt == "id":
            if value in self.ids:
                self.add("N113", "has the same id twice")
            self.ids.add(value)

    def address(self, element: str, name: str, value: str) -> None:
        plain = _IGNORED.sub("", value)
        picture = element == "img" and name == "src"
        if _RUNS.match(plain) and not (picture and _PICTURE.match(plain)):
            self.add("N103", f"has in {name} something that runs or hides, not an address")
        elif picture and _FAR.match(plain):
            self.add("N110", "shows a picture that lies on another computer")

    def style(self, plain: str) -> None:
        if _STYLE_RUNS.search(plain):
            self.add("N106", "has a style that runs something or brings in another one")
        elif _STYLE_FAR.search(plain):
            self.add("N110", "has a style that shows something from another computer")

    def image(self, attributes: dict[str, str]) -> None:
        if attributes.get("src", "").strip():
            self.seen = True
        if not attributes.get("src", "").strip() or "alt" not in attributes:
            self.add("N112", "has a picture without its address (src) or without words in its place (alt)")


def _named(tag: str) -> tuple[str, str, str]:
    """Namespace, name and prefix, as expat puts them together."""
    parts = tag.split(" ")
    if len(parts) == 1:
        return "", tag, ""
    return parts[0], parts[1], parts[2] if len(parts) > 2 else ""
