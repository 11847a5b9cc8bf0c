"""Safe XHTML of others (bridge/render/xhtml.py) as the tree that `mappings/documents/letter.typ` sets."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

Fit = Callable[[str], str]
Node = str | dict[str, Any]

DEEPEST = 12
"""Levels of elements within each other; what is deeper keeps its words."""
MOST_COLUMNS = 12
"""A table with more is told row by row."""
_TAGS = {
    "p": "p", "div": "block", "blockquote": "quote", "br": "br", "hr": "rule", "b": "strong", "strong": "strong",
    "i": "emph", "em": "emph", "cite": "emph", "sub": "sub", "sup": "sup", "pre": "block", "caption": "block",
}  # fmt: skip
_SPACE = re.compile(r"\s+")


def tree(html: str, fit: Fit) -> list[Node]:
    """The parts of a passage. Tags that have no look of their own leave just what is in them."""
    from lxml import etree

    root = etree.fromstring(
        f"<html><body>{html}</body></html>", etree.HTMLParser(remove_comments=True, huge_tree=False)
    )
    body = root.find("body") if root is not None else None
    return _inside(body, fit, 0, False) if body is not None else []


def _inside(element: Any, fit: Fit, depth: int, kept: bool) -> list[Node]:
    """What stands in an element; `kept`: with its line breaks, as in `pre`."""
    found = list(_words(element.text, fit, kept))
    for child in element:
        if isinstance(child.tag, str):
            found += _element(child, fit, depth + 1, kept)
        found += _words(child.tail, fit, kept)
    return found


def _words(text: str | None, fit: Fit, kept: bool) -> Iterator[Node]:
    if not text:
        return
    if not kept:
        yield fit(_SPACE.sub(" ", text))
        return
    for number, line in enumerate(text.split("\n")):
        if number:
            yield {"tag": "br", "parts": []}
        yield fit(line)


def _element(element: Any, fit: Fit, depth: int, kept: bool) -> list[Node]:
    name = element.tag
    if depth > DEEPEST:
        return [fit(_SPACE.sub(" ", " ".join(element.itertext())))]
    if name in ("ul", "ol"):
        items = [{"tag": "item", "parts": _inside(i, fit, depth + 1, kept)} for i in element if i.tag == "li"]
        return [{"tag": "list" if name == "ul" else "enum", "parts": items}] if items else []
    if name == "dl":
        return _terms(element, fit, depth)
    if name == "table":
        return _table(element, fit, depth)
    parts = _inside(element, fit, depth, kept or name == "pre")
    tag = _TAGS.get(name)
    return [{"tag": tag, "parts": parts}] if tag else parts


def _terms(element: Any, fit: Fit, depth: int) -> list[Node]:
    rows: list[list[list[Node]]] = []
    for child in element.iter("dt", "dd"):
        parts = _inside(child, fit, depth + 1, False)
        if child.tag == "dt":
            rows.append([parts, []])
        elif rows:
            rows[-1][1] += [{"tag": "block", "parts": parts}]
        else:
            rows.append([[], parts])
    return [{"tag": "terms", "parts": [], "rows": rows}] if rows else []


def _table(element: Any, fit: Fit, depth: int) -> list[Node]:
    """Every cell with its place, so that no value can slip under another heading."""
    caption = [part for c in element.iter("caption") for part in _inside(c, fit, depth + 1, False)]
    cells: list[dict[str, Any]] = []
    taken: set[tuple[int, int]] = set()
    top, above = 0, True
    rows = [row for row in element.iter("tr") if _nearest(row, "table") is element]
    for y, row in enumerate(rows):
        found = [c for c in row if c.tag in ("td", "th")]
        above = above and bool(found) and all(c.tag == "th" for c in found)
        top = y + 1 if above else top
        x = 0
        for cell in found:
            while (x, y) in taken:
                x += 1
            across, down = _span(cell, "colspan"), min(_span(cell, "rowspan"), len(rows) - y)
            while across > 1 and any((x + i, y) in taken for i in range(across)):
                across -= 1
            taken |= {(x + i, y + j) for i in range(across) for j in range(down)}
            head = ("col" if above else "row") if cell.tag == "th" else ""
            cells.append({"x": x, "y": y, "across": across, "down": down, "head": head,
                          "parts": _inside(cell, fit, depth + 1, False)})  # fmt: skip
            x += across
    columns = max((c["x"] + c["across"] for c in cells), default=0)
    if columns == 0:
        return [{"tag": "block", "parts": caption}] if caption else []
    if columns > MOST_COLUMNS:
        return [{"tag": "block", "parts": caption}, *_row_by_row(cells)]
    if top == len(rows) or any(c["y"] < top < c["y"] + c["down"] for c in cells):
        top = 0
    return [{"tag": "table", "parts": [], "columns": columns, "caption": caption,
             "top": [c for c in cells if c["y"] < top], "rows": [c for c in cells if c["y"] >= top]}]  # fmt: skip


def _row_by_row(cells: list[dict[str, Any]]) -> Iterator[Node]:
    lines: dict[int, list[Node]] = {}
    for cell in cells:
        line = lines.setdefault(cell["y"], [])
        line += [" | ", *cell["parts"]] if line else cell["parts"]
    return ({"tag": "p", "parts": parts} for parts in lines.values())


def _nearest(element: Any, name: str) -> Any:
    return next(element.iterancestors(name), None)


def _span(cell: Any, name: str) -> int:
    said = cell.get(name, "")
    return min(int(said), 99) if said.isascii() and said.isdigit() and int(said) else 1
