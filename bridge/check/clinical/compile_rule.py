"""From what a file says of a rule to the rule."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from datetime import date
from functools import cache
from typing import Any

from bridge.check.clinical.compile_question import Making, Meanings, Spec, check_reads, compile_question, texts
from bridge.check.clinical.expression import Expression
from bridge.check.clinical.faults import Faults, unfit
from bridge.check.clinical.fields import UnknownFieldError, has_items, type_of
from bridge.check.clinical.question import Question
from bridge.check.clinical.rule import ClinicalRule
from bridge.clinical_pages import source_words
from bridge.issues import Severity
from bridge.phrases.vocabulary import shipped_rows

STATUSES = ("published", "seen in part", "common practice", "memory")
URGENCIES = ("immediate", "urgent", "routine")
REGIONS = ("uk", "us", "international")
NEEDED = ("code", "title", "severity", "each", "message", "what", "do", "sources", "status", "reviewed")
KNOWN = {
    *NEEDED, "when", "if", "unless", "ask", "at", "why", "wrong", "right", "regions", "flag", "urgency", "to",
}  # fmt: skip
OWN = range(900, 1000)
"""Numbers of the codes that a practice's own rules have."""
_DEEPEST = 6
_CODE = re.compile(r"C\d{3}")
_FLAG = re.compile(r"RF\d\d")
_IN_MESSAGE = re.compile(r"\{([^{}]*)\}")


