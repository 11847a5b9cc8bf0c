"""Rows as a file that a spreadsheet opens, in which no cell is a formula."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Iterable, Iterator, Sequence

from bridge.layout.model import Layout
from bridge.text_mark import FORMULA, marked

_MOMENT = (1980, 1, 1, 0, 0, 0)


def heading_rows(layout: Layout) -> list[list[str]]:
    """The headings in as many rows as the layout says."""
    depth = max(layout.heading_rows, 1)
    split = [c.heading.split(" / ", depth - 1) for c in layout.columns]
    return [
        [("" if at < depth - len(parts) else parts[at - depth + len(parts)]) for parts in split] for at in range(depth)
    ]


def csv_bytes(layout: Layout, rows: Iterable[Sequence[str]]) -> bytes:
    """A CSV file with the layout's delimiter, every cell in quotation marks; in UTF-8 with the mark that says so, which
    is read whatever encoding the layout names."""
    delimiter = "," if layout.delimiter == "auto" else layout.delimiter
    text = io.StringIO(newline="")
    writer = csv.writer(text, delimiter=delimiter, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    writer.writerows(heading_rows(layout))
    writer.writerows([marked(cell) for cell in row] for row in rows)
    return text.getvalue().encode("utf-8-sig")


def xlsx_bytes(layout: Layout, rows: Iterable[Sequence[str]]) -> bytes:
    """A workbook with one sheet, every cell of which is text; the same rows make the same bytes."""
    from openpyxl import Workbook  # type: ignore[import-untyped]
    from openpyxl.cell import WriteOnlyCell  # type: ignore[import-untyped]

    book = Workbook(write_only=True)
    sheet = book.create_sheet(_title(layout))
    sheet.freeze_panes = f"A{max(layout.heading_rows, 1) + 1}"

    def cells(row: Sequence[str]) -> Iterator[object]:
        for text in row:
            cell = WriteOnlyCell(sheet, text)
            cell.data_type, cell.number_format = "s", "@"
            if FORMULA.match(text):
                cell.quotePrefix = True
            yield cell if text else None

    for row in (*heading_rows(layout), *rows):
        sheet.append(list(cells(row)))
    made = io.BytesIO()
    book.save(made)
    return _same_bytes(made.getvalue())


def _title(layout: Layout) -> str:
    name = next((n for n in layout.sheet if not re.search(r"[*?\[\]]", n)), "")
    name = name or next((n.replace("*", "1").replace("?", "1") for n in layout.sheet), "Visits")
    return re.sub(r"[\[\]:*?/\\]", " ", name)[:31]


def _same_bytes(content: bytes) -> bytes:
    """The package without the moment at which it was made."""
    told = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as made, zipfile.ZipFile(told, "w", zipfile.ZIP_DEFLATED) as same:
        for name in made.namelist():
            data = made.read(name)
            if name == "docProps/core.xml":
                data = re.sub(rb"(<dcterms:(created|modified)[^>]*>)[^<]*", rb"\g<1>1980-01-01T00:00:00Z", data)
            same.writestr(zipfile.ZipInfo(name, _MOMENT), data, zipfile.ZIP_DEFLATED)
    return told.getvalue()
