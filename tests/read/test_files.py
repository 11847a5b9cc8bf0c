"""Files that are none, foreign, broken or hostile: said in plain words, and never a traceback."""

from __future__ import annotations

import io
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bridge.errors import BridgeError, InputError
from bridge.layout import load_layout
from bridge.read.headings import heading
from bridge.read.table import open_tables
from bridge.read.visits import read_visits
from bridge.shapes import Reading
from tests.read.sheets import LONDON, codes, good, layout_data, read_rows, records, write_layout, write_sheet


def packed(*names: str) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as made:
        for name in names:
            made.writestr(name, "x")
    return stream.getvalue()


def locked_zip() -> bytes:
    content = bytearray(packed("secret.csv"))
    content[6] |= 1  # the flag of encryption in the local header and in the directory
    content[content.index(b"PK\x01\x02") + 8] |= 1
    return bytes(content)


FILES: dict[str, tuple[bytes, str]] = {
    "empty.csv": (b"", "is empty"),
    "blank.csv": (b"\r\n  \r\n", "is empty"),
    "mark.csv": (b"\xef\xbb\xbf", "is empty"),
    "nul.csv": (b"\x00" * 100, "is empty"),
    "bare.xlsx": (packed("xl/workbook.xml"), "packed file"),
    "binary.xlsb": (packed("xl/workbook.bin"), "binary form"),
    "open.ods": (packed("content.xml", "mimetype"), "OpenDocument"),
    "pages.numbers": (packed("Index/Document.iwa"), "numbers"),
    "text.xlsx": (b"a,b\n1,2\n", "named like a spreadsheet"),
    "old.xls": (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"x" * 600, "form of old"),
    "locked.xlsx": (b"\xd0\xcf\x11\xe0" + b"x" * 600 + "EncryptedPackage".encode("utf-16-le"), "has a password"),
    "locked.csv": (locked_zip(), "password"),
    "other.csv": (packed("readme.txt"), "packed file"),
    "damaged.csv": (b"PK\x03\x04" + b"\x01" * 50, "damaged"),
    "letter.csv": (b"%PDF-1.7\n", "is a PDF document"),
    "data.csv": (b"SQLite format 3\x00" + b"\x00" * 100, "cannot be read"),
    "letter.html": (b"<!DOCTYPE html>\n<html><body>a,b</body></html>", "page for the browser"),
    "page.csv": (b"\xef\xbb\xbf <HTML><table></table>", "page for the browser"),
    "small.csv": (b"\x1f\x8b\x08\x00", "compressed"),
    "binary.csv": (bytes(range(256)) + b"\x00\x01\x02" * 1000, "not a text file"),
}


@pytest.mark.parametrize("name", FILES)
def test_a_file_that_is_no_record_is_said_with_help(name: str, tmp_path: Path) -> None:
    content, told = FILES[name]
    (tmp_path / name).write_bytes(content)
    layout = load_layout(write_layout(tmp_path, layout_data()))
    with pytest.raises(InputError, match=told) as caught:
        list(read_visits(tmp_path / name, layout, LONDON))
    assert caught.value.help


def test_missing_files_and_folders_are_said(tmp_path: Path) -> None:
    for source, told in (
        (tmp_path / "no.csv", "no file"),
        (tmp_path, "folder"),
        (Path("a\x00b.csv"), "cannot be opened"),
    ):
        with pytest.raises(InputError, match=told):
            list(read_visits(source, None, LONDON))


@pytest.mark.skipif(sys.platform == "win32", reason="needs POSIX rights")
def test_a_locked_file_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a.csv").write_text("x")

    def refuse(self: Path, *args: object) -> None:
        raise PermissionError

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(InputError, match="cannot be opened"):
        list(read_visits(tmp_path / "a.csv", None, LONDON))