class RuleMaker:
    """Makes rules of one file; faults are gathered in `faults`. `codes` are the numbers that its codes may have.

    A question that is None has faults of its own, which are told elsewhere.
    """

    def __init__(
        self,
        questions: Mapping[str, Question | None],
        meanings: Meanings,
        sources: Mapping[str, Any],
        faults: Faults,
        codes: range,
    ) -> None:
        self.questions = questions
        self.meanings = meanings
        self.sources = sources
        self.faults = faults
        self.codes = codes
        self._code = ""

    def make(self, spec: Any, place: str) -> ClinicalRule | None:
        """The rule, or None where it has faults."""
        before = len(self.faults._found)
        if not isinstance(spec, dict):
            self.faults.add(place, "is no rule")
            return None
        self._code = str(spec.get("code"))
        self._shape(spec, place)
        each = tuple(dict.fromkeys(texts(spec.get("each"))))
        types = [t for t in (self._item(one, f"{place}.each") for one in each) if t is not _WRONG]
        shaped = len(self.faults._found)
        parts = {
            key: self._expression("any" if key == "unless" else "all", spec.get(key), types, f"{place}.{key}")
            for key in ("when", "if", "unless")
        }
        if len(self.faults._found) == shaped:  # else the names below would be blamed for questions with faults
            self._named_in_message(
                spec.get("message"), {q.name for part in parts.values() for q in part.questions()}, place
            )
        self._at(spec, types, place)
        if len(self.faults._found) > before:
            return None
        return ClinicalRule(
            spec["code"], Severity[spec["severity"]], each, parts["when"], parts["if"], parts["unless"],
            spec["message"], spec["title"], source_words(spec["sources"], self.sources),
            Severity[spec.get("ask", "information")], str(spec.get("at", "")), spec.get("flag", ""),
            spec.get("urgency", ""), tuple(texts(spec.get("to"))), tuple(texts(spec.get("regions"))),
            spec["status"],
        )  # fmt: skip

    def _named_in_message(self, message: Any, asked: set[str], place: str) -> None:
        for name in _IN_MESSAGE.findall(message) if isinstance(message, str) else ():
            if name != "ear" and name not in asked:
                self.faults.add(f"{place}.message", f"names {{{name[:60]}}}, which is no question of the rule")

    def _shape(self, spec: Spec, place: str) -> None:
        add = self.faults.add
        for key in spec:
            if key not in KNOWN:
                add(f"{place}.{key}", f"`{str(key)[:60]}` is nothing that a rule has")
        for key in NEEDED:
            if not spec.get(key):
                add(place, f"the rule has no `{key}`")
        for key in ("title", "message", "what", "do", "why", "wrong", "right", "at", "flag"):
            if key in spec and not isinstance(spec[key], str):
                add(f"{place}.{key}", f"`{key}` is no text")
            elif key in spec and (problem := unfit(spec[key])):
                add(f"{place}.{key}", f"`{key}` {problem}")
            elif key in ("message", "what", "do") and spec.get(key) and not spec[key].strip().endswith((".", "?", "!")):
                add(f"{place}.{key}", f"`{key}` does not end with a full stop")
        if "when" not in spec and "if" not in spec:
            add(place, "the rule has neither `when` nor `if`")
        for problem, key in self._values(spec):
            add(f"{place}.{key}", problem)

    def _values(self, spec: Spec) -> Iterator[tuple[str, str]]:
        code = str(spec.get("code"))
        if not _CODE.fullmatch(code) or int(code[1:]) not in self.codes:
            yield f"the code is none of C{self.codes[0]} to C{self.codes[-1]}", "code"
        if len(str(spec.get("title"))) > 80 or str(spec.get("title")).endswith("."):
            yield "the title is longer than 80 characters or ends with a full stop", "title"
        yield from _one_of(spec, "severity", ("error", "warning", "information"))
        yield from _one_of(spec, "ask", ("warning", "information"))
        yield from _one_of(spec, "status", STATUSES)
        yield from _one_of(spec, "urgency", URGENCIES)
        yield from (
            (f"“{one[:40]}” is no region", "regions") for one in texts(spec.get("regions")) if one not in REGIONS
        )
        if spec.get("severity") == "error" and spec.get("status") == "memory":
            yield "a rule from memory may warn, and never be an error", "severity"
        if "reviewed" in spec and not isinstance(spec["reviewed"], date):
            yield "the day of the review is no day (2026-11-26)", "reviewed"
        if bool(spec.get("flag")) != bool(spec.get("urgency")):
            yield "`flag` and `urgency` go together", "flag" if "flag" in spec else "urgency"
        elif spec.get("flag") and not _FLAG.fullmatch(str(spec["flag"])):
            yield "a flag is RF and two digits", "flag"
        yield from (
            (f"“{one[:60]}” is no place of referral", "to")
            for one in texts(spec.get("to"))
            if one not in self.meanings or one not in _targets()
        )
        yield from self._sources(spec.get("sources"))

    def _sources(self, sources: Any) -> Iterator[tuple[str, str]]:
        for number, one in enumerate(sources if isinstance(sources, list) else [sources]):
            if not isinstance(one, dict) or not isinstance(one.get("id"), str) or one["id"] not in self.sources:
                yield "names a source that does not stand in sources.csv", f"sources[{number}]"
            elif unknown := set(one) - {"id", "section"}:
                key = min(map(str, unknown))
                yield f"`{key[:60]}` is nothing that a source of a rule has", f"sources[{number}]"
            elif problem := unfit(str(one.get("section", ""))):
                yield f"`section` {problem}", f"sources[{number}]"

    def _item(self, each: str, place: str) -> Any:
        """The type of an item, None for `visit` and `ear`, _WRONG where there is no such list."""
        if each in ("visit", "ear"):
            return None
        try:
            if each.partition(".")[0] in ("visit", "ear"):
                found = type_of(each, None)
                if has_items(each):
                    return found
                self.faults.add(place, f"“{each[:60]}” is no list and no part of the record")
            else:
                self.faults.add(place, f"“{each[:60]}” is neither visit nor ear, nor a list of one")
        except UnknownFieldError as error:
            self.faults.add(place, str(error))
        return _WRONG

    def _at(self, spec: Spec, types: Collection[Any], place: str) -> None:
        for each in types if isinstance(spec.get("at"), str) else ():
            try:
                type_of(spec["at"], each)
            except UnknownFieldError as error:
                self.faults.add(f"{place}.at", str(error))

    def _expression(self, joined: Any, spec: Any, types: list[Any], place: str, depth: int = 1) -> Expression:
        if depth > _DEEPEST:
            self.faults.add(place, f"is nested more than {_DEEPEST} deep")
            return Expression("all", ())
        listed = [] if spec is None else spec if isinstance(spec, list) else [spec]
        parts = []
        if not listed and depth > 1:
            self.faults.add(place, f"`{joined}` has nothing in it")
        for number, one in enumerate(listed):
            at = f"{place}[{number}]" if isinstance(spec, list) else place
            part = self._part(one, types, at, depth)
            if part is not None:
                parts.append(part)
        return Expression("all" if joined == "not" and not parts else joined, tuple(parts))

    def _part(self, one: Any, types: list[Any], at: str, depth: int) -> Expression | Question | None:
        if isinstance(one, dict) and len(one) == 1 and (key := next(iter(one))) in ("all", "any", "not"):
            inner = one[key]
            if key == "not" and isinstance(inner, list):
                self.faults.add(at, "`not` takes one thing, and a list is given")
                return None
            return self._expression(key, inner, types, f"{at}.{key}", depth + 1)
        if not isinstance(one, str | dict):
            self.faults.add(at, "is neither the name of a question nor a question")
            return None
        question = self._named(one, at) if isinstance(one, str) else self._in_place(one, at)
        if question is not None:
            for each in types:
                if problem := check_reads(question, each):
                    self.faults.add(at, problem)
                    break
        return question

    def _named(self, name: str, at: str) -> Question | None:
        if name not in self.questions:
            self.faults.add(at, f"there is no question “{name[:60]}”")
        return self.questions.get(name)

    def _in_place(self, spec: Any, at: str) -> Question | None:
        return compile_question(
            f"{self._code} {at.partition('.')[2]}",
            spec,
            Making(self.meanings, self.faults, at, self.codes == OWN),
        )


_WRONG: Any = object()


@cache
def _targets() -> frozenset[str]:
    """The concepts that are places of referral."""
    return frozenset(row["concept"] for _, row in shipped_rows() if row["kind"] == "referral-target")


def _one_of(spec: Spec, key: str, known: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    if key in spec and spec[key] not in known:
        yield f"`{key}` is none of {', '.join(known)}", key
