"""The XHTML of a narrative: cut out of XML as it is written there, and put into XML as it is written in JSON.

Source: https://hl7.org/fhir/R4/narrative.html, https://hl7.org/fhir/R4/json.html (xhtml); line ends: XML 1.0, 2.11.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from typing import Any
from xml.parsers import expat

XHTML = "http://www.w3.org/1999/xhtml"
SEPARATOR = "\f"
"""Stands between namespace, name and prefix; no XML can hold it."""
_START = re.compile(r"""<(?P<name>[^\s/>]+)(?P<rest>(?:[^>"']|"[^"]*"|'[^']*')*)>""")
_TOKEN = re.compile(r"""<!--.*?-->|<!\[CDATA\[.*?\]\]>|<\?.*?\?>|<(?:[^>"']|"[^"]*"|'[^']*')*>|[^<]+""", re.DOTALL)
_QUOTED = re.compile(r"""("[^"]*"|'[^']*')""")
_RETURN = re.compile(r"&#(?:13|x0*[dD]|0+13);")


class Division:
    """Watches a parser from the start tag of a `div` to its end tag, and hands out what stands between in bytes."""

    def __init__(
        self, parser: Any, content: bytes, spaces: Iterable[tuple[str, str]], done: Callable[[str], None]
    ) -> None:
        """`spaces`: prefixes and namespaces declared so far; `done` gets the text when the end tag is met."""
        self.parser, self.content, self.spaces, self.done = parser, content, dict(spaces), done
        self.begin = parser.CurrentByteIndex
        self.depth, self.empty, self.used = 1, True, set[str]()
        self.handlers = parser.StartElementHandler, parser.EndElementHandler, parser.CharacterDataHandler
        parser.StartElementHandler, parser.EndElementHandler = self.start, self.end
        parser.CharacterDataHandler = None

    def note(self, name: str, attributes: Mapping[str, str]) -> None:
        """Remembers the prefixes of an element and its attributes."""
        parts = name.split(SEPARATOR)
        self.used.add(parts[2] if len(parts) > 2 else "")
        for key in attributes:
            parts = key.split(SEPARATOR)
            if len(parts) > 2:
                self.used.add(parts[2])

    def start(self, name: str, attributes: Mapping[str, str]) -> None:
        self.depth += 1
        self.empty = False
        self.note(name, attributes)

    def end(self, name: str) -> None:
        self.depth -= 1
        if self.depth:
            return
        at: int = self.parser.CurrentByteIndex
        if not (self.empty and self.content[at - 2 : at] == b"/>"):
            at = self.content.index(b">", at) + 1
        self.parser.StartElementHandler, self.parser.EndElementHandler, self.parser.CharacterDataHandler = self.handlers
        text = self.content[self.begin : at].decode("utf-8").replace("\r\n", "\n").replace("\r", "\n")
        self.done(_returns_read(self._declared(text)))

    def _declared(self, text: str) -> str:
        """The text with what it uses of the namespaces declared around it."""
        tag = _START.match(text)
        assert tag
        own = set(re.findall(r"\sxmlns(?::([^\s=]+))?\s*=", _QUOTED.sub('""', tag["rest"])))
        missing = ((p, self.spaces.get(p, "")) for p in sorted(self.used - own - {"xml"}))
        more = "".join(
            f' xmlns{":" if prefix else ""}{prefix}="{_quoted(space)}"'
            for prefix, space in missing
            if space and (prefix or space == XHTML)
        )
        return f"{text[: tag.end('name')]}{more}{text[tag.end('name') :]}"


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


def div_problem(text: str) -> str | None:
    """Why a text cannot be put into XML as one element with all that is in it; None where it can."""
    parser = expat.ParserCreate("UTF-8", SEPARATOR)
    parser.StartDoctypeDeclHandler = parser.XmlDeclHandler = _refused
    try:
        parser.Parse(text.encode("utf-8"), True)
    except (expat.ExpatError, ValueError):
        return "is not well-formed XHTML"
    return None


def _refused(*told: Any) -> None:
    raise ValueError
