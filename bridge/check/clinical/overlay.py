"""What a practice adds to the rules and changes of them: `clinical/*.yaml` of its folder. Nothing is ever loosened."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from bridge.check.clinical.compile_rule import OWN
from bridge.check.clinical.faults import unfit
from bridge.check.clinical.files import Library, RuleFile, read_all, refuse
from bridge.check.clinical.rule import ClinicalRule
from bridge.check.clinical.rulebook import Change, RuleBook
from bridge.clinical_pages import page_of
from bridge.issues import Rule, Severity, know
from bridge.rule_file import read_rule_file

FOLDER = "clinical"
KEYS = ("groups", "questions", "sources", "rules", "changes")
_CHANGE = {"code", "switch", "severity", "reason", "by", "since", "until"}
_LEAST_REASON = 5
"""Letters below which nothing is a reason."""


def own_rules(folder: Path, shipped: Library) -> RuleBook:
    """The shipped rules with the practice's own and its changes; their pages are known from then on.

    Raises MappingError with every fault of the practice's files.
    """
    paths = sorted((folder / FOLDER).glob("*.yaml")) if (folder / FOLDER).is_dir() else []
    files = [RuleFile(path, read_rule_file(path), KEYS) for path in paths]
    if not files:
        return RuleBook(shipped.rules)
    changes: dict[str, Change] = {}
    by_code = {rule.code: rule for rule in shipped.rules}
    for file in files:
        for number, spec in enumerate(file.part("changes")):
            made = _change(spec, f"changes[{number}]", file, by_code)
            if made and made.code in changes:
                file.faults.add(f"changes[{number}].code", f"the rule {made.code} is changed twice")
            elif made:
                changes[made.code] = made
    found = read_all(files, shipped, OWN)
    refuse(files)
    know(_pages(files, found))
    return RuleBook(found.rules, changes.values())


def _pages(files: Sequence[RuleFile], found: Library) -> Iterator[Rule]:
    for file in files:
        for spec in file.part("rules"):
            row = page_of(spec, found.sources)
            yield Rule(**{**row, "severity": Severity[row["severity"]]})


def _change(spec: Any, place: str, file: RuleFile, rules: dict[str, ClinicalRule]) -> Change | None:
    """The change, or None where it has faults."""
    add = file.faults.add
    if not isinstance(spec, dict):
        add(place, "is no change: it needs a code, `switch` or `severity`, and a reason")
        return None
    told = list(_faults(spec, rules))
    for key, problem in told:
        add(f"{place}.{key}" if key else place, problem)
    if told:
        return None
    severity = Severity[spec["severity"]] if "severity" in spec else None
    return Change(
        spec["code"],
        severity,
        " ".join(spec["reason"].split()),
        spec.get("by", ""),
        spec.get("since"),
        spec.get("until"),
    )


def _faults(spec: dict[Any, Any], rules: dict[str, ClinicalRule]) -> Iterator[tuple[str, str]]:
    for key in spec:
        if key not in _CHANGE:
            yield str(key), f"`{str(key)[:60]}` is nothing that a change has"
    rule = rules.get(spec["code"]) if isinstance(spec.get("code"), str) else None
    if rule is None:
        yield "code" if "code" in spec else "", "names no code of a shipped rule"
    reason = spec.get("reason")
    if not isinstance(reason, str) or sum(map(str.isalpha, reason)) < _LEAST_REASON or len(reason) > 500:
        yield "reason" if "reason" in spec else "", "says no reason (a sentence of up to 500 characters)"
    elif problem := unfit(reason):
        yield "reason", f"`reason` {problem}"
    if not isinstance(spec.get("by", ""), str) or len(spec.get("by", "")) > 80 or unfit(spec.get("by", "")):
        yield "by", "`by` is no name or role"
    for key in ("since", "until"):
        if key in spec and not isinstance(spec[key], date):
            yield key, f"`{key}` is no day (2026-11-26)"
    if isinstance(spec.get("since"), date) and isinstance(spec.get("until"), date) and spec["since"] > spec["until"]:
        yield "until", "ends before it begins"
    if ("switch" in spec) == ("severity" in spec):
        yield "", "needs one of `switch: off` and `severity`"
    elif "switch" in spec and spec["switch"] not in (False, "off"):
        yield "switch", "`switch` can only be off; a rule is on without it"
    elif "severity" in spec:
        yield from _severity(spec["severity"], rule)


def _severity(given: Any, rule: ClinicalRule | None) -> Iterator[tuple[str, str]]:
    if given not in ("information", "warning", "error"):
        yield "severity", "`severity` is none of information, warning, error"
    elif rule and Severity[given] <= rule.severity:
        yield (
            "severity",
            f"{rule.code} is {rule.severity.name} as shipped and is never loosened; switch it off or leave it",
        )
    elif rule and given == "error" and rule.status == "memory":
        yield "severity", f"{rule.code} rests on memory; it may warn, and never be an error"
