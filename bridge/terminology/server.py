"""A FHIR terminology server: asked what the tables at hand cannot decide.

What is sent: the addresses of the value set and the code system, a code, and a display that our own tables have. Never
anything else of a document. Once nobody answers in time it is not asked again, and this is told once.

Source: https://hl7.org/fhir/R4/valueset-operation-validate-code.html, https://hl7.org/fhir/R4/codesystem-operation-lookup.html
"""

from __future__ import annotations

import json
import re
from dataclasses import asdict

from bridge.issues import Issue, issue
from bridge.shapes import Json
from bridge.terminology.answers import Answer, named
from bridge.terminology.kept import Kept
from bridge.terminology.parameters import Heard, looked_up, validated
from bridge.terminology.wire import SlowError, UnclearError, UnreachableError, Wire

_LONGEST_CODE = 64
_LONGEST_ADDRESS = 500
_ADDRESS = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:[!-~]+")
_MOST_UNCLEAR = 3
"""After so many answers one after the other that cannot be understood no more are asked for."""


class Server:
    """A server at an address. `issues` tells what became of asking it; each thing once."""

    def __init__(self, address: str, seconds: float = 5) -> None:
        self.issues: list[Issue] = []
        self._wire = Wire(address, seconds)
        self._kept = Kept()
        self._told: set[str] = set()
        self._unclear = 0
        self.stopped = False

    def member(self, value_set: str, system: str, code: str, display: str | None = None) -> Answer | None:
        """Whether a code is in a value set; None where the server cannot tell."""
        url, _, version = value_set.partition("|")
        question = {"url": url, "valueSetVersion": version, "system": system, "code": code}
        heard = self._hear("ValueSet/$validate-code", question | {"display": display or ""}, value_set)
        if heard is None or heard.said != "no" or not display:
            return _answer(heard, heard.display if heard and heard.misnamed else "")
        plain = self._hear("ValueSet/$validate-code", question, value_set)
        return _answer(plain, (plain.display or heard.display) if plain else "")

    def known(self, system: str, code: str) -> Answer | None:
        """Whether a code system has a code; None where the server cannot tell."""
        return _answer(self._hear("CodeSystem/$lookup", {"system": system, "code": code}, system))

    def _hear(self, path: str, question: dict[str, str], about: str) -> Heard | None:
        question = {key: value for key, value in question.items() if value}
        if not _fit_to_send(question):
            return None
        asked = json.dumps([self._wire.address, path, question], sort_keys=True)
        if kept := _from_text(self._kept.get(asked)):
            return kept
        if self.stopped:
            return None
        heard = self._ask(path, question)
        if heard is None:
            return None
        if heard.said == "not known":
            self._tell("T204", f"The terminology server has no {named(about)}, or not the system of a code.", about)
        else:
            self._kept.put(asked, json.dumps(asdict(heard)))
        return heard

    def _ask(self, path: str, question: dict[str, str]) -> Heard | None:
        """What came of one question; None where nothing did that can be used."""
        try:
            status, data = self._wire.ask(path, question)
        except SlowError:
            self.stopped = True
            waited = f"{self._wire.seconds:g} seconds"
            self._tell("T202", f"The terminology server gave no answer within {waited}. It is not asked again now.")
        except UnreachableError:
            self.stopped = True
            self._tell("T201", "The terminology server cannot be reached. It is not asked again now.")
        except UnclearError as error:
            self._cannot_read(str(error))
        else:
            return self._understood(path, status, data)
        return None

    def _understood(self, path: str, status: int, data: Json) -> Heard | None:
        heard = looked_up(status, data) if path.endswith("$lookup") else validated(status, data)
        if heard.said == "unclear":
            self._cannot_read(f"does not say yes or no (HTTP {status})")
            return None
        self._unclear = 0
        return heard

    def _cannot_read(self, what: str) -> None:
        self._unclear += 1
        self.stopped = self.stopped or self._unclear >= _MOST_UNCLEAR
        self._tell("T203", f"An answer of the terminology server {what}.", "unclear")

    def _tell(self, rule: str, message: str, about: str = "") -> None:
        if f"{rule}:{about}" not in self._told:
            self._told.add(f"{rule}:{about}")
            self.issues.append(issue(rule, message, cause=f"{rule}:{about}"))


def _fit_to_send(question: dict[str, str]) -> bool:
    """Whether all of it looks like addresses and a code. A code with blanks may be words about a client."""
    code = question["code"]
    addresses = [value for key, value in question.items() if key in {"url", "system"}]
    return (
        len(code) <= _LONGEST_CODE
        and not any(character.isspace() for character in code)
        and all(len(one) <= _LONGEST_ADDRESS and _ADDRESS.fullmatch(one) for one in addresses)
    )


def _answer(heard: Heard | None, right: str = "") -> Answer | None:
    if heard is None or heard.said not in {"yes", "no"}:
        return None
    if heard.said == "yes":
        return Answer("in", "", right, heard.inactive)
    return Answer("out", "the terminology server says no")


def _from_text(text: str | None) -> Heard | None:
    """What was kept; None where it is damaged."""
    try:
        data = json.loads(text) if text else None
        heard = Heard(**data) if isinstance(data, dict) else None
    except (ValueError, TypeError, RecursionError):
        return None
    if heard is None or heard.said not in {"yes", "no"}:
        return None
    sound = isinstance(heard.display, str) and isinstance(heard.inactive, bool)
    return heard if sound else None
