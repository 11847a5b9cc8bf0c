"""The XHTML of a narrative: cut out of XML as it is written there, and put into XML as it is written in JSON.

A narrative is a text in JSON, so its writing is part of the data: `<br/>`, `&#160;`, the kind of quotation marks. A
parser does not keep that (ten of 157 published examples come back from libxml2 in other signs); so it says only that
there is one and that it is well-formed, and the text stays that of the file.
Source: https://hl7.org/fhir/R4/narrative.html, https://hl7.org/fhir/R4/json.html (xhtml); line ends: XML 1.0, 2.11.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from bridge.fhir.xml_parse import parse, parser_for, split

XHTML = "http://www.w3.org/1999/xhtml"
MAX_LEVELS = 1_000
"""Elements in each other in a narrative."""
_DIV = re.compile(
    rb"""<(?:!--.*?-->|!\[CDATA\[.*?\]\]>|\?.*?\?>"""
    rb"""|(?P<tag>/?(?:[^\s<>/=:"'!?]+:)?div(?=[\s/>])(?:[^>"']|"[^"]*"|'[^']*')*>))""",
    re.DOTALL,
)
_TOKEN = re.compile(r"""<!--.*?-->|<!\[CDATA\[.*?\]\]>|<\?.*?\?>|<(?:[^>"']|"[^"]*"|'[^']*')*>|[^<]+""", re.DOTALL)
_NAME = re.compile(r"<(?:(?P<prefix>[^\s/>:]+):)?[^\s/>:]+")
_PREFIX = re.compile(r"\s([^\s=:/]+):[^\s=:/]+\s*=")
_OWN = re.compile(r"\sxmlns(?::([^\s=]+))?\s*=")
_QUOTED = re.compile(r"""("[^"]*"|'[^']*')""")
_BROKEN = "is not well-formed XHTML"
_RETURN = re.compile(r"&#(?:13|x0*[dD]|0+13);")


class Divisions:
    """All elements with the name div in a file, in their order; looked for only as far as it was seen to be XML."""

    def __init__(self, content: bytes) -> None:
        self._content = content
        self._tags = (found for found in _DIV.finditer(content) if found["tag"])
        self._met = 0

    def cut(self, number: int, spaces: Mapping[str, str]) -> str:
        """The text of one of them, which has ended; asked for in ascending order, counted from 1.

        `spaces` are the prefixes and namespaces declared around it; those that it uses are declared in it.
        """
        begin, depth = -1, 0
        for tag in self._tags:
            written = tag["tag"]
            if written[:1] == b"/":
                depth -= begin >= 0
            else:
                self._met += 1
                if self._met == number:
                    begin = tag.start()
                depth += begin >= 0 and written[-2:] != b"/>"
            if begin >= 0 and not depth:
                text = self._content[begin : tag.end()].decode("utf-8").replace("\r\n", "\n").replace("\r", "\n")
                return _returns_read(_declared(text, spaces))
        return ""


def _declared(text: str, spaces: Mapping[str, str]) -> str:
    """The text with what it uses of the namespaces declared around it."""
    around = {prefix: space for prefix, space in spaces.items() if space and (prefix or space == XHTML)}
    if not around:
        return text
    name = _NAME.match(text)
    assert name
    used = _prefixes(text) - {own or "" for own in _OWN.findall(_bare(_TOKEN.findall(text)[0]))}
    more = "".join(
        f' xmlns{":" if prefix else ""}{prefix}="{_quoted(around[prefix])}"' for prefix in sorted(used & around.keys())
    )
    return f"{text[: name.end()]}{more}{text[name.end() :]}"


def _prefixes(text: str) -> set[str]:
    """The prefixes of elements and attributes; "" for elements that have none."""
    found = set()
    for token in _TOKEN.findall(text):
        if token.startswith("<") and token[1] not in "!?/" and (name := _NAME.match(token)):
            found.add(name["prefix"] or "")
            found.update(_PREFIX.findall(_bare(token)))
    return found


def _bare(tag: str) -> str:
    """A tag without the values of its attributes."""
    return _QUOTED.sub('""', tag)


def _quoted(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace('"', "&quot;")


def _returns_read(text: str) -> str:
    """Carriage returns that were written as references become characters, as JSON has them."""
    if not _RETURN.search(text):
        return text
    return "".join(t if t.startswith(("<!", "<?")) else _RETURN.sub("\r", t) for t in _TOKEN.findall(text))


def returns_written(text: str) -> str:
    """The way back: a carriage return becomes a reference, without which XML would take it for a line end."""
    if "\r" not in text:
        return text
    return "".join(map(_token_written, _TOKEN.findall(text)))


def _token_written(token: str) -> str:
    if token[0] != "<":
        return token.replace("\r", "&#13;")
    if token.startswith(("<!", "<?")):
        return token.replace("\r\n", "\n").replace("\r", "\n")
    parts = _QUOTED.split(token)
    return "".join(p.replace("\r", "&#13;") if n % 2 else p.replace("\r", "\n") for n, p in enumerate(parts))


class _NotOneError(ValueError):
    """Says why a text is no narrative."""


class Judge:
    """Says why a text cannot be put into XML as one div with all that is in it: the target of a parser of its own."""

    def __init__(self) -> None:
        self._depth = 0
        self._parser = parser_for(self)

    def problem(self, text: str) -> str | None:
        """Continues a sentence that begins with "The narrative"; None where it can."""
        if text.startswith("<?xml"):
            return _BROKEN
        try:
            return _BROKEN if parse(text.encode("utf-8"), self._parser) else None
        except UnicodeEncodeError:
            return _BROKEN
        except _NotOneError as error:
            return str(error)

    def start(self, tag: str, attributes: Mapping[str, str], spaces: Mapping[str, str]) -> None:
        if not self._depth and split(tag)[1] != "div":
            raise _NotOneError("is no div")
        self._depth += 1
        if self._depth > MAX_LEVELS:
            raise _NotOneError(f"has elements nested more than {MAX_LEVELS:,} deep")

    def end(self, tag: str) -> None:
        self._depth -= 1

    def data(self, text: str) -> None:
        """Any text may stand in it."""

    def comment(self, text: str) -> None:
        self.pi("")

    def pi(self, target: str, text: str | None = None) -> None:
        if not self._depth:
            raise _NotOneError("has something beside its div")

    def doctype(self, *told: str | None) -> None:
        raise _NotOneError(_BROKEN)

    def close(self) -> None:
        self._depth = 0
