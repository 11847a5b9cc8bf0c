"""A page as plain data for `mappings/documents/letter.typ`: every block with its kind, every word fit to be printed."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from typing import Any

from bridge.render.page import (
    Ears,
    Grid,
    Lines,
    Page,
    Pairs,
    Part,
    Passage,
    Picture,
    Pictures,
    Section,
)
from bridge.render.pdf.characters import Printable
from bridge.render.pdf.passages import tree

IN_BODY, IN_FRAME, IN_HEAD, IN_CELL, IN_SIDE = 38, 34, 17, 24, 16
"""Characters without a place to break the line that fit wherever they stand, however wide; longer words get places."""
GRID_WIDTH = 60
"""As many of the widest characters fit the width of a sheet in small print; a table's cells share them."""
PIECE = 6
"""Characters that stay together in a word that has to be broken."""
MOST_RUNNING, MOST_MARK, MOST_MARKS = 110, 200, 5
"""Characters of what stands on every page, and marks there; the first page has all of them in full."""
LONG_ROW, LONG_PICTURE = 1_000, 700
LONG_SECTION, LONG_EARS = 1_100, 2_400
"""Characters from which a row of the ears, a drawing with its legend, a section, one of ears or drawings may go over to
the next page; a shorter one stays together."""
LONG_HEADINGS = 400
"""Characters of a table's headings that are not said again on each page."""
SHORT_TITLE = 13
"""Characters of a title that has room beside its lines."""
HEADING_WIDTH = 58
"""Millimetres of the column in which headings stand beside what they head."""
NARROW_HEADINGS = {"brief": (12, 18), "codes": (12, 18), "proposed": (24, 40)}
"""Sections whose sentences need more room: up to how many characters of heading leave it, in which width."""
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
    fit, in_head, in_frame = (_fitting(printable, n, page.large) for n in (IN_BODY, IN_HEAD, IN_FRAME))
    language, region = spoken(page.language)
    marks = [_cut(mark, MOST_MARK) for mark in page.marks[:MOST_MARKS]]
    return {
        "title": in_frame(page.title).strip() or "…",
        "language": language or "en",
        "region": region,
        "marks": [in_frame(m) for m in page.marks],
        "marks_everywhere": [in_frame(m) for m in marks],
        "marks_cut": marks != page.marks,
        "head": [_any(part, in_head) | {"title": in_head(part.title).strip()} for part in page.head],
        "head_widths": _shares(page.head),
        "client_title": fit(page.client_title).strip(),
        "client": _any(page.client, in_head),
        "client_labels": [_label(page.client[n :: 1 if page.large else 2]) for n in range(1 if page.large else 2)],
        "introduction": fit(page.introduction),
        "sections": _sections(page.sections, printable, page.large),
        "closing": [fit(line) for line in page.closing],
        "running": in_frame(_cut(page.running, MOST_RUNNING)),
        "large": page.large,
        "marked": page.kind == "client",
    }


def _cut(words: str, most: int) -> str:
    """Words in one line, no longer than so."""
    line = " ".join(words.split())
    return line if len(line) <= most else line[: most - 1].rstrip() + "…"


def spoken(tag: str) -> tuple[str, str | None]:
    """Language and region of a language tag, as the template takes them; an odd tag says nothing."""
    found = _LANGUAGE.fullmatch(tag)
    return (found[1].lower(), found[2].upper() if found[2] else None) if found else ("", None)


def _fitting(printable: Printable, longest: int, large: bool) -> Fit:
    """Words with places where a line may break in what has none: behind signs first, else anywhere."""
    longest = longest * 2 // 3 if large else longest
    long = re.compile(rf"\S{{{longest + 1},}}")
    still_long = re.compile(rf"[^\s{_BREAK}]{{{longest + 1},}}")
    piece = re.compile(rf"(.{{{PIECE}}})(?=.)")

    def broken(found: re.Match[str]) -> str:
        in_parts = _SIGN.sub(rf"\1{_BREAK}", found[0])
        return still_long.sub(lambda part: piece.sub(rf"\1{_BREAK}", part[0]), in_parts)

    def fit(words: str) -> str:
        text = printable.fit(words)
        return long.sub(broken, text) if len(text) > longest else text

    return fit


