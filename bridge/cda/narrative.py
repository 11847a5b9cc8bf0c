"""Narratives: the XHTML of FHIR as a NarrativeBlock of CDA, and back. No word is lost, whatever it is nested in.

What the block does not have becomes the nearest that it has: a heading a paragraph in bold, a table in a cell its rows
as paragraphs. Of `p`, lists, `b`, `i`, `u`, `br`, `sub`, `sup` and tables the same XHTML comes back.
Source: NarrativeBlock.xsd of CDA R2; https://hl7.org/fhir/R4/narrative.html.
"""

from __future__ import annotations

import re
from html import escape, unescape

from bridge.cda.xml import Node, add, children, every, name_of, node, one, words

XHTML = "http://www.w3.org/1999/xhtml"
MAX_DEPTH = 60
BOLD = {"h1", "h2", "h3", "h4", "h5", "h6", "dt"}
STYLES = {"b": "Bold", "strong": "Bold", "i": "Italics", "em": "Italics", "u": "Underline"}
TAGS = {"Bold": "b", "Italics": "i", "Underline": "u"}
BLOCKS = {
    "p", "div", "h1", "h2", "h3", "h4", "h5", "h6", "blockquote", "pre", "dl", "dt", "dd", "address", "ul", "ol", "li",
    "table", "thead", "tbody", "tfoot", "tr", "caption", "hr",
}  # fmt: skip
FLOW = frozenset({"paragraph", "list", "table", "inline"})
CELL = frozenset({"paragraph", "list", "inline"})
INLINE = frozenset({"inline"})
TEXT = frozenset[str]()
"""What may stand in an element of the block."""
_MARKUP = re.compile(r"<[^<>]*>")
_SAFE = re.compile(r"(?:https?|mailto|tel):\S*|#\S*", re.IGNORECASE)
_SPACES = re.compile(r"\s*")


def block_of(div: str, tag: str = "text") -> Node:
    """The NarrativeBlock of a narrative's `div`; of one that is not well-formed its words."""
    from lxml import etree

    made = node(tag)
    parser = etree.XMLParser(resolve_entities=False, no_network=True, remove_comments=True, remove_pis=True)
    try:
        root = etree.fromstring(div.encode("utf-8"), parser)
    except (etree.XMLSyntaxError, ValueError):
        _say(made, unescape(_MARKUP.sub(" ", div)))
        return made
    _inside(root, made, FLOW, 0)
    return made


def _local(found: Node) -> str:
    return str(found.tag).rpartition("}")[2].lower() if isinstance(found.tag, str) else ""


def _say(made: Node, text: str | None) -> None:
    """Adds words at the end of what an element holds."""
    if not text:
        return
    last = next(made.iterchildren(reversed=True), None)
    if last is not None:
        last.tail = (last.tail or "") + text
    else:
        made.text = (made.text or "") + text


def _inside(source: Node, made: Node, allowed: frozenset[str], depth: int) -> None:
    """What stands in an element of XHTML, put at the end of an element of the block."""
    if depth > MAX_DEPTH:
        _say(made, "".join(source.itertext()))
        return
    blocks = any(_local(child) in BLOCKS for child in source)
    _say(made, source.text if not blocks or (source.text or "").strip() else None)
    for child in source:
        _child(child, made, allowed, depth + 1)
        _say(made, child.tail if not blocks or (child.tail or "").strip() else None)


def _child(child: Node, made: Node, allowed: frozenset[str], depth: int) -> None:
    name = _local(child)
    if name == "br" and "inline" in allowed:
        made.append(node("br"))
    elif name == "img":
        _say(made, f"[{child.get('alt')}]" if child.get("alt") else None)
    elif name in ("ul", "ol") and "list" in allowed:
        _list(child, made, name == "ol", depth)
    elif name == "dl" and "list" in allowed:
        _definitions(child, made, depth)
    elif name == "table" and "table" in allowed and _is_table(child):
        _table(child, made, depth)
    elif name in BLOCKS:
        _paragraphs(child, made, allowed, depth)
    elif "inline" not in allowed:
        _inside(child, made, allowed, depth)
    else:
        _inline(child, name, made, depth)


