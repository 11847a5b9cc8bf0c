"""A report as a FHIR R4 OperationOutcome (http://hl7.org/fhir/R4/operationoutcome.html)."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any, TextIO

from bridge.fhir.fhirpath_of import fhirpath_of
from bridge.fhir.systems import system
from bridge.issues import Issue, Report, Where, rule_of
from bridge.report.caution import caution
from bridge.safe_text import plain

_EXTENSION = "http://hl7.org/fhir/StructureDefinition/operationoutcome-issue"
"""What the addresses of the standard's own extensions for the place of an issue begin with."""


def to_operation_outcome(report: Report) -> dict[str, Any]:
    """The report as an OperationOutcome. With no issues it says so, for the standard asks for one at least.

    Where a clinical rule spoke, the last issue is the caution that belongs to it.
    """
    found = [_issue(one) for one in report.issues] or [
        {"severity": "information", "code": "informational", "details": {"text": "Nothing was found."}}
    ]
    if said := caution(report):
        found.append({"severity": "information", "code": "informational", "details": {"text": said}})
    return {"resourceType": "OperationOutcome", "issue": found}


def write_report(report: Report, stream: TextIO) -> None:
    # ASCII with escapes: it stays JSON on a console that cannot show every letter.
    json.dump(to_operation_outcome(report), stream, indent=2)
    stream.write("\n")


def _issue(found: Issue) -> dict[str, Any]:
    coding = {"system": system("own-rules"), "code": found.rule}
    if page := rule_of(found.rule):
        coding["display"] = page.title
    entry: dict[str, Any] = {
        "severity": found.severity.name,
        "code": found.kind,
        "details": {"coding": [coding], "text": plain(found.message)},
    }
    place, said = _place(found.where), found.where.expression or fhirpath_of(found.where.path)
    if told := " ".join(filter(None, (f"{place}." if place else "", plain(found.help)))):
        entry["diagnostics"] = told
    if said:
        entry["expression"] = [said]
    # `location` would be an XPath and is deprecated; places in a file have extensions, places in a sheet have none.
    extensions = list(_extensions(found.where))
    return {"extension": extensions, **entry} if extensions else entry


def _place(where: Where) -> str:
    return plain(str(where))


def _extensions(where: Where) -> Iterator[dict[str, Any]]:
    if source := plain(where.file):
        yield {"url": f"{_EXTENSION}-source", "valueString": source}
    if where.row and where.column and not (where.heading or where.sheet):
        yield {"url": f"{_EXTENSION}-line", "valueInteger": where.row}
        yield {"url": f"{_EXTENSION}-col", "valueInteger": where.column}
