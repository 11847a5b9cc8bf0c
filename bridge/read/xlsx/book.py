"""A workbook opened: its sheets in order, and what they share."""

from __future__ import annotations

import posixpath
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from bridge.errors import InputError
from bridge.issues import Issue, Where, issue
from bridge.read.xlsx.elements import attribute, elements
from bridge.read.xlsx.formats import PLAIN, Shown, built_in, shown_by
from bridge.read.xlsx.package import Package, damaged
from bridge.read.xlsx.sheet import WorkbookTable
from bridge.read.xlsx.texts import Texts

MAX_SHEETS = 1_000
MAX_STYLES = 200_000
_KINDS = {"sharedStrings": "texts", "styles": "styles"}


@dataclass(frozen=True, slots=True)
class Book:
    """What the sheets of a workbook share."""

    package: Package
    texts: Texts
    styles: tuple[Shown, ...]
    epoch: int
    sheets: tuple[tuple[str, str, bool], ...]
    """Name, part, and whether it is hidden."""
    macros: bool


def open_workbook(path: Path) -> list[WorkbookTable]:
    """The worksheets of a workbook in their order. Raises InputError where it is none."""
    found = path.stat()
    book = _book(path, found.st_mtime_ns, found.st_size)
    tables = [
        WorkbookTable(book.package, part, name, hidden, book.texts, book.styles, book.epoch)
        for name, part, hidden in book.sheets
    ]
    if len(tables) == 1:
        tables[0].sheet = ""
    tables[0].issues += _macros(book)
    return tables


@lru_cache(2)
def _book(path: Path, changed: int, size: int) -> Book:
    """A workbook, remembered while the same file is read again: for its layout, then for clashes, then for good."""
    package = Package(path)
    if "xl/workbook.xml" not in package.names and "_rels/.rels" not in package.names:
        raise InputError(f"{path.name} {_no_workbook(package.names)}", _WHAT_TO_DO)
    main = next((t for k, t, _ in _relations(package, "_rels/.rels", "") if k == "officeDocument"), "")
    if main not in package.names or not main.endswith(".xml"):
        raise InputError(f"{path.name} {_no_workbook(package.names)}", _WHAT_TO_DO)
    folder, _, name = main.rpartition("/")
    related = _relations(package, f"{folder}/_rels/{name}.rels", folder)
    parts = {_KINDS[kind]: target for kind, target, _ in related if kind in _KINDS and target in package.names}
    targets = {key: target for kind, target, key in related if kind == "worksheet"}
    epoch, sheets = _workbook(package, main, targets)
    return Book(
        package,
        Texts(package, parts.get("texts", "")),
        _styles(package, parts.get("styles", "")),
        epoch,
        sheets,
        any(n.endswith("vbaProject.bin") for n in package.names),
    )


_WHAT_TO_DO = "Save the sheet as an Excel workbook (.xlsx) or as “CSV UTF-8”, then read that file."


def _no_workbook(names: frozenset[str]) -> str:
    if "xl/workbook.bin" in names:
        return "is a workbook in the binary form (.xlsb), which is not read."
    if "content.xml" in names:
        return "is a sheet or document in the OpenDocument form, which is not read."
    if any(n.startswith("Index/") or n.endswith(".iwa") for n in names):
        return "is a sheet of a program that keeps its own form (.numbers), which is not read."
    return "is a packed file or document, not a file of records."


def _relations(package: Package, part: str, folder: str) -> list[tuple[str, str, str]]:
    """Kind, target and key of each relation of a part; targets outside of the package are left out."""
    if part.lstrip("/") not in package.names:
        return []
    found: list[tuple[str, str, str]] = []
    with package.open(part.lstrip("/")) as stream:
        for element in elements(stream, package.file, "Relationship"):
            target = str(element.get("Target", ""))
            if element.get("TargetMode") == "External" or len(found) > MAX_SHEETS * 10:
                continue
            path = target.lstrip("/") if target.startswith("/") else posixpath.normpath(posixpath.join(folder, target))
            kind = str(element.get("Type", "")).rpartition("/")[2]
            found.append((kind, path, str(element.get("Id", ""))))
    return found


def _workbook(package: Package, part: str, targets: dict[str, str]) -> tuple[int, tuple[tuple[str, str, bool], ...]]:
    epoch = 1900
    sheets: list[tuple[str, str, bool]] = []
    with package.open(part) as stream:
        for element in elements(stream, package.file, "workbookPr", "sheet"):
            if "date1904" in element.attrib:
                epoch = 1904 if element.get("date1904") in ("1", "true", "on") else 1900
            target = targets.get(attribute(element, "id"), "")
            if target in package.names and element.get("name"):
                hidden = element.get("state", "visible") != "visible"
                sheets.append((str(element.get("name"))[:60], target, hidden))
    if not sheets or len(sheets) > MAX_SHEETS:
        raise damaged(package.file)
    return epoch, tuple(sheets)


def _styles(package: Package, part: str) -> tuple[Shown, ...]:
    """How the numbers of each cell style are shown."""
    if not part:
        return ()
    codes = dict(built_in())
    shown: list[Shown] = []
    with package.open(part) as stream:
        for element in elements(stream, package.file, "numFmt", "cellXfs"):
            if "formatCode" in element.attrib and str(element.get("numFmtId", "")).isdecimal():
                codes[int(str(element.get("numFmtId")))] = str(element.get("formatCode"))[:1000]
            for style in element:
                number = str(style.get("numFmtId", "0"))
                code = codes.get(int(number), "") if number.isdecimal() else ""
                shown.append(shown_by(code) if code else PLAIN)
            if len(shown) > MAX_STYLES or len(codes) > MAX_STYLES:
                raise damaged(package.file)
    return tuple(shown)


def _macros(book: Book) -> list[Issue]:
    if not book.macros:
        return []
    told = "The workbook has macros; they were neither looked at nor run."
    return [issue("R152", told, Where(book.package.file))]
