"""Files of groups, questions and rules read into one library; what is wrong with them is told all together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from bridge.check.clinical.compile_question import Making, compile_question
from bridge.check.clinical.compile_rule import OWN, RuleMaker
from bridge.check.clinical.faults import Faults, unfit
from bridge.check.clinical.question import Question
from bridge.check.clinical.rule import ClinicalRule
from bridge.errors import MappingError

_SHAPES: dict[str, tuple[type, str]] = {
    "groups": (dict, "a mapping of names"),
    "questions": (dict, "a mapping of names"),
    "sources": (dict, "a mapping of names"),
    "rules": (list, "a list"),
    "changes": (list, "a list"),
}
_DEEPEST = 10
"""Groups in groups."""
_SOURCE = ("title", "publisher", "edition", "how_seen")


@dataclass(frozen=True, slots=True)
class Library:
    """Meanings by group or concept, questions by name, rules in the order of their codes, sources by id."""

    meanings: dict[str, frozenset[str]]
    questions: dict[str, Question]
    rules: tuple[ClinicalRule, ...]
    sources: Mapping[str, Mapping[str, str]]


@dataclass
class RuleFile:
    """One file: its data, the keys that it may have at its top, and its faults."""

    path: Path
    data: Any
    keys: tuple[str, ...]
    faults: Faults = field(init=False)

    def __post_init__(self) -> None:
        self.faults = Faults(self.path)
        data = self.data if isinstance(self.data, dict) else {}
        if not data:
            self.faults.add("", f"needs {' or '.join(f'`{key}:`' for key in self.keys)} at its top")
        for key in data:
            if key not in self.keys:
                self.faults.add(str(key), f"`{str(key)[:60]}` is nothing that such a file has at its top")

    def part(self, key: str) -> Any:
        """What stands under a key; empty where it is not there, or of the wrong shape, which is a fault."""
        shape, words = _SHAPES[key]
        if key not in self.keys or not isinstance(self.data, dict) or key not in self.data:
            return shape()
        found = self.data[key]
        if not isinstance(found, shape):
            self.faults.add(key, f"`{key}` is not {words}")
            return shape()
        return found


def read_all(files: Sequence[RuleFile], before: Library, codes: range) -> Library:
    """The library with what the files add; `codes` are the numbers that their rules may have. Raises MappingError."""
    sources = {**before.sources, **_sources(files, before)}
    meanings = {**before.meanings, **_groups(files, before)}
    questions: dict[str, Question | None] = {**before.questions}
    for file in files:
        _questions(file, meanings, questions, own=codes == OWN)
    rules = {rule.code: rule for rule in before.rules}
    for file in files:
        maker = RuleMaker(questions, meanings, sources, file.faults, codes)
        for number, spec in enumerate(file.part("rules")):
            place = f"rules[{number}]"
            made = maker.make(spec, place)
            if made is not None and made.code in rules:
                file.faults.add(f"{place}.code", f"the code {made.code} stands twice")
            elif made is not None:
                rules[made.code] = made
    refuse(files)
    known = {name: question for name, question in questions.items() if question is not None}
    return Library(meanings, known, tuple(rules[code] for code in sorted(rules)), sources)


def refuse(files: Sequence[RuleFile]) -> None:
    """Raises MappingError with the faults of all files, if there are any."""
    wrong = [file.faults.error() for file in files if file.faults]
    if wrong:
        raise MappingError("\n".join(error.message for error in wrong), wrong[0].help)


def _sources(files: Sequence[RuleFile], before: Library) -> dict[str, dict[str, str]]:
    found: dict[str, dict[str, str]] = {}
    for file in files:
        for name, row in file.part("sources").items():
            place = f"sources.{name}"
            if name in before.sources or name in found:
                file.faults.add(place, f"the source “{str(name)[:60]}” stands twice")
            if not isinstance(row, dict) or set(row) - set(_SOURCE) or not row.get("title"):
                file.faults.add(place, f"a source has a title, and may have {', '.join(_SOURCE[1:])}")
                row = {}
            for key, problem in ((key, unfit(str(text))) for key, text in row.items()):
                if problem:
                    file.faults.add(f"{place}.{key}", f"`{key}` {problem}")
            found[str(name)] = {"id": str(name), **{key: str(row.get(key) or "") for key in _SOURCE}}
    return found


def _groups(files: Sequence[RuleFile], before: Library) -> dict[str, frozenset[str]]:
    given: dict[str, tuple[Any, Faults]] = {}
    for file in files:
        for name, listed in file.part("groups").items():
            if name in before.meanings or name in given:
                file.faults.add(f"groups.{name}", f"the name “{str(name)[:60]}” is taken already")
            given.setdefault(str(name), (listed, file.faults))
    found = {**before.meanings}
    for name in given:
        _members(name, given, found, ())
    return {name: found[name] for name in given}


def _members(
    name: str,
    given: dict[str, tuple[Any, Faults]],
    known: dict[str, frozenset[str]],
    above: tuple[str, ...],
) -> frozenset[str]:
    """What a group stands for; kept in `known`, so that each is looked at once."""
    listed, faults = given[name]
    found: set[str] = set()
    for number, one in enumerate(listed if isinstance(listed, list) else ()):
        at = f"groups.{name}[{number}]"
        if not isinstance(one, str):
            faults.add(at, "is no name")
        elif one in above or one == name:
            faults.add(at, f"the group “{one[:60]}” stands in itself")
        elif one in known:
            found |= known[one]
        elif one in given and len(above) >= _DEEPEST:
            faults.add(at, f"groups stand in groups more than {_DEEPEST} deep")
        elif one in given:
            found |= _members(one, given, known, (*above, name))
        else:
            faults.add(at, f"“{one[:60]}” is neither a meaning of the term maps nor a group")
    if not listed or not isinstance(listed, list):
        faults.add(f"groups.{name}", "is no list of meanings" if listed else "the group is empty")
    known[name] = frozenset(found)
    return known[name]


def _questions(
    file: RuleFile, meanings: dict[str, frozenset[str]], questions: dict[str, Question | None], *, own: bool
) -> None:
    """Adds the questions of a file; one with faults is known and None, so that nobody is told that it is missing."""
    for name, spec in file.part("questions").items():
        place = f"questions.{name}"
        if name in questions:
            file.faults.add(place, f"the question “{str(name)[:60]}” stands twice")
        questions[str(name)] = compile_question(str(name), spec, Making(meanings, file.faults, place, own))
