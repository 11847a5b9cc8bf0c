"""What a file is, told by looking into it; its name decides only where the content leaves it open."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Literal

from bridge.errors import InputError
from bridge.fhir.tables import is_resource
from bridge.read.json_kinds import JsonKind, kind_of_json
from bridge.read.source import READABLE, read_head

Kind = Literal["sheet", "workbook", "database", "yaml", "pdf", "cda"] | JsonKind
"""sheet: CSV. yaml, visits: visits in the model's own shape, in YAML or JSON. records: JSON that a layout reads;
object: one object of which nothing tells what it is. fhir: a resource of FHIR in JSON or XML; fhir lines: in
JSON, one a line. pdf: a letter that may carry its data. cda: a document of HL7's older standard, in XML."""

VISITS = frozenset({"yaml", "visits"})
TABLES = frozenset({"sheet", "workbook", "database", "records", "object"})
FHIR = frozenset({"fhir", "fhir lines"})
DOCUMENTS = FHIR | {"pdf", "cda"}
_HEAD = 1 << 16
_HTML = re.compile(rb"(?:\xef\xbb\xbf)?\s*<(?:!doctype\s+html|html)[\s>]", re.IGNORECASE)
_SAVE_AS = "Open it in its program, save the sheet as an Excel workbook (.xlsx) or as “CSV UTF-8”, and read that file."
PDF = b"%PDF"
"""How a PDF begins."""
_CFB = b"\xd0\xcf\x11\xe0"
_REFUSED = (
    (b"\x1f\x8b", "is a compressed file", "Unpack it first."),
    (b"Rar!", "is a packed archive", "Unpack it first."),
    (b"7z\xbc\xaf", "is a packed archive", "Unpack it first."),
    (b"\x89PNG", "is a picture", READABLE),
    (b"\xff\xd8\xff", "is a picture", READABLE),
    (b"\x00\x01\x00\x00Standard", "is a database in a form that is not read", "Export the table as CSV."),
)
_SUFFIXES = {
    ".yaml": "yaml", ".yml": "yaml", ".csv": "sheet", ".tsv": "sheet", ".txt": "sheet", ".xlsx": "workbook",
    ".xlsm": "workbook", ".db": "database", ".sqlite": "database", ".sqlite3": "database", ".json": "records",
    ".ndjson": "records", ".jsonl": "records",
}  # fmt: skip
"""Endings of the names of files that may hold records."""
_OTHER_SHEETS = (".xlsx", ".xlsm", ".xls", ".xlsb", ".ods", ".numbers")
_JSON = re.compile(rb"(?:\xef\xbb\xbf)?\s*(?:\{\s*[\"}]|\[\s*[\[{\]\"])")
_RESOURCE = re.compile(rb'(?:\xef\xbb\xbf)?\s*\{[ \t]*\r?\n\s*"resourceType"\s*:\s*"')
"""What can only be one resource, on several lines, is not read through to find that out."""
_XML = re.compile(rb"(?:\xef\xbb\xbf)?\s*<(?:\?xml\s|!--|!DOCTYPE\s|(?P<root>[A-Za-z]+)[\s/>])")
_BEFORE_ROOT = re.compile(rb"<!--.*?-->|<\?.*?\?>|<!DOCTYPE[^>]*>", re.DOTALL)
_CDA_ROOT = re.compile(rb"(?:\xef\xbb\xbf)?\s*<(?:[\w.-]+:)?ClinicalDocument[\s/>]")
_YAML_LINE = re.compile(rb"---(\s|$)|(number|version|start|client|attendance):(\s|$)")


def may_hold_records(name: str) -> bool:
    """Whether a file in a folder is worth opening, by its name."""
    return Path(name).suffix.lower() in _SUFFIXES


def what_is(path: Path) -> Kind:
    """What a file is. Raises InputError, with what to do, for one that can hold no records."""
    head = read_head(path, _HEAD)
    name, suffix = path.name or str(path), path.suffix.lower()
    if not head.strip(b"\x00 \t\r\n\xef\xbb\xbf\xff\xfe"):
        raise InputError(f"{name} is empty.", "Check that the right file was saved.")
    if head.startswith(b"PK\x03\x04"):
        return "workbook"
    if head.startswith(b"SQLite format 3\x00"):
        return "database"
    if head.startswith(PDF):
        return "pdf"
    if head.startswith(_CFB):
        raise InputError(f"{name} {_old_form(path)}", _SAVE_AS)
    for start, what, advice in _REFUSED:
        if head.startswith(start):
            raise InputError(f"{name} {what}, not a file of records.", advice)
    if _HTML.match(head) and suffix not in _OTHER_SHEETS:
        told = f"{name} is a page for the browser, which carries no data."
        raise InputError(told, "Name the document or the records that it was made from, or the letter as PDF.")
    if is_cda(head):
        return "cda"
    if _is_fhir_xml(head, suffix):
        return "fhir"
    if suffix in _OTHER_SHEETS:
        raise InputError(f"{name} is named like a spreadsheet file and is none.", _SAVE_AS)
    if suffix in (".db", ".sqlite", ".sqlite3"):
        told = f"{name} is named like a database and cannot be read as one; it may be damaged or have a password."
        raise InputError(told, "Export the table of visits as CSV and read that file.")
    if suffix in (".yaml", ".yml"):
        return "yaml"
    if _RESOURCE.match(head):
        return "fhir"
    if _JSON.match(head) or suffix in (".json", ".ndjson", ".jsonl"):
        return kind_of_json(path)
    if not suffix and _looks_like_yaml(head):
        return "yaml"
    return "sheet"


def is_cda(content: bytes) -> bool:
    """Whether a file is a document in CDA, by its outermost element."""
    head = content[:_HEAD]
    return b"ClinicalDocument" in head and _CDA_ROOT.match(_BEFORE_ROOT.sub(b"", head)) is not None


def _is_fhir_xml(head: bytes, suffix: str) -> bool:
    """XML of FHIR, or XML that can be nothing else that is read; sheets of old programs may be XML or HTML too."""
    found = _XML.match(head)
    if found is None or suffix in _OTHER_SHEETS:
        return suffix == ".xml"
    told = (
        b"http://hl7.org/fhir" in head or suffix == ".xml" or head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<?xml")
    )
    return told or is_resource((found["root"] or b"").decode())


def _looks_like_yaml(head: bytes) -> bool:
    lines = (line.strip() for line in head.removeprefix(b"\xef\xbb\xbf").splitlines())
    first = next((line for line in lines if line and not line.startswith(b"#")), b"")
    return _YAML_LINE.match(first) is not None


def _old_form(path: Path) -> str:
    """A file in the form of old programs is a workbook of one, or a new workbook with a password."""
    if "EncryptedPackage".encode("utf-16-le") in read_head(path, 1 << 22):
        return "has a password; save it without one first."
    return "is in the form of old spreadsheet and document programs (.xls, .doc), which is not read."