def _inline(child: Node, name: str, made: Node, depth: int) -> None:
    if name in STYLES:
        inner = node("content", styleCode=STYLES[name])
    elif name in ("sub", "sup"):
        made.append(node(name, text="".join(child.itertext())))
        return
    elif name == "a" and _SAFE.fullmatch(child.get("href") or ""):
        made.append(node("linkHtml", href=child.get("href"), text="".join(child.itertext())))
        return
    else:
        inner = node("content")
    made.append(inner)
    _inside(child, inner, INLINE, depth)


def _paragraphs(source: Node, made: Node, allowed: frozenset[str], depth: int) -> None:
    """A block that is no list or table of its own here: a paragraph of words, or the blocks in it one by one."""
    if any(_local(child) in BLOCKS for child in source):
        _inside(source, made, allowed, depth)
    elif "paragraph" in allowed:
        inner = paragraph = node("paragraph")
        if _local(source) in BOLD:
            inner = node("content", styleCode="Bold")
            paragraph.append(inner)
        _inside(source, inner, INLINE, depth)
        if len(paragraph) or paragraph.text:
            made.append(paragraph)
    else:
        if "inline" in allowed and (len(made) or made.text):
            made.append(node("br"))
        _inside(source, made, allowed, depth)
        _say(made, None if "inline" in allowed else " ")


def _list(source: Node, made: Node, ordered: bool, depth: int) -> None:
    listed = node("list", listType="ordered" if ordered else None)
    for child in source:
        item = node("item")
        _inside(child, item, FLOW, depth)
        listed.append(item)
    _listed(source, made, listed)


def _definitions(source: Node, made: Node, depth: int) -> None:
    """A list of what is told under names: each name captions an item with a list of its own."""
    listed, item = node("list"), None
    for child in source:
        if _local(child) == "dt" or item is None:
            item = node("item")
            listed.append(item)
        if _local(child) == "dt":
            _inside(child, add(item, node("caption"))[0], TEXT, depth)
            continue
        if not len(item) or name_of(item[-1]) != "list":
            item.append(node("list"))
        inner = node("item")
        _inside(child, inner, FLOW, depth)
        item[-1].append(inner)
    _listed(source, made, listed)


def _listed(source: Node, made: Node, listed: Node) -> None:
    """Puts a list at the end; words that stand between items, where none may, come after it."""
    if len(listed):
        made.append(listed)
    for stray in (source.text, *(child.tail for child in source)):
        _say(made, stray if stray and stray.strip() else None)


_ROWS = {"thead", "tbody", "tfoot"}
_INSIDE = {"table": {"caption", "tr", *_ROWS}, "thead": {"tr"}, "tbody": {"tr"}, "tfoot": {"tr"}, "tr": {"td", "th"}}


def _is_table(source: Node) -> bool:
    """Whether a table, or a part of one, holds just what it may, with a cell in each row and a row in each part."""
    allowed = _INSIDE.get(_local(source))
    if allowed is None:
        return True
    between = (source.text, *(child.tail for child in source))
    captions = sum(_local(child) == "caption" for child in source)
    fitting = captions < 2 and all(_local(child) in allowed and _is_table(child) for child in source)
    return len(source) > captions and fitting and not any(text and text.strip() for text in between)


def _table(source: Node, made: Node, depth: int) -> None:
    table, bodies = node("table"), dict[str, Node]()
    for part in source:
        name = _local(part)
        if name == "caption":
            _inside(part, add(table, node("caption"))[-1], TEXT, depth)
            continue
        place = bodies.setdefault("tbody" if name == "tr" else name, node("tbody" if name == "tr" else name))
        for row in [part] if name == "tr" else part:
            _row(row, place, depth)
    if "tbody" not in bodies:  # a table of CDA has one
        bodies["tbody"] = add(node("tbody"), *(row for place in bodies.values() for row in place))
        bodies = {"tbody": bodies["tbody"]}
    made.append(add(table, *(bodies[name] for name in ("thead", "tfoot", "tbody") if name in bodies)))


