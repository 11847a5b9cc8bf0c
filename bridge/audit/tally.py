"""Record after record in, one `Audited` out; what is kept does not grow with the number of records.

Exact: all counts of records and items, and the counts of terms as long as no more than `terms.MOST_TERMS` different
ones are met (then those used once are let go, and that is told). Sampled: evidence, of which the first few are kept.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from heapq import heappush, heappushpop

from bridge.audit.across_terms import Shown, one_code, several_codes, spellings, two_kinds
from bridge.audit.alike import Known, suggestions
from bridge.audit.coders import agreement
from bridge.audit.item_rules import ItemRules, Looked, placed
from bridge.audit.patterns import Pattern, conflict_rules, of_rule, patterns
from bridge.audit.shapes import Audited, Entry, Group, Item, LeftOut, PatternFound, Rate, Worst
from bridge.audit.terms import Term, Terms
from bridge.issues import Issue, Severity, Where, issue, rule_of

EVIDENCE = 20
MOST_GROUPS = 1_000
"""Practitioners, and months, of which rates are kept."""
MOST_TOLD = 500
"""Terms that an `Audited` holds."""
WORST = 10
_OF_WORST = 50
"""Issues that are kept of one of the worst records."""


@dataclass(slots=True)
class _Rates:
    records: int = 0
    due: int = 0
    due_coded: int = 0
    ear_items: int = 0
    sided: int = 0
    items: int = 0
    text_only: int = 0
    coded: int = 0
    unspecific: int = 0
    retired: int = 0
    conflicts: int = 0

    def add(self, other: _Rates) -> None:
        for name in self.__slots__:
            setattr(self, name, getattr(self, name) + getattr(other, name))

    def group(self, name: str) -> Group:
        return Group(
            name, self.records, Rate(self.due_coded, self.due), Rate(self.sided, self.ear_items),
            Rate(self.text_only, self.items), Rate(self.unspecific, self.coded), Rate(self.conflicts, self.records),
        )  # fmt: skip


@dataclass(slots=True)
class _Seen:
    """What is known of one pattern so far."""

    records: int = 0
    evidence: list[Issue] = field(default_factory=list)
    rules: dict[str, int] = field(default_factory=dict)
    severity: Severity = Severity.information


@dataclass(slots=True)
class _BothWays:
    """Entries that hold both ears at once, and pairs of entries, for A104."""

    at_once: int = 0
    apart: int = 0
    evidence: tuple[list[Issue], list[Issue]] = field(default_factory=lambda: ([], []))


class Tally:
    """`evidence`: how many issues are kept of each pattern, and of each code of a term. `known`: the practice's own
    words, and those that ship."""

    def __init__(self, evidence: int = EVIDENCE, known: Known = lambda kind: {}) -> None:
        self._evidence = evidence
        self._known = known
        self._all = _Rates()
        self._people: dict[str, _Rates] = {}
        self._months: dict[str, _Rates] = {}
        self._left_out = False
        self._could: dict[str, int] = defaultdict(int)
        self._seen: dict[str, _Seen] = defaultdict(_Seen)
        self._terms = Terms(evidence)
        self._rules = ItemRules()
        self._worst: list[tuple[int, int, int, Worst]] = []
        self._both = _BothWays()
        self._snomed = [0, 0]
        """Codes of SNOMED CT, and those among them that name their edition."""
        self.left_out = LeftOut()

    def enter(self, entry: Entry) -> None:
        """One more record."""
        nth, rates = self._all.records, _Rates(records=1)
        self._could[entry.source] += 1
        found = [one for one in entry.issues if one.rule in of_rule()]
        foreign = entry.source != "visit"
        for item in entry.items:
            looked = self._rules.look(item, foreign)
            self._count(rates, item, looked)
            if looked.faults:
                where = Where(path=item.path)
                found += [placed(fault, where, item.text) for fault in looked.faults]
            if item.text and (item.due or item.codings):
                self._terms.take(item, looked, nth, entry)
        kept_as_notes = sum(one.rule == "R138" for one in entry.issues)
        rates.due += kept_as_notes
        rates.items += kept_as_notes
        rates.text_only += kept_as_notes
        rates.conflicts = int(any(one.rule in conflict_rules() for one in found))
        self._show(entry, found)
        self._keep_worst(entry, nth, found)
        self._all.add(rates)
        self._group(self._people, entry.practitioner, rates)
        self._group(self._months, entry.month, rates)

    def both_ways(self, entry: Entry, at_once: list[str], apart: list[str]) -> None:
        """Notes how one record holds what is true of both ears."""
        self._both.at_once += bool(at_once)
        self._both.apart += bool(apart)
        for paths, kept in zip((at_once, apart), self._both.evidence, strict=True):
            if paths and len(kept) < self._evidence:
                kept.append(
                    issue("A104", "Both ears are held here in the rarer of two ways.", entry.at(paths[0]), cause="A104")
                )

    def _count(self, rates: _Rates, item: Item, looked: Looked) -> None:
        coded = bool(item.codings)
        if item.due:
            rates.due += 1
            rates.due_coded += coded
            rates.items += 1
            rates.text_only += not coded and bool(item.text)
        if item.side:
            rates.ear_items += 1
            rates.sided += item.side != "unknown"
        if coded:
            rates.coded += 1
            rates.unspecific += looked.general
            rates.retired += looked.retired
            self._snomed[0] += looked.snomed
            self._snomed[1] += looked.editions

    def _show(self, entry: Entry, shown: list[Issue]) -> None:
        met: set[str] = set()
        for one in shown:
            for pattern in of_rule()[one.rule]:
                seen = self._seen[pattern.code]
                if pattern.code not in met:
                    met.add(pattern.code)
                    seen.records += 1
                seen.rules[one.rule] = seen.rules.get(one.rule, 0) + 1
                seen.severity = max(seen.severity, one.severity)
                if len(seen.evidence) < self._evidence:
                    seen.evidence.append(self._with_place(entry, one))

    def _with_place(self, entry: Entry, found: Issue) -> Issue:
        if found.where.path and not found.where.file:
            return replace(found, where=entry.at(found.where.path))
        where = entry.where
        return found.at(file=where.file, sheet=where.sheet, row=where.row, record=entry.number, unseen=where.unseen)

    def _keep_worst(self, entry: Entry, nth: int, found: list[Issue]) -> None:
        told = [one for one in found if one.severity >= Severity.warning]
        if not told:
            return
        key = (sum(int(one.severity) for one in told), -nth)
        if len(self._worst) == WORST and key <= self._worst[0][:2]:
            return
        told.sort(key=lambda one: -one.severity)
        issues = tuple(self._with_place(entry, one) for one in told[:_OF_WORST])
        kept = (*key, nth, Worst(entry.number, entry.where, issues))
        if len(self._worst) < WORST:
            heappush(self._worst, kept)
        else:
            heappushpop(self._worst, kept)

    def _group(self, groups: dict[str, _Rates], name: str, rates: _Rates) -> None:
        if not name:
            return
        if name not in groups and len(groups) >= MOST_GROUPS:
            self._left_out = True
            return
        groups.setdefault(name, _Rates()).add(rates)

    def audited(self) -> Audited:
        """Everything that the records entered so far say."""
        terms = list(self._terms.by_use())
        alike = suggestions(terms, self._known)
        by_words: dict[tuple[str, str], list[Term]] = defaultdict(list)
        for term in terms:
            by_words[term.kind, term.told().text].append(term)
        across = {
            "I07": spellings(by_words, alike),
            "I08": two_kinds(terms),
            "I28": several_codes(terms),
            "I29": one_code(terms),
            "I04": self._in_two_ways(),
        }
        every = self._all
        months = sorted(self._months)
        return Audited(
            every.records,
            months[0] if months else "",
            months[-1] if months else "",
            Rate(every.due_coded, every.due),
            Rate(every.sided, every.ear_items),
            Rate(every.text_only, every.items),
            Rate(every.unspecific, every.coded),
            Rate(every.retired, every.coded),
            Rate(every.conflicts, every.records),
            *_consistency(terms),
            tuple(term.told() for term in terms[:MOST_TOLD]),
            tuple(self._people[name].group(name) for name in sorted(self._people)),
            tuple(self._months[name].group(name) for name in months),
            agreement(terms),
            tuple(self._pattern(one, across.get(one.code)) for one in patterns()),
            tuple(alike[:MOST_TOLD]),
            tuple(kept[3] for kept in sorted(self._worst, key=lambda one: (-one[0], one[2]))),
            self.left_out,
            list(self._told()),
        )

    def _in_two_ways(self) -> Shown:
        both = self._both
        if not both.at_once or not both.apart:
            return Shown(0, [])
        rarer = int(both.apart < both.at_once)
        return Shown((both.at_once, both.apart)[rarer], both.evidence[rarer])

    def _pattern(self, pattern: Pattern, across: Shown | None) -> PatternFound:
        could = sum(count for source, count in self._could.items() if source not in pattern.hidden)
        hidden = next((pattern.hidden[s] for s in self._could if s in pattern.hidden), "") if not could else ""
        seen = self._seen.get(pattern.code, _Seen())
        records, evidence, rules, severity = seen.records, seen.evidence, seen.rules, seen.severity
        if across is not None and across.records:
            records += across.records
            evidence = [*evidence, *across.evidence][: self._evidence]
            rules = {**rules, across.evidence[0].rule: across.records} if across.evidence else rules
            severity = max([severity, *(one.severity for one in across.evidence)])
        if not records and pattern.rules:
            severity = max((page.severity for rule in pattern.rules if (page := rule_of(rule))), default=severity)
        told = tuple(sorted(rules, key=lambda rule: (-rules[rule], rule))) or pattern.rules
        rate = Rate(min(records, could), could)
        return PatternFound(pattern.code, pattern.title, told, severity, rate, tuple(evidence), pattern.do, hidden)

    def _told(self) -> Iterator[Issue]:
        codes, editions = self._snomed
        if codes and editions < codes:
            message = f"{codes - editions} of {codes} SNOMED CT codes do not name their edition."
            yield issue("A135", message, cause="A135")
        if self._terms.let_go:
            message = f"{self._terms.let_go} rare words were let go, so counts of rare words are approximate."
            yield issue("A190", message, cause="A190")
        if self._left_out:
            yield issue(
                "A191",
                f"More than {MOST_GROUPS} practitioners or months; the rest has no rates of its own.",
                cause="A191",
            )


def _consistency(terms: list[Term]) -> tuple[float | None, float | None]:
    """Means of the terms' own, weighted by their coded uses."""
    weights, shares, bits = 0, 0.0, 0.0
    for term in terms:
        told = term.told()
        coded = sum(code.count for code in told.codes)
        weights += coded
        shares += coded * told.consistency
        bits += coded * told.entropy
    return (shares / weights, bits / weights) if weights else (None, None)
