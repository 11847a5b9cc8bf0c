"""A page as plain data for `mappings/documents/letter.typ`: every block with its kind, every word fit to be printed."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import fields
from typing import Any

from bridge.render.page import (
    Cell,
    Ears,
    Grid,
    Lines,
    Page,
    Passage,
    Picture,
    Pairs,
    Pictures,
    Row,
    Section,
    Steps,
    Text,
)
from bridge.render.pdf.characters import Printable
from bridge.render.pdf.passages import tree

LONGEST_WORD, LONGEST_IN_HEAD = 40, 26
"""Characters without a place to break the line; a longer word is given places."""
GRID_WIDTH = 96
"""About as many characters fit the width of a sheet in small print; a table's cells share them."""
LONG_ROW = 1_000
LONG_SECTION, LONG_EARS = 1_100, 2_400
"""Characters from which a row of the ears, a section, a table of the ears may go over to the next page; a shorter one
stays together."""
SHORT_TITLE = 13
"""Characters of a title that has room beside its lines."""
EM = 0.52
"""Width of a letter at most, on the average of a word, over the size of type."""
PICTURES_IN_A_ROW = 4
SHEET_WIDTH, MOST_WIDTH, MOST_HEIGHT = 178, 66, 42
"""Room for drawings in a row, and for one, in millimetres."""
_VIEW = re.compile(r'viewBox="[\d.-]+ [\d.-]+ ([\d.]+) ([\d.]+)"')
_BREAK = "\u200b"
_SIGN = re.compile(r"([@./_=&?:;,-])(?=\w)")
_LANGUAGE = re.compile(r"([A-Za-z]{2,3})(?:-[A-Za-z]{4})?(?:-([A-Za-z]{2}))?(?:-.*)?")

Fit = Callable[[str], str]


