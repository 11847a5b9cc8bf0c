"""What a terminology server's answers mean.

Source: https://hl7.org/fhir/R4/valueset-operation-validate-code.html, https://hl7.org/fhir/R4/codesystem-operation-lookup.html;
codes of its issues: http://hl7.org/fhir/tools/CodeSystem/tx-issue-type, as servers give them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, Literal

from bridge.shapes import Json
from bridge.terminology.code_systems import LONGEST, items

Said = Literal["yes", "no", "not known", "unclear"]

_SEVERE = frozenset({"error", "fatal"})
_UNKNOWN_NAMES = {"x-unknown-system", "x-caused-by-unknown-system", "x-unknown-valueset"}
_UNKNOWN_ISSUES = {"not-found", "not-supported", "vs-invalid", "cannot-infer", "too-costly", "exception"}
_NO_ISSUES = {"invalid-code", "not-in-vs", "this-code-not-in-vs", "code-invalid"}
_UNKNOWN_TEXT = re.compile(
    r"(?:value ?set|code ?system|system|definition)\b.{0,300}?\b"
    r"(?:unknown|not (?:be )?(?:found|known|supported|resolved)"
    r"|could not be|cannot be|does not exist)|(?:unknown|unable to (?:find|resolve)|cannot (?:find|resolve)|no such) "
    r"(?:value ?set|code ?system|system)",
    re.IGNORECASE | re.DOTALL,
)
"""Servers without codes for it say in words that they lack the value set or the system."""


@dataclass(frozen=True, slots=True)
class Heard:
    """An answer: yes, no, that the server lacks value set or system (not known), or nothing of use (unclear)."""

    said: Said
    display: str = ""
    inactive: bool = False
    misnamed: bool = False
    """Whether the server says that the display sent is not one of the code's."""


def validated(status: int, data: Json) -> Heard:
    """The answer to $validate-code."""
    if data.get("resourceType") == "OperationOutcome":
        return _refused(status, data)
    if data.get("resourceType") != "Parameters" or status >= 400:
        return Heard("unclear")
    values = _values(data)
    result = values.get("result")
    if not isinstance(result, bool):
        return Heard("unclear")
    if not result and (_UNKNOWN_NAMES & set(values) or _lacks(data, values)):
        return Heard("not known")
    misnamed = result and "invalid-display" in _outcome_codes(data, _SEVERE | {"warning", "information"})
    return Heard("yes" if result else "no", _display(values), values.get("inactive") is True, misnamed)


def looked_up(status: int, data: Json) -> Heard:
    """The answer to $lookup. That a code is not there is a no only where the server says that it is the code."""
    if data.get("resourceType") == "OperationOutcome":
        heard = _refused(status, data)
        return Heard("no") if heard.said != "unclear" and _issue_codes(data) & _NO_ISSUES else heard
    values = _values(data)
    if data.get("resourceType") != "Parameters" or status >= 400 or not ("name" in values or "display" in values):
        return Heard("unclear")
    return Heard("yes", _display(values), values.get("inactive") is True or _inactive_property(data))


def _refused(status: int, data: Json) -> Heard:
    """An OperationOutcome: a server that is out of order is not one that lacks something."""
    codes = _issue_codes(data)
    lacks = status in {404, 422} or bool(codes & _UNKNOWN_ISSUES) or bool(_UNKNOWN_TEXT.search(_words(data)))
    return Heard("not known" if lacks and status < 500 else "unclear")


def _lacks(data: Json, values: dict[str, Any]) -> bool:
    """Whether a no is one because the server lacks the value set or the system."""
    codes = _outcome_codes(data, _SEVERE)
    if codes & _UNKNOWN_ISSUES:
        return True
    message = values.get("message")
    return not codes & _NO_ISSUES and isinstance(message, str) and bool(_UNKNOWN_TEXT.search(message[:2000]))


def _outcome_codes(data: Json, severities: frozenset[str]) -> set[str]:
    """Codes of the issues among the parameters."""
    outcomes = (one.get("resource") for one in items(data, "parameter"))
    return {
        code
        for one in outcomes
        if isinstance(one, dict) and one.get("resourceType") == "OperationOutcome"
        for code in _issue_codes(one, severities)
    }


def _issue_codes(outcome: Json, severities: frozenset[str] = _SEVERE) -> set[str]:
    """Codes of the issues that are as bad as said, and of their details."""
    found: set[str] = set()
    for one in items(outcome, "issue"):
        if str(one.get("severity")) in severities:
            details = one.get("details")
            codings = items(details, "coding") if isinstance(details, dict) else []
            found.update(code for code in (one.get("code"), *(c.get("code") for c in codings)) if isinstance(code, str))
    return found


def _words(outcome: Json) -> str:
    texts = []
    for one in items(outcome, "issue")[:20]:
        details = one.get("details")
        texts += [one.get("diagnostics"), details.get("text") if isinstance(details, dict) else None]
    return " ".join(text[:1000] for text in texts if isinstance(text, str))


def _values(data: Json) -> dict[str, Any]:
    """Plain values of the parameters by name, the first of each."""
    found: dict[str, Any] = {}
    for one in items(data, "parameter"):
        name = one.get("name")
        if isinstance(name, str):
            found.setdefault(name, next((value for key, value in one.items() if key.startswith("value")), None))
    return found


def _display(values: dict[str, Any]) -> str:
    display = values.get("display")
    return " ".join(display.split())[:LONGEST] if isinstance(display, str) and display.isprintable() else ""


def _inactive_property(data: Json) -> bool:
    for one in items(data, "parameter"):
        if one.get("name") == "property":
            parts = {part.get("name"): part for part in items(one, "part") if isinstance(part.get("name"), str)}
            name, value = parts.get("code", {}), parts.get("value", {})
            if name.get("valueCode", name.get("valueString")) == "inactive" and value.get("valueBoolean") is True:
                return True
    return False
