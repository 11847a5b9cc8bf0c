"""The one way in which XML is parsed: by lxml, which hands each sign of structure on and keeps none of it.

Nothing is expanded, fetched or mended, and no tree is built. The limits of libxml2 (10 MB for a value, 256 levels) are
lifted, because they differ from those of JSON and from one edition to the next; size and depth are bounded by the
callers, and a DOCTYPE is refused by them, without which there is no entity that could grow.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any, Protocol

from bridge.fhir.xml_marks import Marks

_PREFIXES = "NS_ERR_"
"""Begins the names of faults of prefixes, at which lxml does not stop where it builds no tree. Namespaces that are no
addresses, of which libxml2 tells too, are no faults of XML."""


class Target(Protocol):
    """What is told of a file in its order; names are written `{namespace}name`, or `name` where there is none."""

    def start(self, tag: str, attributes: Mapping[str, str], spaces: Mapping[str, str], /) -> None:
        """`spaces`: what this element declares, by prefix ("" for none)."""

    def end(self, tag: str, /) -> None: ...
    def data(self, text: str, /) -> None: ...
    def comment(self, text: str, /) -> None: ...
    def pi(self, target: str, text: str, /) -> None: ...
    def doctype(self, name: str, public: str, system: str, /) -> None:
        """Must raise: what it declares is not looked at after that."""

    def close(self) -> None: ...


def parser_for(target: Target) -> Any:
    """A parser that tells a target; it may be given several files one after the other."""
    from lxml import etree

    make: Any = etree.XMLParser
    return make(
        target=target,
        encoding="UTF-8",
        resolve_entities="internal",  # the five of XML; with False, events tell "&amp;" in a value as "&#38;"
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        huge_tree=True,
        recover=False,
    )


def parse(content: bytes, parser: Any) -> tuple[int, int] | None:
    """Tells all that is in bytes of UTF-8; line and column, from 1, of the fault for what is not well-formed.

    What stands before a fault is told, sometimes what stands after it too. Errors that the target raises come through.
    """
    from lxml import etree

    try:
        etree.fromstring(content, parser)
    except etree.XMLSyntaxError as error:
        row, column = error.position
        return row or 1, column or 1
    if not parser.error_log:
        return None
    if fault := next((entry for entry in parser.error_log if entry.type_name.startswith(_PREFIXES)), None):
        return fault.line or 1, fault.column or 1
    marks = Marks(content, set(), to_end=True)  # after a word on a namespace libxml2 lets pass what follows the root
    return marks.fault[:2] if marks.fault else None


@lru_cache(4096)
def split(tag: str) -> tuple[str, str]:
    """Namespace and name of what lxml writes as one."""
    space, _, local = tag.rpartition("}")
    return space[1:], local
