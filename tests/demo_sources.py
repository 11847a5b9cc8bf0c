"""Makes the demo's workbook and database from the texts beside it: `python -m tests.demo_sources`.

The same text gives the same workbook, byte for byte; of a database the content is the same, since SQLite writes its own
version into each file.
"""

from __future__ import annotations

import csv
import io
import sqlite3
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from openpyxl import Workbook
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter

HERE = Path(__file__).parent / "demo_texts"
DEMO = Path(__file__).parents[1] / "mappings" / "demo"
HOME, ROOM = "home-visits-2026", "second-room-2026"
MADE = datetime(2026, 11, 25)
DATES = {"Date", "Born"}
TIMES = {"From", "To"}
MOMENTS = {"Written up", "Read"}
FILLS = {"Fill", "Fill after"}


def typed(heading: str, text: str) -> Any:
    """What a spreadsheet program makes of the text in a column: a real date, time or percentage, or words."""
    if not text or text == "Total":
        return text or None
    if heading in DATES and "-" in text:
        return date.fromisoformat(text)
    if heading in TIMES:
        return time.fromisoformat(text)
    if heading in MOMENTS:
        return datetime.fromisoformat(text)
    if heading in FILLS:
        return int(text.rstrip("%")) / 100
    return text


FORMATS = {**dict.fromkeys(DATES, "dd/mm/yyyy"), **dict.fromkeys(TIMES, "hh:mm"),
           **dict.fromkeys(MOMENTS, "dd/mm/yyyy hh:mm"), **dict.fromkeys(FILLS, "0%")}  # fmt: skip


def home_visits() -> bytes:
    """The workbook: a sheet of visits under two rows of headings, and a sheet that has nothing to do with visits."""
    groups, headings, *rows = csv.reader((HERE / f"{HOME}.csv").read_text(encoding="utf-8").splitlines())
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Home visits"
    sheet.append(["Home visits 2026"])
    sheet.append(groups)
    sheet.append(headings)
    for row in rows:
        sheet.append([typed(heading, text) for heading, text in zip(headings, row, strict=True)])
        for index, heading in enumerate(headings, 1):
            if heading in FORMATS:
                sheet.cell(sheet.max_row, index).number_format = FORMATS[heading]
    for first, last in _spans(groups):
        sheet.merge_cells(start_row=2, end_row=2, start_column=first, end_column=last)
        sheet.cell(2, first).alignment = Alignment(horizontal="center")
        sheet.cell(2, first).fill = PatternFill("solid", fgColor="DDE7EE")
    for index, heading in enumerate(headings, 1):
        sheet.cell(2, index).font = sheet.cell(3, index).font = Font(bold=True)
        sheet.column_dimensions[get_column_letter(index)].width = max(10, min(24, len(heading) + 6))
    sheet.cell(1, 1).font = Font(bold=True, size=14)
    sheet.freeze_panes = "C4"
    other = book.create_sheet("Mileage")
    for row in (["Day", "Miles"], [date(2026, 7, 13), 6], [date(2026, 7, 20), 4], ["Total", 10]):
        other.append(row)
    book.properties.creator = "Millbrook Ear Care"
    book.properties.created = book.properties.modified = MADE
    return _same_bytes(book)


def _spans(groups: list[str]) -> Iterator[tuple[int, int]]:
    starts = [index for index, text in enumerate(groups, 1) if text]
    yield from zip(starts, [*(s - 1 for s in starts[1:]), len(groups)], strict=True)


def _same_bytes(book: Workbook) -> bytes:
    """The workbook without the moment of its making, which openpyxl writes into its parts and its archive."""
    raw, clean = io.BytesIO(), io.BytesIO()
    book.save(raw)
    with zipfile.ZipFile(raw) as source, zipfile.ZipFile(clean, "w", zipfile.ZIP_DEFLATED) as target:
        for info in source.infolist():
            content = source.read(info)
            if info.filename == "docProps/core.xml":
                start, end = content.index(b"<dcterms:modified"), content.index(b"</dcterms:modified>")
                inside = content.index(b">", start) + 1
                content = content[:inside] + MADE.strftime("%Y-%m-%dT%H:%M:%SZ").encode() + content[end:]
            target.writestr(zipfile.ZipInfo(info.filename, (2026, 11, 25, 0, 0, 0)), content, zipfile.ZIP_DEFLATED)
    return clean.getvalue()


def second_room(path: Path) -> None:
    """The database, made anew."""
    path.unlink(missing_ok=True)
    connection = sqlite3.connect(path)
    connection.executescript((HERE / f"{ROOM}.sql").read_text(encoding="utf-8"))
    connection.commit()
    connection.close()


if __name__ == "__main__":
    (DEMO / f"{HOME}.xlsx").write_bytes(home_visits())
    second_room(DEMO / f"{ROOM}.sqlite")