def _sections(sections: list[Section], printable: Printable, large: bool) -> list[dict[str, Any]]:
    """Red flags first. Levels never skip one, as readers of a tagged document need it."""
    found = []
    level = 1
    in_side = _fitting(printable, IN_SIDE, large)
    for section in sorted(sections, key=lambda s: s.frame != "alert"):
        level = max(2, min(section.level, level + 1)) if section.title.strip() else level
        most = LONG_EARS if any(isinstance(b, Ears | Pictures) for b in section.blocks) else LONG_SECTION
        long = size(section) > (most // 2 if large else most) or any(map(_tall, section.blocks))
        found.append({
            "title": in_side(section.title).strip(),
            "level": level,
            "frame": section.frame,
            "wide": bool(section.frame) or any(isinstance(b, Ears | Pictures | Grid | Passage) for b in section.blocks),
            "long": long,
            "heads": _heading_width(section),
            "passages": any(isinstance(b, Passage) for b in section.blocks),
            "blocks": [_block(block, printable, large, long) for block in section.blocks],
        })  # fmt: skip
    return found


def _heading_width(section: Section) -> int:
    most, narrow = NARROW_HEADINGS.get(section.key, (0, HEADING_WIDTH))
    return narrow if len(section.title) <= most else HEADING_WIDTH


def _block(block: Any, printable: Printable, large: bool, long: bool) -> dict[str, Any]:
    """`long`: the section may go over to the next page, and its tables must keep their rows together themselves."""
    if isinstance(block, Passage):
        language, region = spoken(block.language)
        fit = _fitting(printable, IN_CELL, large)
        return {"is": "Passage", "language": language, "region": region, "tree": tree(block.html, fit)}
    columns = (
        len(block.headings) if isinstance(block, Grid) else len(block.pictures) if isinstance(block, Pictures) else 0
    )
    longest = IN_CELL if isinstance(block, Ears) else max(GRID_WIDTH // columns, PIECE) if columns else IN_FRAME
    made: dict[str, Any] = _any(block, _fitting(printable, longest, large))
    if isinstance(block, Lines):
        made["short"] = len(block.title) <= SHORT_TITLE
    elif isinstance(block, Pairs):
        made["label"] = _label(block.rows)
    elif isinstance(block, Grid):
        made["repeat"] = size(block.headings) <= LONG_HEADINGS
        made["breakable"] = not long or max(map(size, block.rows), default=0) > LONG_ROW
        made["widths"] = _widths(block)
    elif isinstance(block, Ears):
        for row, of in zip(made["rows"], block.rows, strict=True):
            row["titled"] = _fitting(printable, 7, large)(of.title)
            row["breakable"] = not long or size(of) > LONG_ROW
    elif isinstance(block, Pictures):
        made["columns"] = max(1, min(len(block.pictures), PICTURES_IN_A_ROW))
        widest = SHEET_WIDTH / made["columns"] - 4
        for picture, source in zip(made["pictures"], block.pictures, strict=True):
            picture["long"] = size(source) > LONG_PICTURE
            picture["width"] = round(min(widest, MOST_WIDTH, MOST_HEIGHT * _shape(source.svg)), 1)
    return made


def _shares(head: list[Part]) -> list[float]:
    """How the parts of the head share the width: those with labels need a little more."""
    weights = [1.25 if part.rows else 1.0 for part in head]
    return [weight / sum(weights) for weight in weights]


def _label(rows: list[tuple[str, str]]) -> float:
    """Room for the labels of pairs, in sizes of type."""
    return round(min(max((len(name) for name, _ in rows), default=0), 22) * EM + 1.2, 2)


def _widths(grid: Grid) -> list[int]:
    """How the columns share the width: by their longest cell, within limits, and never less than its longest word."""
    found = []
    for number, heading in enumerate(grid.headings):
        cells = [heading, *(row[number] for row in grid.rows if number < len(row))]
        words = max((len(word) for cell in cells for word in cell.split()), default=1)
        found.append(max(min(max(map(len, cells)), 26), min(words, 20), 4) + 4)
    return found


def _tall(block: Any) -> bool:
    """Whether a drawing has so long a legend that the column under it may not fit a page."""
    return isinstance(block, Pictures) and any(size(picture) > LONG_PICTURE for picture in block.pictures)


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
    """How many characters something holds, in effect: lines, members and drawings take room as well. A passage of
    others may hold anything, and so is always long."""
    if isinstance(value, str):
        return len(value) + 60 * value.count("\n")
    if isinstance(value, list | tuple):
        return sum(map(size, value)) + 20 * len(value)
    if isinstance(value, Passage):
        return LONG_SECTION + 1
    if isinstance(value, Picture):
        return size(value.title) + size(value.legend) + 150
    return sum(size(getattr(value, f.name)) for f in fields(value)) if is_dataclass(value) else 0
