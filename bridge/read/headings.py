"""Which rows of a table hold its headings, and what they say where there are several."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import islice

from bridge.layout.tables import fold
from bridge.read.rows import Raw, Span, Table

HEADING_WITHIN = 20
"""Headings stand among so many first rows."""
DEEPEST = 3
"""Rows that headings are looked for in, one above the other, where the layout does not say how many."""


def heading(table: Table, known: frozenset[str] = frozenset(), count: int = 0) -> tuple[list[str], int]:
    """The headings of a table and the number of the first row of data below them; no headings where it is empty.

    Headings in several rows are told as one: `Right ear / Wax`. `known`: folded headings that a layout looks for;
    `count`: how many rows hold headings, 0 where that is to be found out.
    """
    if table.names is not None:
        return list(table.names), 1
    first = list(islice(table.rows(), HEADING_WITHIN))
    filled = [r for r in first if not r.blank and not r.cells[0].lower().startswith("sep=")]
    if not filled:
        return [], 1
    spans = [s for s in table.spans() if s.top <= filled[-1].number]
    block = _block(filled, known, count, spans)
    return _names(block, spans), block[-1].number + 1


def _block(filled: list[Raw], known: frozenset[str], count: int, spans: Sequence[Span]) -> list[Raw]:
    """The rows of headings: those that give most of the known ones, or else the first that is wide enough."""
    depths = (count,) if count else range(1, DEEPEST + 1)
    ends = [(depth, end) for depth in depths for end in range(depth, len(filled) + 1)]
    blocks = [filled[end - depth : end] for depth, end in ends if _together(filled, end, depth)]
    if blocks and known:
        best = max(blocks, key=lambda b: (_matches(b, known, spans), -len(b), -b[-1].number))
        if _matches(best, known, spans) >= 2:
            return best
    most = max(sum(1 for c in r.cells if c.strip()) for r in filled)
    at = next(i for i, r in enumerate(filled) if sum(1 for c in r.cells if c.strip()) * 2 >= most)
    if count:
        return filled[at : at + count]
    return _with_groups(filled, at, spans)


def _together(filled: list[Raw], end: int, depth: int) -> bool:
    """Whether rows follow one another without a blank row between."""
    return filled[end - 1].number - filled[end - depth].number == depth - 1


def _matches(block: list[Raw], known: frozenset[str], spans: Sequence[Span]) -> int:
    return sum(fold(name) in known for name in _names(block, spans))


def _with_groups(filled: list[Raw], at: int, spans: Sequence[Span]) -> list[Raw]:
    """The wide row, with the row of groups above it or the row of details below it where there is one."""
    own = filled[at]
    if at + 1 < len(filled) and _together(filled, at + 2, 2) and _is_group_row(own, filled[at + 1], spans):
        return filled[at : at + 2]
    if at and _together(filled, at + 1, 2) and _is_group_row(filled[at - 1], own, spans):
        return filled[at - 1 : at + 1]
    return [own]


def _is_group_row(upper: Raw, lower: Raw, spans: Sequence[Span]) -> bool:
    """Whether the cells of a row are headings over several columns of the next one.

    Merged cells say so. Without them the lower row has to say the same thing under two of the upper row's cells, and
    nothing but words that are no data: the same heading twice is what groups are for.
    """
    width = len(lower.cells)
    wide = [s for s in spans if s.top == s.bottom == upper.number and s.right > s.left and not _title(s, lower)]
    if wide:
        return any(_cell(lower, column) for s in wide for column in range(s.left, min(s.right, width) + 1))
    if sum(1 for c in upper.cells if c.strip()) < 2 or any(c.strip()[:1].isdigit() for c in lower.cells):
        return False
    under = [fold(c) for column, c in enumerate(lower.cells, 1) if c.strip() and _group(upper, column)]
    gaps = any(not _cell(upper, column) for column in range(1, width + 1))
    return gaps and any(number > 1 for number in Counter(under).values())


def _group(upper: Raw, column: int) -> str:
    """The cell of the upper row that stands over a column or nearest to the left of it."""
    return next((text for at in range(column, 0, -1) if (text := _cell(upper, at))), "")


def _cell(raw: Raw, column: int) -> str:
    return " ".join(raw.cells[column - 1].replace("\x00", "").split()) if column <= len(raw.cells) else ""


def _title(span: Span, lower: Raw) -> bool:
    """Whether a merged cell spans the whole table: a title, and no heading over some columns."""
    columns = [column for column in range(1, len(lower.cells) + 1) if _cell(lower, column)]
    return bool(columns) and span.left <= columns[0] and span.right >= columns[-1]


def _names(block: list[Raw], spans: Sequence[Span]) -> list[str]:
    """One heading for each column, from the rows of headings from above."""
    width = max(len(r.cells) for r in block)
    rows = {r.number: r for r in block}
    own = [s for s in spans if s.top in rows]
    parts: list[list[str]] = [[] for _ in range(width)]
    for depth, raw in enumerate(block):
        last = depth == len(block) - 1
        carried = [] if last or any(s.top == raw.number and s.right > s.left for s in own) else _carried(raw, block[-1])
        for column in range(1, width + 1):
            span = next((s for s in own if s.left <= column <= s.right and s.top <= raw.number <= s.bottom), None)
            if span is not None and (len(block) == 1 or not _title(span, block[-1])):
                shown = raw.number == span.top and (not last or column == span.left)
                text = _cell(raw, span.left) if shown else ""
            elif span is not None:
                text = _cell(raw, column) if last else ""
            else:
                text = _cell(raw, column) or (carried[column - 1] if column <= len(carried) else "")
            if text and text not in parts[column - 1][-1:]:
                parts[column - 1].append(text)
    return [" / ".join(p) for p in parts]


def _carried(upper: Raw, lower: Raw) -> list[str]:
    """What a group without merged cells says of the columns to its right: only where the heading below stands under
    another group too, so that it could not be told apart without its group."""
    counts = Counter(fold(c) for c in lower.cells if c.strip())
    found = []
    group = ""
    for column in range(1, len(lower.cells) + 1):
        below = fold(_cell(lower, column))
        group = _cell(upper, column) or (group if counts[below] > 1 else "")
        found.append(group)
    return found
