"""The one door for received files: JSON, NDJSON or XML, told apart by looking."""

from __future__ import annotations

from typing import Any

from bridge.fhir import ndjson
from bridge.fhir.xml_text import is_xml
from bridge.issues import Issue


def read_received(content: bytes, file: str = "") -> tuple[Any, list[Issue]]:
    """The data of JSON or XML, or the lines of NDJSON as a collection; and what is wrong with the writing.

    The data is None where it cannot be read at all.
    """
    if not is_xml(content):
        return ndjson.read_received(content, file)
    from bridge.fhir.read_xml import read_xml  # who reads JSON needs no parser of XML

    return read_xml(content, file)
