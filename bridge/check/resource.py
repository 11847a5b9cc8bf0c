"""`bridge.check_resource`: any FHIR R4 resource, from wherever it came, against the standard."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from bridge.check.conformance import check_conformance
from bridge.check.order import most_telling_first
from bridge.fhir.files import read_file
from bridge.fhir.positions import placed
from bridge.fhir.received import read_received
from bridge.issues import Issue, Report


def check_resource(data: Any) -> Report:
    """Whether a resource or Bundle conforms to FHIR R4 (4.0.1); the report holds every departure, most telling first.

    `data` is JSON data (dict, list, bool, int, float or Decimal), the bytes of a file in JSON, NDJSON or XML, or the
    path of one as Path or text. From bytes every issue has line and column. Nothing is raised for what is wrong with
    the data; InputError where a path cannot be read. Checks of the trade are apart: `check_bundle`.
    """
    name = ""
    if isinstance(data, str | Path):
        name, data = Path(data).name, read_file(data)
    elif isinstance(data, bytearray | memoryview):
        data = bytes(data)
    if not isinstance(data, bytes):
        found = check_conformance(data)
        return Report(most_telling_first(_expressed(found, data)) if found else [])
    read, issues = read_received(data, name)
    found = [*issues, *(check_conformance(read) if read is not None else ())]
    return Report(most_telling_first(placed(found, data, name, read)) if found else [])


def _expressed(found: list[Issue], data: Any) -> list[Issue]:
    from bridge.fhir.fhirpath_of import with_expressions

    return with_expressions(found, data)
