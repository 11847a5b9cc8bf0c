"""What was found, where, how bad, under which stable code.

An Issue is a value, not a sentence: reports in text, JSON, CSV and OperationOutcome are made from
the same fields. Rule codes are one letter and three digits; the page of each stands in
`mappings/rules/<letter>.yaml` and is what `visit-bridge explain` prints.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from enum import IntEnum
from functools import cache
from typing import Any

from bridge.clinical_pages import clinical_pages
from bridge.data import load_yaml, table_path
from bridge.errors import MappingError


class Severity(IntEnum):
    """FHIR IssueSeverity, ordered so that the worst compares greatest."""

    information = 0
    warning = 1
    error = 2
    fatal = 3


_DOCUMENTS = frozenset("SBVNPT")
"""Letters of the rules about documents: their causes are told before what follows from them."""
_NUMBER_OR_QUOTED = re.compile(r"“[^”]*”|\d+")


@dataclass(frozen=True, slots=True)
class Where:
    """A place in a source: any part may be missing.

    `row` and `column` count from 1 as a person counts them (the heading is row 1; for YAML, JSON and XML they are
    line and column); `heading` is the column's own heading; `path` is the field of the visit
    (`right.before.wax.amount`) or of a resource, spelt as JSON does (`Observation.valueQuantity`); `record` is the
    visit's local number.
    """

    file: str = ""
    sheet: str = ""
    row: int | None = None
    column: int | None = None
    heading: str = ""
    path: str = ""
    record: str = ""
    expression: str = ""
    """The same place in a resource as FHIRPath (`Observation.value`), for programs; empty outside of resources."""
    unseen: bool = False
    """Whether the row is a count of ours that the person's own program does not show, as in a database."""

    def __str__(self) -> str:
        parts = [self.file] if self.file else []
        if self.sheet:
            parts.append(f"sheet {self.sheet}")
        if self.unseen and self.record:
            parts.append(f"visit {self.record}" + (f", column “{self.heading}”" if self.heading else ""))
        elif self.row is not None and self.heading:
            parts.append(f"row {self.row}, column “{self.heading}”")
        elif self.row is not None and self.column is not None:
            parts.append(f"line {self.row}, column {self.column}")
        elif self.row is not None:
            parts.append(f"row {self.row}")
        if not parts and self.record:
            parts.append(f"visit {self.record}")
        if self.path and not self.heading:
            parts.append(self.path)
        return ", ".join(parts)


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule's page: what it means, why it matters, what to do, an example, its source."""

    code: str
    title: str
    severity: Severity
    kind: str
    """FHIR IssueType code, http://hl7.org/fhir/issue-type."""
    what: str
    do: str
    why: str = ""
    wrong: str = ""
    right: str = ""
    source: str = ""
    trade: bool = False
    """True for checks of the trade (sides, identifiers, clinical); False for conformance and reading."""
    status: str = ""
    """How far a clinical rule is vouched for: published, seen in part, common practice, memory."""
    flag: str = ""
    urgency: str = ""
    to: tuple[str, ...] = ()
    """Of a red flag: its id, how fast, and the places of referral (concepts) that its source names."""
    regions: tuple[str, ...] = ()
    reviewed: str = ""


@dataclass(frozen=True, slots=True)
class Issue:
    """One thing found. `cause` groups what one answer would mend (the same word in forty rows)."""

    rule: str
    message: str
    where: Where = Where()
    help: str = ""
    severity: Severity = Severity.error
    kind: str = "invalid"
    cause: str = ""
    attention: bool = False
    """Whether it is told before everything else: a red flag to be seen at once that nobody answered."""

    def at(self, **place: Any) -> Issue:
        """The same issue with parts of its place filled in where they are still empty."""
        empty = {k: v for k, v in place.items() if v and not getattr(self.where, k)}
        return replace(self, where=replace(self.where, **empty)) if empty else self

    @property
    def saying(self) -> str:
        """The message without its numbers of rows and the like; what it quotes stays as it is."""
        return _NUMBER_OR_QUOTED.sub(lambda found: found[0] if found[0][0] == "“" else "#", self.message)


def issue(rule: str, message: str, where: Where = Where(), *, help: str = "", cause: str = "") -> Issue:
    """An Issue with severity, kind and help taken from the rule's page unless given."""
    page = _family(rule[0])[rule]
    return Issue(rule, message, where, help or page.do, page.severity, page.kind, cause or f"{rule}:{message}")


