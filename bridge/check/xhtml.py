"""A rough look at narratives: one well-formed `div` of XHTML with something in it, and nothing that runs."""

from __future__ import annotations

from xml.parsers import expat

NAMESPACE = "http://www.w3.org/1999/xhtml"
_NEVER = frozenset({"script", "iframe", "frame", "frameset", "object", "embed", "form", "input", "base", "link", "head",
                    "body"})  # fmt: skip
MAX_DEPTH = 100


def narrative_problem(text: str) -> str | None:
    """What is wrong with the text of a `Narrative.div`, or None."""
    if "<!" in text.replace("<!--", "") or "<?" in text:
        return "holds a document type, a CDATA section or a processing instruction"
    seen = _Seen()
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartElementHandler = seen.start
    parser.EndElementHandler = seen.end
    parser.CharacterDataHandler = seen.words
    try:
        parser.Parse(text.encode("utf-8", "replace"), True)
    except expat.ExpatError:
        return "is not well-formed XHTML"
    except ValueError as error:
        return str(error)
    return None if seen.content else "says nothing"


class _Seen:
    def __init__(self) -> None:
        self.depth = 0
        self.content = False

    def start(self, name: str, attributes: dict[str, str]) -> None:
        namespace, _, local = name.rpartition(" ")
        if self.depth == 0 and local != "div":
            raise ValueError("does not start with a div")
        if namespace != NAMESPACE:
            raise ValueError("is not in the namespace of XHTML")
        if local in _NEVER:
            raise ValueError(f"holds the element {local}, which narratives must not have")
        if any(key.lower().startswith("on") for key in attributes):
            raise ValueError("holds an attribute that would run a script")
        self.depth += 1
        if self.depth > MAX_DEPTH:
            raise ValueError(f"is nested more than {MAX_DEPTH} deep")
        self.content = self.content or local == "img"

    def end(self, name: str) -> None:
        self.depth -= 1

    def words(self, text: str) -> None:
        self.content = self.content or not text.isspace()
