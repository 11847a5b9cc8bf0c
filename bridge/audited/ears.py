"""Ears that are recorded alike are coded and looked at once: most of a practice's ears are.

What one ear says is coded without a look at the other or at the client, and of the rules those that ask of nothing else
but a few words of the visit, most often the same, are judged by it and these; a test holds this to visits taken whole.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from hashlib import blake2b

from bridge.audit.shapes import Item
from bridge.audit.visit_items import visit_items
from bridge.audited.known import WordsKnown
from bridge.check.clinical.engine import judge
from bridge.check.clinical.rule import ClinicalRule
from bridge.check.clinical.rulebook import RuleBook
from bridge.check.clinical.told import issues_of
from bridge.check.visit import check_facts
from bridge.coding import TermMaps, code_visit
from bridge.ear_words import EARS, Ear
from bridge.issues import Issue
from bridge.visit import EarRecord, Visit

MOST = 1_000
"""Ears that are kept; then all are let go."""
_BESIDE = ("cautions", "reasons", "medicines")
_MAY_ASK = ("ear.", "item.", "work.", "other.history.", *(f"visit.{name}." for name in _BESIDE))
"""What rules of one ear may ask of: ears are told apart by all of it."""


@dataclass(frozen=True, slots=True)
class Known:
    """One ear, coded, with what coding and the rules that ask of it alone say, and its items."""

    record: EarRecord
    issues: tuple[Issue, ...]
    items: tuple[Item, ...]


def of_one_ear(rule: ClinicalRule) -> bool:
    """Whether a rule looks at one ear, and asks of nothing outside of it but what stands beside it."""
    return all(f"{each}.".startswith("ear.") for each in rule.each) and all(
        f"{read}.".startswith(_MAY_ASK) for question in rule.questions() for read in question.reads
    )


class Ears:
    """`rules`: those for `of_one_ear`, as they hold on every day."""

    def __init__(self, maps: TermMaps, words: WordsKnown, rules: Iterable[ClinicalRule]) -> None:
        self._maps = maps
        self._words = words
        self._rules = RuleBook(rules)
        self._known: dict[bytes, Known] = {}
        self._met: dict[tuple[Ear, int, str], tuple[EarRecord, Known]] = {}
        """By the record as reading made it, which is the same object for many ears that are told alike."""

    def coded(self, visit: Visit) -> tuple[Visit, list[Issue], tuple[Item, ...]]:
        """The coded visit, its items, and what coding, the check and the rules of one ear say, as far as a
        pattern names it."""
        rest, found = code_visit(visit.model_copy(update={"right": None, "left": None}), self._maps)
        found += check_facts(rest)
        items = visit_items(rest, self._words.expects, self._words.of)
        beside = rest.model_dump_json(include=set(_BESIDE), exclude_defaults=True)
        histories = {ear: _history(visit.ear(ear)) for ear in EARS}
        ears: dict[str, EarRecord] = {}
        for ear in EARS:
            record = visit.ear(ear)
            if record is not None:
                other = histories["left" if ear == "right" else "right"]
                known = self._of(ear, record, other, rest, f"{beside}{other}")
                ears[ear] = known.record
                found += known.issues
                items += known.items
        return rest.model_copy(update=ears), found, items

    def _of(self, ear: Ear, record: EarRecord, other: EarRecord | None, rest: Visit, beside: str) -> Known:
        same = (ear, id(record), beside)
        met = self._met.get(same)
        if met is not None and met[0] is record:
            return met[1]
        said = f"{ear}{record.model_dump_json(exclude_none=True)}{beside}"
        key = blake2b(said.encode("utf-8", "replace"), digest_size=16).digest()
        known = self._known.get(key)
        if len(self._known) >= MOST or len(self._met) >= MOST:
            self._known.clear()
            self._met.clear()
        if known is None:
            known = self._known[key] = self._look(ear, record, other, rest)
        self._met[same] = record, known
        return known

    def _look(self, ear: Ear, record: EarRecord, other: EarRecord | None, rest: Visit) -> Known:
        """`other`: what is known of the other ear from before."""
        alone = Visit.model_construct(number="", client=rest.client, start=rest.start)
        both: dict[str, EarRecord | None] = {"right": other, "left": other, ear: record}
        coded, issues = code_visit(alone.model_copy(update=both), self._maps)
        issues += check_facts(coded)
        found = [one for one in issues if one.where.path.startswith(f"{ear}.")]
        with_beside = coded.model_copy(update={name: getattr(rest, name) for name in _BESIDE})
        found += issues_of([one for one in judge(with_beside, self._rules, asks=False) if one.ear == ear])
        items = visit_items(coded, self._words.expects, self._words.of)
        whole = coded.ear(ear)
        assert whole is not None
        return Known(whole, tuple(found), tuple(item for item in items if item.side == ear))


def _history(record: EarRecord | None) -> EarRecord | None:
    """An ear of which only its history is kept; None where it has none."""
    return EarRecord.model_construct(history=record.history) if record is not None and record.history else None
