"""Narratives of others made safe: an allow-list of elements, no styles, links, pictures or scripts."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import escape
from html.entities import html5
from typing import Any

PLAIN = frozenset({"p", "br", "b", "strong", "i", "em", "u", "small", "sub", "sup", "ul", "ol", "li", "dl", "dt", "dd",
                   "table", "caption", "thead", "tbody", "tfoot", "tr", "th", "td", "pre", "code", "blockquote", "hr",
                   "div", "abbr", "q", "cite"})  # fmt: skip
HEADINGS = frozenset({"h1", "h2", "h3", "h4", "h5", "h6"})
"""Become bold paragraphs, so that the order of the page's own headings holds."""
DROPPED = frozenset({"script", "style", "head", "title", "iframe", "object", "embed", "template", "noscript", "svg",
                     "math"})  # fmt: skip
"""Left out with all that is in them: it is no text for a reader."""
EMPTY = frozenset({"br", "hr"})
SCOPES = ("col", "row", "colgroup", "rowgroup")
SPANS = ("colspan", "rowspan")
_ENTITY = re.compile(r"&([A-Za-z][A-Za-z0-9]*);")
_XML = frozenset({"amp", "lt", "gt", "quot", "apos"})


def safe_html(div: str) -> str:
    """HTML that may stand in a page as it is. A narrative that is not well-formed is shown as plain text."""
    root = _parsed(div)
    if root is None:
        return f"<pre>{escape(div)}</pre>"
    return "".join(_written(root, ""))


def _parsed(div: str) -> Any:
    from lxml import etree

    if "<!DOCTYPE" in div or "<!ENTITY" in div:
        return None
    parser = etree.XMLParser(
        resolve_entities=False, no_network=True, load_dtd=False, huge_tree=False, remove_comments=True, remove_pis=True
    )
    try:
        return etree.fromstring(_ENTITY.sub(_character, div).encode(), parser)
    except (etree.XMLSyntaxError, ValueError):
        return None


def _character(found: re.Match[str]) -> str:
    """Named characters of HTML, which XML does not know, as themselves."""
    name = found[1]
    return found[0] if name in _XML else html5.get(f"{name};", found[0])


def _written(node: Any, table_part: str) -> Iterator[str]:
    name = str(node.tag).rpartition("}")[2].lower() if isinstance(node.tag, str) else ""
    if name in DROPPED:
        return
    if name == "img":
        yield f"[picture: {escape(node.get('alt') or 'not described')}]"
        return
    wanted = name if name in PLAIN else "p" if name in HEADINGS else ""
    if wanted:
        yield f"<{wanted}{_attributes(node, name, table_part)}>" + ("<b>" if name in HEADINGS else "")
    yield escape(node.text or "")
    for child in node:
        yield from _written(child, name if name in ("thead", "tbody", "tfoot") else table_part)
        yield escape(child.tail or "")
    if wanted and wanted not in EMPTY:
        yield ("</b>" if name in HEADINGS else "") + f"</{wanted}>"


def _attributes(node: Any, name: str, table_part: str) -> str:
    found = ""
    if name in ("td", "th"):
        found = "".join(f' {a}="{node.get(a)}"' for a in SPANS if re.fullmatch(r"[1-9]\d?", node.get(a, "")))
    if name == "th":
        scope = node.get("scope", "")
        if scope not in SCOPES:
            scope = "col" if _heads(node, table_part) else "row"
        found += f' scope="{scope}"'
    return found


def _heads(node: Any, table_part: str) -> bool:
    """Whether a th stands over columns: in a thead, or in a row of nothing but th."""
    row = node.getparent()
    cells = [str(c.tag).rpartition("}")[2].lower() for c in row if isinstance(c.tag, str)] if row is not None else []
    return table_part == "thead" or "td" not in cells
