"""The rows that a visit makes in a layout, each cell with the texts it could hold."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

from bridge.ear_words import EARS
from bridge.layout.fields import spell
from bridge.layout.model import Layout
from bridge.receive.rows.cells import Texts, cell_texts, moved
from bridge.visit import Visit


@dataclass(slots=True)
class RowDraft:
    """One row: for each column the texts that are left to try, the first of them being the one that stands there."""

    ear: str
    work: int
    texts: list[Texts]
    paths: list[tuple[str, ...]] = field(default_factory=list)
    """For each column the fields that it fills, as the visit spells them."""

    @property
    def cells(self) -> list[str]:
        return [texts[0] if texts else "" for texts in self.texts]

    def next(self, column: int) -> None:
        """The text of a column was not read back as what it says."""
        self.texts[column] = self.texts[column][1:]


def row_drafts(layout: Layout, visit: Visit, zone: ZoneInfo) -> list[RowDraft]:
    """One row, or one for each ear and each piece of work; of a visit that tells of no ear one that names both."""
    if layout.rows == "visit":
        return [_row(layout, visit, "", 0, zone)]
    found = []
    for ear in EARS:
        record = visit.ear(ear)
        pieces = range(max(len(record.work), 1)) if record else ()
        found += [_row(layout, visit, ear, work, zone) for work in pieces]
    return found or [_row(layout, visit, "both", 0, zone)]


def _row(layout: Layout, visit: Visit, ear: str, work: int, zone: ZoneInfo) -> RowDraft:
    seen: Counter[str] = Counter()
    draft = RowDraft(ear, work, [])
    for column in layout.columns:
        texts: Texts = []
        paths = []
        for target in column.targets:
            own = target.field
            further = work and own.scope == "ear" and own.steps[:1] != (("work", 0),)
            if further:
                continue
            nth = seen[own.path] if own.many and not target.separator else 0
            seen[own.path] += 1
            paths += [
                spell(moved(target, side, work)) for side in ((ear,) if ear in EARS or own.scope != "ear" else EARS)
            ]
            texts += cell_texts(layout, target, visit, ear, work, nth, zone)
        draft.texts.append(list(dict.fromkeys(texts)))
        draft.paths.append(tuple(paths))
    return draft
