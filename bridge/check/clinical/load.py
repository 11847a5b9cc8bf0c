"""Loads the rules: groups, questions and rules of `mappings/clinical/`, and what a practice adds."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from bridge.check.clinical.compile_question import Making, compile_question
from bridge.check.clinical.compile_rule import RuleMaker
from bridge.check.clinical.faults import Faults
from bridge.check.clinical.question import Question
from bridge.check.clinical.rule import ClinicalRule
from bridge.clinical_pages import sources
from bridge.data import load_csv, load_yaml, table_path


@dataclass(frozen=True, slots=True)
class Library:
    """All that the shipped files hold."""

    meanings: dict[str, frozenset[str]]
    questions: dict[str, Question]
    rules: tuple[ClinicalRule, ...]


def load_rules(region: str = "", folder: Path | None = None) -> tuple[ClinicalRule, ...]:
    """The rules that hold in a region (all where none is named), in the order of their codes. Raises MappingError."""
    return tuple(rule for rule in library().rules if not region or not rule.regions or region in rule.regions)


@cache
def library() -> Library:
    """The shipped groups, questions and rules. Raises MappingError for files with faults."""
    meanings = dict(_concepts())
    read_groups(_files("groups"), meanings)
    questions: dict[str, Question] = {}
    for path, data in _files("questions"):
        read_questions(path, data, meanings, questions)
    rules: dict[str, ClinicalRule] = {}
    for path, data in _files("rules"):
        read_rules(path, data, RuleMaker(questions, meanings, sources(), Faults(path)), rules)
    return Library(meanings, questions, tuple(rules[code] for code in sorted(rules)))


def _files(kind: str) -> Iterator[tuple[Path, Any]]:
    for path in sorted(table_path("clinical", kind).glob("*.yaml")):
        yield path, load_yaml(path)


def _concepts() -> Iterator[tuple[str, frozenset[str]]]:
    """Every meaning of the term maps, each standing for itself."""
    for path in sorted(table_path("terms").glob("*.csv")):
        if path.name != "kinds.csv":
            for row in load_csv(path):
                yield row["concept"], frozenset({row["concept"]})


def _top(data: Any, key: str, kind: type, faults: Faults) -> Any:
    """What stands under the one key of a file."""
    if not isinstance(data, dict) or set(data) != {key} or not isinstance(data[key], kind):
        faults.add("", f"needs `{key}:` at its top and nothing beside it")
        raise faults.error()
    return data[key]


def read_groups(files: Iterable[tuple[Path, Any]], meanings: dict[str, frozenset[str]]) -> None:
    """Adds the groups of all files to the meanings; a group may name others."""
    given: dict[str, tuple[Any, Faults]] = {}
    for path, data in files:
        faults = Faults(path)
        for name, listed in _top(data, "groups", dict, faults).items():
            if name in meanings or name in given:
                faults.add(f"groups.{name}", f"the name “{str(name)[:60]}” is taken already")
            given.setdefault(name, (listed, faults))
        if faults:
            raise faults.error()
    made = {name: _members(name, given, meanings, ()) for name in given}
    for _, faults in given.values():
        if faults:
            raise faults.error()
    meanings.update(made)


def _members(
    name: str, given: dict[str, tuple[Any, Faults]], meanings: dict[str, frozenset[str]], above: tuple[str, ...]
) -> frozenset[str]:
    listed, faults = given[name]
    found: set[str] = set()
    for number, one in enumerate(listed if isinstance(listed, list) else ()):
        at = f"groups.{name}[{number}]"
        if one in above or one == name:
            faults.add(at, "a group stands in itself")
        elif one in given:
            found |= _members(one, given, meanings, (*above, name))
        elif one in meanings:
            found |= meanings[one]
        else:
            faults.add(at, f"“{str(one)[:60]}” is neither a meaning of the term maps nor a group")
    if not found:
        faults.add(f"groups.{name}", "the group is empty")
    return frozenset(found)


def read_questions(path: Path, data: Any, meanings: dict[str, frozenset[str]], questions: dict[str, Question]) -> None:
    """Adds the questions of a file."""
    faults = Faults(path)
    for name, spec in _top(data, "questions", dict, faults).items():
        place = f"questions.{name}"
        if name in questions:
            faults.add(place, f"the question “{str(name)[:60]}” stands twice")
        made = compile_question(str(name), spec, Making(meanings, faults, place))
        if made is not None:
            questions[str(name)] = made
    if faults:
        raise faults.error()


def read_rules(path: Path, data: Any, maker: RuleMaker, rules: dict[str, ClinicalRule]) -> None:
    """Adds the rules of a file."""
    faults = maker.faults
    for number, spec in enumerate(_top(data, "rules", list, faults)):
        made = maker.make(spec, f"rules[{number}]")
        if made is not None and made.code in rules:
            faults.add(f"rules[{number}].code", f"the code {made.code} stands twice")
        if made is not None:
            rules[made.code] = made
    if faults:
        raise faults.error()
