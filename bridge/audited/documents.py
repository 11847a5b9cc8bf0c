"""The documents of a file, one by one, as the audit reads them: JSON, XML, NDJSON, CDA, and PDF with its data."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TypeGuard

from bridge.fhir.files import read_file
from bridge.fhir.read_json import MAX_BYTES, read_json
from bridge.fhir.received import read_received
from bridge.issues import Issue, Severity, Where, issue
from bridge.read.kinds import PDF, is_cda, what_is
from bridge.shapes import Json

LATER = rb"(?:[2-9]|[1-9]\d{1,2})"
"""The number of a version that is not the first."""
_AS_JSON_OR_XML = rb"record-version\"(?:(?!record-version).){1,500}?value(?:\":\s*|=)\"[^\"]{1,200}/" + LATER + rb"\""
_AS_CDA = rb"<versionNumber\s+value=\"" + LATER + rb"\""
_IN_DOCUMENT = re.compile(_AS_JSON_OR_XML + rb"|" + _AS_CDA, re.DOTALL)


def read_documents(
    source: Path, said: list[Issue], wanted: Callable[[bytes], bool] = lambda content: True
) -> Iterator[tuple[int | None, Json]]:
    """Each document with its line, where it stands on one; of what cannot be read, `said` takes why.

    `wanted`: whether a document is worth reading, by its bytes. Raises InputError for a PDF without data.
    """
    if what_is(source) == "fhir lines" and _begins_with_bundle(source):
        with source.open("rb") as lines:
            row = 0
            while line := lines.readline(MAX_BYTES + 1):
                row += 1
                if not line.strip() or not wanted(line):
                    continue
                data, issues = read_json(line.strip(), source.name)
                said += _fatal(issues)
                said += _no_kind(data, source, row)
                if _has_kind(data):
                    yield row, data
        return
    content = read_file(source)
    if content.startswith(PDF):
        from bridge.pdf_data import bundle_in_pdf

        content = bundle_in_pdf(content)
    if not wanted(content):
        return
    if is_cda(content):
        from bridge.cda import read_cda

        data, issues = read_cda(content)
    else:
        data, issues = read_received(content, source.name)
    said += _fatal(issues)
    said += _no_kind(data, source)
    if _has_kind(data):
        yield None, data


def holds_later(content: bytes) -> bool:
    """Whether a document of ours, may be about a later version than the first."""
    return _IN_DOCUMENT.search(content) is not None


def _begins_with_bundle(source: Path) -> bool:
    with source.open("rb") as lines:
        first = lines.readline(4_096)
    return b'"resourceType"' in first and b'"Bundle"' in first


def _has_kind(data: object) -> TypeGuard[Json]:
    return isinstance(data, dict) and isinstance(data.get("resourceType"), str)


def _no_kind(data: object, source: Path, row: int | None = None) -> list[Issue]:
    """S101 for what could be read and is no resource of FHIR."""
    if data is None or _has_kind(data):
        return []
    return [issue("S101", "This does not say what kind of resource it is (resourceType).", Where(source.name, row=row))]


def _fatal(issues: list[Issue]) -> list[Issue]:
    return [one for one in issues if one.severity >= Severity.fatal]
