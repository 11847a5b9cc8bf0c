"""One line as the record has it beside one answer: the same, or in which way another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bridge.audit.agree.answers import Answer
from bridge.audit.agree.shapes import Error
from bridge.audit.broader import is_broader
from bridge.audit.sample.key import Given, Listed
from bridge.fhir.systems import OWN

NO_CODE = ""
"""The category of what has no meaning of the list."""


@dataclass(frozen=True, slots=True)
class Meant:
    """What a record's codes say, in the meanings of the list."""

    own: str
    codes: frozenset[tuple[str, str]]
    shown: str

    def means(self, listed: Listed) -> bool:
        """Whether the meaning is the record's: by its own code, or where it has none, by a code of others."""
        return self.own == listed.concept if self.own else bool(self.codes.intersection(listed.codes))

    @property
    def coded(self) -> bool:
        return bool(self.own or self.codes)


def meant(given: Given, choices: Sequence[Listed]) -> Meant:
    own = next(
        (coding.code for coding in given.codings if coding.system == OWN), "" if given.codings else given.meaning
    )
    codes = frozenset((coding.system, coding.code) for coding in given.codings if coding.system != OWN)
    shown = next((c.shown for c in choices if own and c.concept == own), "")
    told = next((coding.display or coding.code for coding in given.codings), "")
    return Meant(own, codes, shown or told)


def category(found: Meant, answer: Answer | None, choices: Sequence[Listed]) -> str:
    """The record's code as kappa counts it: the answer's meaning where it is that one, else its own."""
    if answer and answer.meaning and found.means(answer.meaning):
        return answer.meaning.concept
    if found.own or not found.codes:
        return found.own
    return next((c.concept for c in choices if found.means(c)), "|".join(min(found.codes)))


def chosen_category(answer: Answer) -> str:
    return answer.meaning.concept if answer.meaning else NO_CODE


def difference(found: Meant, answer: Answer, choices: Sequence[Listed]) -> Error | None:
    """In which way the record's meaning is another than an answer's, which tells one; None where it is the same."""
    chosen = answer.meaning
    if chosen is None:
        return "no meaning fits" if found.coded else None
    if not found.coded:
        return "missing code"
    if found.means(chosen):
        return None
    mine = [c for c in choices if found.means(c)]
    if any(is_broader(c.concept, chosen.concept) for c in mine):
        return "less specific"
    if any(is_broader(chosen.concept, c.concept) for c in mine):
        return "more specific"
    alike = any(c.kind != chosen.kind and set(c.codes).intersection(chosen.codes) for c in mine)
    return "other kind" if alike else "other meaning"


def other_side(given: Given, answer: Answer) -> bool:
    """Whether the words name another ear than the one that they stand under."""
    return bool(answer.ear) and answer.ear != given.under


def other_certainty(given: Given, answer: Answer) -> bool:
    """Whether record and answer both say if a thing is stated, suspected, denied or past, and do not say the same."""
    return bool(given.assertion and answer.assertion) and given.assertion != answer.assertion
