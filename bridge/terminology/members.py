"""Asks whether codes are in value sets and code systems: tables at hand first, then a terminology server.

Only what is certain is answered with yes or no; everything else is unknown, with the reason.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Protocol

from bridge.fhir.systems import LOINC, SCT
from bridge.shapes import Json
from bridge.terminology.answers import Answer, Found, Verdict, either
from bridge.terminology.composition import Compositions
from bridge.terminology.systems import Form, Systems, known_display

__all__ = ["Answer", "Terminology", "Verdict"]

_MOST_KEPT = 50_000
_MOST_SYSTEMS = 5
"""Systems that a server is asked about for one code without a system."""


class Asks(Protocol):
    """A terminology server. None: it could not answer."""

    def member(self, value_set: str, system: str, code: str, display: str | None) -> Answer | None: ...

    def known(self, system: str, code: str) -> Answer | None: ...


class Terminology:
    """Value sets and code systems as one. Answers are kept, so that the same question costs nothing."""

    def __init__(
        self,
        find_value_set: Callable[[str], Json | None],
        find_code_system: Callable[[str], Json | None],
        server: Asks | None = None,
        forms: Mapping[str, Form] | None = None,
    ) -> None:
        """The finders give what `compile_value_set` and `compile_code_system` made, by canonical address. `forms`: by
        system, what tells a code by its form alone, for systems with a grammar such as UCUM."""
        self.server = server
        self._systems = Systems(find_code_system, forms)
        self._sets = Compositions(find_value_set, self._systems)
        self._answers: dict[tuple[str | None, ...], Answer] = {}

    def renew(self) -> None:
        """To be called for each piece of data, since what is looked at for one is bounded."""
        self._sets.renew()

    def member(self, value_set: str, system: str | None, code: str, display: str | None = None) -> Answer:
        """Whether the code is in the value set. `system` is None for a plain code, which may be of any system of the
        set, and empty for a coding that names none, which can be of no set."""
        return self._kept((value_set, system, code, display), lambda: self._member(value_set, system, code, display))

    def known(self, system: str, code: str, display: str | None = None) -> Answer:
        """Whether the code system has the code."""
        return self._kept(("", system, code, display), lambda: self._known(system, code, display))

    def _kept(self, question: tuple[str | None, ...], answer: Callable[[], Answer]) -> Answer:
        if question not in self._answers:
            if len(self._answers) >= _MOST_KEPT:
                self._answers.clear()
            self._answers[question] = answer()
        return self._answers[question]

    def _member(self, value_set: str, system: str | None, code: str, display: str | None) -> Answer:
        if system == "":
            return Answer("out", "it names no system, so nobody can tell what it means")
        systems, all_known = ([system], True) if system is not None else self._sets.systems_of(value_set)
        tried = [(one, self._sets.decide(value_set, one, code)) for one in systems]
        hit = next((one for one, found in tried if found.yes), None)
        if hit is not None:
            return self._seen(hit, code, display, self._sets.terms(value_set, hit, code))
        doubts = [one for one, found in tried if found.yes is None]
        found = either([found for _, found in tried], tried[0][1].why if len(tried) == 1 else _NONE)
        if found.yes is False and not all_known:
            found = Found(None, "not all of its value set is at hand")
        if found.yes is False:
            return Answer("out", found.why)
        return self._asked(value_set, doubts, code, display, certain=all_known) or Answer("unknown", found.why)

    def _asked(
        self, value_set: str, systems: list[str], code: str, display: str | None, *, certain: bool
    ) -> Answer | None:
        """What the server says, where it can tell. `certain`: whether no other system is left to ask about."""
        if self.server is None or not systems or len(systems) > _MOST_SYSTEMS:
            return None
        sent = display if display and known_display(display) else None
        answers = [self.server.member(value_set, system, code, sent) for system in systems]
        hit = next((answer for answer in answers if answer and answer.verdict == "in"), None)
        if hit or not all(answer and answer.verdict == "out" for answer in answers):
            return hit
        return answers[0] if certain else None

    def _known(self, system: str, code: str, display: str | None) -> Answer:
        found = self._systems.has(system, code)
        if found.yes:
            return self._seen(system, code, display, [])
        if found.yes is False:
            return Answer("out", found.why)
        told = self.server.known(system, code) if self.server and system else None
        return told or Answer("unknown", found.why)

    def _seen(self, system: str, code: str, display: str | None, more: list[str]) -> Answer:
        """Yes, and what is to be said of the code besides."""
        wrong = ""
        if display and system not in {SCT, LOINC} and (terms := self._systems.terms(system, code)):
            right = {_plain(term) for term in (*terms, *more)}
            wrong = "" if _plain(display) in right else terms[0]
        return Answer("in", "", wrong, self._systems.inactive(system, code))


_NONE = "no system of the value set has it"


def _plain(text: str) -> str:
    return " ".join(text.split()).casefold()