def plain(page: Page, printable: Printable) -> dict[str, Any]:
    """All that the template needs of the page; adds to what `printable` counts as missing."""
    fit = _fitting(printable, LONGEST_WORD // 2 if page.large else LONGEST_WORD)
    in_head = _fitting(printable, LONGEST_IN_HEAD // 2 if page.large else LONGEST_IN_HEAD)
    language, region = spoken(page.language)
    return {
        "title": fit(page.title),
        "language": language or "en",
        "region": region,
        "marks": [fit(m) for m in page.marks],
        "head": [_any(part, in_head) for part in page.head],
        "client_title": fit(page.client_title),
        "client": _any(page.client, in_head),
        "client_labels": [_label(page.client)]
        if page.large
        else [_label(page.client[0::2]), _label(page.client[1::2])],
        "introduction": fit(page.introduction),
        "sections": _sections(page.sections, printable, fit),
        "closing": [fit(line) for line in page.closing],
        "running": fit(page.running),
        "large": page.large,
    }


def spoken(tag: str) -> tuple[str, str | None]:
    """Language and region of a language tag, as the template takes them; an odd tag says nothing."""
    found = _LANGUAGE.fullmatch(tag)
    return (found[1].lower(), found[2].upper() if found[2] else None) if found else ("", None)


def _fitting(printable: Printable, longest: int) -> Fit:
    """Words with places where a line may break in what has none: behind signs first, else anywhere."""
    long = re.compile(rf"\S{{{longest + 1},}}")
    piece = re.compile(rf"([^\s{_BREAK}]{{{longest}}})(?=[^\s{_BREAK}])")

    def broken(found: re.Match[str]) -> str:
        return piece.sub(rf"\1{_BREAK}", _SIGN.sub(rf"\1{_BREAK}", found[0]))

    def fit(words: str) -> str:
        text = printable.fit(words)
        return long.sub(broken, text) if len(text) > longest else text

    return fit


def _sections(sections: list[Section], printable: Printable, fit: Fit) -> list[dict[str, Any]]:
    """Levels never skip one, as readers of a tagged document need it."""
    found = []
    level = 1
    for section in sections:
        level = max(2, min(section.level, level + 1))
        blocks = [_block(block, printable, fit) for block in section.blocks]
        found.append({
            "title": fit(section.title),
            "level": level,
            "frame": section.frame,
            "wide": bool(section.frame) or any(isinstance(b, Ears | Pictures | Grid | Passage) for b in section.blocks),
            "long": size(section) > (LONG_EARS if any(isinstance(b, Ears) for b in section.blocks) else LONG_SECTION),
            "blocks": blocks,
        })  # fmt: skip
    return found


def _block(block: Any, printable: Printable, fit: Fit) -> dict[str, Any]:
    if isinstance(block, Grid):
        fit = _fitting(printable, max(8, GRID_WIDTH // max(len(block.headings), 1) - 2))
    elif isinstance(block, Passage):
        language, region = spoken(block.language)
        return {"is": "Passage", "language": language, "region": region, "tree": tree(block.html, fit)}
    made: dict[str, Any] = _any(block, fit)
    if isinstance(block, Lines):
        made["short"] = len(block.title) <= SHORT_TITLE
    elif isinstance(block, Pairs):
        made["label"] = _label(block.rows)
    elif isinstance(block, Grid):
        made["whole"] = size(block) <= LONG_SECTION
        made["widths"] = _widths(block)
    elif isinstance(block, Ears):
        made["whole"] = size(block) <= LONG_EARS
        for row, of in zip(made["rows"], block.rows, strict=True):
            row["long"] = size(of) > LONG_ROW
    elif isinstance(block, Pictures):
        made["columns"] = max(1, min(len(block.pictures), PICTURES_IN_A_ROW))
        widest = SHEET_WIDTH / made["columns"] - 4
        for picture, source in zip(made["pictures"], block.pictures, strict=True):
            picture["width"] = round(min(widest, MOST_WIDTH, MOST_HEIGHT * _shape(source.svg)), 1)
    return made


def _label(rows: list[tuple[str, str]]) -> float:
    """Room for the labels of pairs, in sizes of type."""
    return round(min(max((len(name) for name, _ in rows), default=0), 22) * EM + 0.8, 2)


def _widths(grid: Grid) -> list[int]:
    """How the columns share the width: by their longest cell, within limits, and never less than its longest word."""
    found = []
    for number, heading in enumerate(grid.headings):
        cells = [heading, *(row[number] for row in grid.rows if number < len(row))]
        words = max((len(word) for cell in cells for word in cell.split()), default=1)
        found.append(max(min(max(map(len, cells)), 32), min(words, 20), 4) + 2)
    return found


def _shape(svg: str) -> float:
    """Width of a drawing over its height."""
    found = _VIEW.search(svg)
    return float(found[1]) / float(found[2]) if found and float(found[2]) else 1.0


def _any(value: Any, fit: Fit) -> Any:
    """Data of the page's shapes: words fit, drawings as they are."""
    if isinstance(value, str):
        return fit(value)
    if isinstance(value, list | tuple):
        return [_any(v, fit) for v in value]
    if value is None or isinstance(value, bool | int):
        return value
    made = {f.name: _any(getattr(value, f.name), fit) for f in fields(value) if f.name != "svg"}
    if isinstance(value, Picture):
        made["svg"] = value.svg
    return {"is": type(value).__name__, **made}


def size(value: Any) -> int:
    """How many characters something holds; a drawing counts as what its title and legend hold."""
    if isinstance(value, str):
        return len(value)
    if isinstance(value, list | tuple):
        return sum(map(size, value)) + 20 * len(value)
    if isinstance(value, Picture):
        return size(value.title) + size(value.legend)
    if isinstance(value, Text | Lines | Steps | Row | Cell | Section | Ears | Grid | Pictures | Passage):
        return sum(size(getattr(value, f.name)) for f in fields(value))
    return 0
