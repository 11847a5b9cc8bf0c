"""Writes an XLSX workbook whose bytes depend on nothing but what is given: no clock, no packing, no library's version.

A cell is a text, a number, a date or time, None, or one of the classes below.
"""

from __future__ import annotations

import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

FORMATS = ["General", "0%", "dd/mm/yyyy", "dd/mm/yyyy hh:mm", "hh:mm"]
DAY_0 = datetime(1899, 12, 30)


@dataclass(frozen=True)
class Percent:
    share: float


@dataclass(frozen=True)
class Serial:
    """A date left as the number that the spreadsheet counts, as happens when a column loses its format."""

    day: date

    @property
    def number(self) -> int:
        return (datetime.combine(self.day, time()) - DAY_0).days


@dataclass(frozen=True)
class Formula:
    text: str
    shown: str | float | Percent


Cell = str | int | float | date | datetime | time | Percent | Serial | Formula | bool | None


@dataclass(frozen=True)
class Page:
    name: str
    rows: Sequence[Sequence[Cell]]
    merged: Sequence[str] = ()
    hidden: bool = False


class Workbook:
    """The parts of one file, texts shared between the pages as spreadsheet programs do."""

    def __init__(self, pages: Sequence[Page]) -> None:
        self.pages = pages
        self.texts: dict[str, int] = {}

    def write(self, path: Path) -> None:
        sheets = [self._page(page) for page in self.pages]
        parts = {
            "[Content_Types].xml": self._types(),
            "_rels/.rels": _relations([("officeDocument", "xl/workbook.xml")]),
            "xl/workbook.xml": self._book(),
            "xl/_rels/workbook.xml.rels": _relations(
                [("worksheet", f"worksheets/sheet{i}.xml") for i in range(1, len(sheets) + 1)]
                + [("styles", "styles.xml"), ("sharedStrings", "sharedStrings.xml")]
            ),
            "xl/styles.xml": _styles(),
            "xl/sharedStrings.xml": self._shared(),
        } | {f"xl/worksheets/sheet{i}.xml": sheet for i, sheet in enumerate(sheets, 1)}
        with zipfile.ZipFile(path, "w", zipfile.ZIP_STORED) as file:
            for name, text in parts.items():
                file.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), HEAD + text)

    def _page(self, page: Page) -> str:
        rows = []
        for number, cells in enumerate(page.rows, 1):
            inner = "".join(self._cell(f"{column_name(i)}{number}", cell) for i, cell in enumerate(cells))
            rows.append(f'<row r="{number}">{inner}</row>')
        merged = "".join(f'<mergeCell ref="{ref}"/>' for ref in page.merged)
        if merged:
            merged = f'<mergeCells count="{len(page.merged)}">{merged}</mergeCells>'
        return f'<worksheet xmlns="{MAIN}"><sheetData>{"".join(rows)}</sheetData>{merged}</worksheet>'

    def _cell(self, at: str, cell: Cell) -> str:
        if cell is None:
            return ""
        if isinstance(cell, Formula):
            return self._formula(at, cell)
        if isinstance(cell, bool):
            return f'<c r="{at}" t="b"><v>{int(cell)}</v></c>'
        if isinstance(cell, str):
            return f'<c r="{at}" t="s"><v>{self.texts.setdefault(cell, len(self.texts))}</v></c>'
        number, style = _number(cell)
        return f'<c r="{at}" s="{style}"><v>{number}</v></c>'

    def _formula(self, at: str, cell: Formula) -> str:
        formula = f"<f>{escape(cell.text)}</f>"
        if isinstance(cell.shown, str):
            kind = "e" if cell.shown.startswith("#") else "str"
            return f'<c r="{at}" t="{kind}">{formula}<v>{escape(cell.shown)}</v></c>'
        number, style = _number(cell.shown)
        return f'<c r="{at}" s="{style}">{formula}<v>{number}</v></c>'

    def _shared(self) -> str:
        inner = "".join(f'<si><t xml:space="preserve">{escape(text)}</t></si>' for text in self.texts)
        return f'<sst xmlns="{MAIN}" count="{len(self.texts)}" uniqueCount="{len(self.texts)}">{inner}</sst>'

    def _book(self) -> str:
        inner = "".join(
            f'<sheet name={quoteattr(page.name)} sheetId="{i}"{" state=" + quoteattr("hidden") if page.hidden else ""}'
            f' r:id="r{i}"/>'
            for i, page in enumerate(self.pages, 1)
        )
        return f'<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}"><sheets>{inner}</sheets></workbook>'

    def _types(self) -> str:
        kinds = [("/xl/workbook.xml", "sheet.main"), ("/xl/styles.xml", "styles")]
        kinds += [("/xl/sharedStrings.xml", "sharedStrings")]
        kinds += [(f"/xl/worksheets/sheet{i}.xml", "worksheet") for i in range(1, len(self.pages) + 1)]
        inner = "".join(f'<Override PartName="{part}" ContentType="{SPREADSHEET}.{kind}+xml"/>' for part, kind in kinds)
        rels = '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        return f'<Types xmlns="{PACKAGE}/content-types">{rels}{inner}</Types>'


HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
SPREADSHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml"


def column_name(index: int) -> str:
    name = ""
    index += 1
    while index:
        index, letter = divmod(index - 1, 26)
        name = chr(ord("A") + letter) + name
    return name


def _number(cell: int | float | date | datetime | time | Percent | Serial) -> tuple[str, int]:
    """The stored number and its place in FORMATS."""
    if isinstance(cell, Percent):
        return _short(cell.share), 1
    if isinstance(cell, Serial):
        return str(cell.number), 0
    if isinstance(cell, datetime):
        return _short((cell - DAY_0).total_seconds() / 86_400), 3
    if isinstance(cell, date):
        return str(Serial(cell).number), 2
    if isinstance(cell, time):
        return _short((cell.hour * 60 + cell.minute) / 1440), 4
    return _short(cell), 0


def _short(number: float) -> str:
    return repr(round(number, 10)).removesuffix(".0")


def _relations(targets: Sequence[tuple[str, str]]) -> str:
    inner = "".join(
        f'<Relationship Id="r{i}" Type="{OFFICE}/{kind}" Target="{target}"/>'
        for i, (kind, target) in enumerate(targets, 1)
    )
    return f'<Relationships xmlns="{PACKAGE}/relationships">{inner}</Relationships>'


def _styles() -> str:
    own = "".join(f'<numFmt numFmtId="{164 + i}" formatCode="{code}"/>' for i, code in enumerate(FORMATS))
    cells = "".join(
        f'<xf numFmtId="{164 + i if i else 0}" fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1"/>'
        for i in range(len(FORMATS))
    )
    return (
        f'<styleSheet xmlns="{MAIN}"><numFmts count="{len(FORMATS)}">{own}</numFmts>'
        '<fonts count="1"><font><sz val="11"/><name val="Sans"/></font></fonts>'
        '<fills count="2"><fill><patternFill patternType="none"/></fill>'
        '<fill><patternFill patternType="gray125"/></fill></fills>'
        '<borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders>'
        '<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs>'
        f'<cellXfs count="{len(FORMATS)}">{cells}</cellXfs>'
        '<cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles></styleSheet>'
    )