def test_a_sheet_without_a_layout_is_said(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("a,b\n1,2\n")
    with pytest.raises(InputError, match="layout") as caught:
        list(read_visits(tmp_path / "a.csv", None, LONDON))
    assert "layouts" in caught.value.help


def as_bytes(folder: Path, change: Callable[[str], bytes], rows: int = 2) -> list[Reading]:
    layout = load_layout(write_layout(folder, layout_data()))
    whole = [
        {**good("visit"), "Visit no": f"V{i}", "Time": f"10:{i % 60:02}", "Notes": "Zoë, naïve"} for i in range(rows)
    ]
    sheet = write_sheet(folder / "sheet.csv", layout, whole)
    sheet.write_bytes(change(sheet.read_bytes().decode()))
    return list(read_visits(sheet, layout, LONDON))


ENCODED: dict[str, Callable[[str], bytes]] = {
    "utf-8": lambda t: t.encode(),
    "utf-8 with a mark": lambda t: t.encode("utf-8-sig"),
    "utf-16 with a mark": lambda t: t.encode("utf-16"),
    "utf-16 big end first": lambda t: b"\xfe\xff" + t.encode("utf-16-be"),
    "utf-16 without a mark": lambda t: t.encode("utf-16-le"),
    "cp1252": lambda t: t.encode("cp1252"),
    "old line ends": lambda t: t.replace("\r\n", "\r").encode(),
    "unix line ends": lambda t: t.replace("\r\n", "\n").encode(),
}


@pytest.mark.parametrize("name", ENCODED)
def test_every_encoding_reads_the_same(name: str, tmp_path: Path) -> None:
    readings = records(as_bytes(tmp_path, ENCODED[name]))
    assert [r.visit.note for r in readings if r.visit] == ["Zoë, naïve"] * 2


@pytest.mark.parametrize("delimiter", [";", "\t", "|"])
def test_every_delimiter_is_found(delimiter: str, tmp_path: Path) -> None:
    readings = records(as_bytes(tmp_path, lambda t: t.replace("Zoë, naïve", "Zoë").replace(",", delimiter).encode()))
    assert len([r for r in readings if r.visit]) == 2
    assert heading(open_tables(tmp_path / "sheet.csv")[0])[0][:2] == ["Visit no", "Date"]


def test_titles_over_the_sheet_are_no_headings(tmp_path: Path) -> None:
    def change(text: str) -> bytes:
        return b"sep=,\r\nVisits of March, room 2\r\n\r\n" + text.encode()

    readings = as_bytes(tmp_path, change)
    assert len([r for r in records(readings) if r.visit]) == 2
    assert records(readings)[0].where.row == 5
    assert heading(open_tables(tmp_path / "sheet.csv")[0])[0][:2] == ["Visit no", "Date"]


def test_a_cell_of_ten_megabytes_does_not_stop_the_rest(tmp_path: Path) -> None:
    readings = records(read_rows(tmp_path, [{"Notes": "x" * 10_000_000}, {"Visit no": "V2"}]))
    assert codes(readings) == ["R123"]
    assert [bool(r.visit) for r in readings] == [False, True]


def test_an_open_quote_swallows_its_own_row_only(tmp_path: Path) -> None:
    readings = records(as_bytes(tmp_path, lambda t: t.replace("\r\nV1", '\r\n"V1').encode(), rows=4))
    assert [bool(r.visit) for r in readings] == [True, False, True, True]
    assert [(i.rule, i.where.row) for r in readings for i in r.issues] == [("R125", 3)]
    assert [r.visit.note for r in readings if r.visit] == ["Zoë, naïve"] * 3


def test_an_open_quote_in_a_long_sheet_is_found_too(tmp_path: Path) -> None:
    readings = records(as_bytes(tmp_path, lambda t: t.replace("\r\nV1,", '\r\n"V1,', 1).encode(), rows=1500))
    assert len([r for r in readings if r.visit]) == 1499


def test_nul_bytes_spoil_their_own_row(tmp_path: Path) -> None:
    readings = records(as_bytes(tmp_path, lambda t: t.replace("V1", "V\x001", 1).encode()))
    assert [bool(r.visit) for r in readings] == [True, False]
    assert codes(readings) == ["R124"]


def test_bytes_that_are_no_text_spoil_their_own_row(tmp_path: Path) -> None:
    layout = load_layout(write_layout(tmp_path, layout_data("visit", {"encoding": "utf-8"})))
    sheet = write_sheet(
        tmp_path / "s.csv", layout, [good("visit") | {"Notes": "bad"}, good("visit") | {"Visit no": "V2"}]
    )
    sheet.write_bytes(sheet.read_bytes().replace(b"bad", b"\xff\xfe"))
    readings = records(list(read_visits(sheet, layout, LONDON)))
    assert [bool(r.visit) for r in readings] == [False, True]
    assert codes(readings) == ["R124"]


def test_repeated_headings_blank_rows_and_sums_are_left_alone(tmp_path: Path) -> None:
    def change(text: str) -> bytes:
        head, *rows = text.split("\r\n")
        return "\r\n".join([head, rows[0], "", head, rows[1], "Total,,2" + "," * 60]).encode()

    readings = as_bytes(tmp_path, change)
    assert [r.left_alone for r in readings] == [
        "headings", "", "blank row", "headings again", "", "sum below the rows",
    ]  # fmt: skip
    assert codes(readings) == []


def test_the_hash_is_that_of_headings_and_cells(tmp_path: Path) -> None:
    """Recomputed with csv and hashlib alone."""
    import csv
    import hashlib

    reading = records(as_bytes(tmp_path, lambda t: t.encode(), rows=1))[0]
    with (tmp_path / "sheet.csv").open(encoding="utf-8", newline="") as stream:
        head, row = list(csv.reader(stream))
    assert reading.visit is not None
    assert reading.visit.source_sha256 == hashlib.sha256("\x1f".join(head + row).encode()).hexdigest()


LAYOUT = load_layout(Path(__file__).parent / "foreign-clinic.yaml")
ALONE = settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def swallow(path: Path) -> list[Reading]:
    try:
        return list(read_visits(path, LAYOUT, LONDON))
    except BridgeError:
        return []


@ALONE
@given(content=st.binary(max_size=2000))
def test_random_bytes_never_raise_as_a_sheet(content: bytes, tmp_path: Path) -> None:
    (tmp_path / "random.csv").write_bytes(content)
    swallow(tmp_path / "random.csv")


@ALONE
@given(content=st.text(st.sampled_from(list(";\"\r\n,\t|abcHé0 \x00'")), max_size=400))
def test_random_rows_never_raise(content: str, tmp_path: Path) -> None:
    head = ";".join(c.heading for c in LAYOUT.columns)
    (tmp_path / "random.csv").write_bytes(f"{head}\r\n{content}".encode("cp1252", "replace"))
    for reading in swallow(tmp_path / "random.csv"):
        assert reading.visit is None or not [i for i in reading.issues if i.severity > 1]


@ALONE
@given(content=st.binary(max_size=1000) | st.text(max_size=300).map(lambda t: t.encode("utf-8", "replace")))
def test_random_bytes_never_raise_as_yaml(content: bytes, tmp_path: Path) -> None:
    (tmp_path / "random.yaml").write_bytes(content)
    swallow(tmp_path / "random.yaml")