def rule_of(code: str) -> Rule | None:
    """The page of a rule, or None where there is none; only the pages of its family are read."""
    return _OWN.get(code) or _family(code[:1]).get(code)


_OWN: dict[str, Rule] = {}
"""Pages of the rules of the practice whose folder was read last."""


def know(pages: Iterable[Rule]) -> None:
    """Makes the pages of a practice's own rules known to `rule_of`, in place of those known before."""
    _OWN.clear()
    _OWN.update((page.code, page) for page in pages)


@cache
def rules() -> dict[str, Rule]:
    """Every rule by its code, from `mappings/rules/*.yaml`."""
    letters = sorted({path.name[0] for path in table_path("rules").glob("*.yaml")})
    return {code: page for letter in letters for code, page in _family(letter).items()}


@cache
def _family(letter: str) -> dict[str, Rule]:
    found: dict[str, Rule] = {}
    paths = sorted(table_path("rules").glob(f"{letter}-*.yaml") if letter.isalpha() else ())
    rows = [row for path in paths for row in load_yaml(path)["rules"]]
    for row in [*rows, *(clinical_pages() if letter == "C" else ())]:
        code = row["code"]
        if code in found:
            raise MappingError(f"Rule {code} is defined twice.")
        if code[0] != letter:
            raise MappingError(f"Rule {code} does not belong among those of {letter}.")
        found[code] = Rule(**{**row, "severity": Severity[row["severity"]]})
    return found


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one record: its number, ready or need you or no letter due, and where it stands."""

    record: str
    state: str
    where: Where = Where()


@dataclass(frozen=True, slots=True)
class LeftAlone:
    """A row that is no record, and why."""

    why: str
    where: Where


@dataclass(frozen=True, slots=True)
class Made:
    """A file that a run was to write, and what became of it: written, replaced, unchanged, or left as it was."""

    path: str
    state: str
    record: str = ""
    """Number of the visit or the client."""


@dataclass(frozen=True, slots=True)
class Explained:
    """One element of a document, and what of which profiles it was held against."""

    path: str
    depth: int
    """How many elements it stands in, for a tree."""
    type: str
    """Its type where it is a resource; else empty."""
    held: tuple[tuple[str, str, str], ...]
    """Profile, element of the profile, slice (empty where in none); nothing where only the standard speaks of it."""
    rules: tuple[str, ...] = ()
    """Codes of the issues told of this very element."""
    file: str = ""
    row: int | None = None
    """The line, where each line of the file is a resource of its own."""


@dataclass
class Report:
    """Issues of one run, with what the run did."""

    issues: list[Issue] = field(default_factory=list)
    figures: dict[str, int] = field(default_factory=dict)
    """Named counts of the run (visits, ready, held ...), for the summary line and for JSON."""

    outcomes: list[Outcome] = field(default_factory=list)
    """What became of each record, in their order."""

    left_alone: list[LeftAlone] = field(default_factory=list)
    """Rows that were not read as records, in their order."""

    files: list[Made] = field(default_factory=list)
    """Files of the run in their order, where it names them one by one."""

    explained: list[Explained] = field(default_factory=list)
    """Elements of the documents with the profiles that they were held against, where that was asked for."""

    def extend(self, issues: Iterable[Issue]) -> None:
        self.issues.extend(issues)

    def count(self, name: str, by: int = 1) -> None:
        self.figures[name] = self.figures.get(name, 0) + by

    @property
    def worst(self) -> Severity | None:
        return max((i.severity for i in self.issues), default=None)

    def fails(self, at: Severity) -> bool:
        """Whether anything stands at or above the given severity."""
        return self.worst is not None and self.worst >= at

    def by_cause(self) -> Iterator[list[Issue]]:
        """Issues with one cause that say the same together: what needs attention now, then the worst, then as met.

        Of what is wrong with records the most frequent comes first; issues of documents have an order of their own.
        """
        groups: dict[str, list[Issue]] = {}
        for found in self.issues:
            groups.setdefault(f"{found.rule}|{found.cause}|{found.saying}", []).append(found)
        return iter(sorted(groups.values(), key=_worst_first))


def _worst_first(group: list[Issue]) -> tuple[bool, int, int]:
    return not group[0].attention, -group[0].severity, 0 if group[0].rule[:1] in _DOCUMENTS else -len(group)
