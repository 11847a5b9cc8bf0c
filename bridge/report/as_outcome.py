"""A report as a FHIR R4 OperationOutcome (http://hl7.org/fhir/R4/operationoutcome.html)."""

from __future__ import annotations

import json
import re
from typing import Any, TextIO

from bridge.fhir.systems import system
from bridge.issues import Issue, Report, rules
from bridge.report.plain import plain

FHIRPATH = re.compile(r"[A-Z][A-Za-z]+(\.|$)")
"""How a place inside a resource starts; a field of a visit starts with a small letter."""


def to_operation_outcome(report: Report) -> dict[str, Any]:
    """The report as an OperationOutcome. With no issues it says so, for the standard asks for one at least."""
    found = [_issue(one) for one in report.issues] or [
        {"severity": "information", "code": "informational", "details": {"text": "Nothing was found."}}
    ]
    return {"resourceType": "OperationOutcome", "issue": found}


def write_report(report: Report, stream: TextIO) -> None:
    # ASCII with escapes: it stays JSON on a console that cannot show every letter.
    json.dump(to_operation_outcome(report), stream, indent=2)
    stream.write("\n")


def _issue(found: Issue) -> dict[str, Any]:
    coding = {"system": system("own-rules"), "code": found.rule}
    if page := rules().get(found.rule):
        coding["display"] = page.title
    entry: dict[str, Any] = {
        "severity": found.severity.name,
        "code": found.kind,
        "details": {"coding": [coding], "text": plain(found.message)},
    }
    if advice := plain(found.help):
        entry["diagnostics"] = advice
    if FHIRPATH.match(found.where.path):
        entry["expression"] = [plain(found.where.path)]
    elif place := plain(str(found.where)):
        # `location` is where R4 leaves room for places that are no FHIRPath: here a file, a row and a column.
        entry["location"] = [place]
    return entry