def _row(source: Node, made: Node, depth: int) -> None:
    row = node("tr")
    for cell in source:
        name = "th" if _local(cell) == "th" else "td"
        spans = {key: cell.get(key) for key in ("rowspan", "colspan") if (cell.get(key) or "").isdigit()}
        scope = cell.get("scope") if cell.get("scope") in ("row", "col", "rowgroup", "colgroup") else None
        inner = node(name, scope=scope, **spans)
        _inside(cell, inner, CELL if name == "td" else INLINE, depth)
        row.append(inner)
    if len(row):
        made.append(row)


def div_of(block: Node | None) -> str | None:
    """The `div` of a NarrativeBlock; None where there are no words."""
    if block is None or not words(block).strip():
        return None
    return f'<div xmlns="{XHTML}">{_written(block, 0)}</div>'


def _written(found: Node, depth: int) -> str:
    """What stands in an element, as XHTML."""
    if depth > MAX_DEPTH:
        return escape(words(found))
    inside = list(children(found))
    structure = name_of(found) in ("list", "table", "thead", "tbody", "tfoot", "tr")
    laid_out = structure or (inside and all(name_of(child) in ("paragraph", "list", "table") for child in inside))
    parts = [_space_or_words(found.text, laid_out)]
    for child in inside:
        parts += (_element(child, depth + 1), _space_or_words(child.tail, laid_out))
    return "".join(parts)


def _space_or_words(text: str | None, laid_out: object) -> str:
    """Words; blanks between blocks, where all is laid out in blocks, say nothing."""
    return "" if laid_out and _SPACES.fullmatch(text or "") else escape(text or "")


def _element(found: Node, depth: int) -> str:
    name = name_of(found)
    inner = _written(found, depth)
    if name == "br":
        return "<br/>"
    if name == "paragraph":
        return f"<p>{inner}</p>"
    if name == "list":
        return _list_written(found, depth)
    if name == "item":
        return f"<li>{inner}</li>"
    if name == "content":
        tag = TAGS.get((found.get("styleCode") or "").partition(" ")[0])
        return f"<{tag}>{inner}</{tag}>" if tag else f"<span>{inner}</span>"
    if name in ("sub", "sup", "thead", "tbody", "tfoot", "tr"):
        return f"<{name}>{inner}</{name}>"
    if name in ("table", "td", "th"):
        return f"<{name}{_attributes(found)}>{inner}</{name}>"
    if name == "linkHtml" and _SAFE.fullmatch(found.get("href") or ""):
        return f'<a href="{escape(found.get("href") or "")}">{inner}</a>'
    if name == "caption":
        parent = name_of(found.getparent())
        return f"<caption>{inner}</caption>" if parent == "table" else f"<b>{inner}</b> "
    return f"<span>{inner}</span>" if inner else ""


def _list_written(found: Node, depth: int) -> str:
    caption, items = one(found, "caption"), every(found, "item")
    before = f"<p><b>{_written(caption, depth)}</b></p>" if caption is not None else ""
    if items and all(map(_defines, items)):
        return f"{before}<dl>{''.join(_definition(item, depth + 1) for item in items)}</dl>"
    tag = "ol" if found.get("listType") == "ordered" else "ul"
    return f"{before}<{tag}>{''.join(_element(item, depth + 1) for item in items)}</{tag}>"


def _defines(item: Node) -> bool:
    """Whether an item is a caption, and under it a list or nothing."""
    inside = [name_of(child) for child in children(item)]
    between = (item.text, *(child.tail for child in item))
    return inside in (["caption"], ["caption", "list"]) and not any(text and text.strip() for text in between)


def _definition(item: Node, depth: int) -> str:
    told = "".join(f"<dd>{_written(inner, depth)}</dd>" for inner in every(item, "list", "item"))
    return f"<dt>{_written(item[0], depth)}</dt>{told}"


def _attributes(found: Node) -> str:
    known = {key: found.get(key) for key in ("rowspan", "colspan", "scope")}
    return "".join(f' {key}="{escape(value)}"' for key, value in known.items() if value)
