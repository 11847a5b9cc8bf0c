"""What a rule looks at: a visit, one of its ears, or an item of a list, with what was already found out about each."""

from __future__ import annotations

from typing import Any

from bridge.ear_words import Ear
from bridge.visit import EarRecord, Visit

VISIT, EAR, ITEM = range(3)
"""How far in a question looks; what it finds is kept for all rules that look no further."""

Memo = dict[Any, Any]


class Context:
    """`memos` hold answers by question and values by field, one for each of VISIT, EAR and ITEM."""

    __slots__ = ("ear", "item", "memos", "other", "path", "record", "visit", "work", "work_path")

    def __init__(self, visit: Visit) -> None:
        self.visit = visit
        self.ear: Ear | None = None
        self.record: EarRecord | None = None
        self.other: EarRecord | None = None
        self.item: Any = None
        self.work: Any = None
        self.path = ""
        self.work_path = ""
        memo: Memo = {}
        self.memos: tuple[Memo, Memo, Memo] = (memo, memo, memo)

    def at_ear(self, ear: Ear) -> Context:
        """The same visit, looking at one ear; made once, so that what was found out of the ear is found again."""
        whole = self.memos[VISIT]
        inner: Context | None = whole.get(ear)
        if inner is None:
            inner = whole[ear] = Context(self.visit)
            inner.ear, inner.path = ear, ear
            inner.record = self.visit.ear(ear)
            inner.other = self.visit.ear("left" if ear == "right" else "right")
            memo: Memo = {}
            inner.memos = (whole, memo, memo)
        return inner

    def at_item(self, item: Any, path: str, work: Any, work_path: str) -> Context:
        """The same ear or visit, looking at an item; `work` is the work that it is, or stands in."""
        inner: Context = Context.__new__(Context)
        inner.visit, inner.ear, inner.record, inner.other = self.visit, self.ear, self.record, self.other
        inner.item, inner.path, inner.work, inner.work_path = item, path, work, work_path
        inner.memos = (self.memos[VISIT], self.memos[EAR], {})
        return inner

    def forget(self) -> None:
        """Lets go what was found out, ears included: they hold the visit and are held by it, and would stay in memory
        until Python looks for such circles."""
        self.memos[VISIT].clear()
