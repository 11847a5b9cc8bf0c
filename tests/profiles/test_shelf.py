"""A shelf gives back what was put on it, one blob at a time, and notices when it is damaged."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from bridge.errors import BridgeError
from bridge.profiles import shelf as shelves
from bridge.profiles.shelf import DamagedError, Row, Shelf, decode, encode, laid_out
from bridge.profiles.versions import newness

A, B = "http://example.org/a", "http://example.org/b"
ROWS: list[Row] = [
    ("profiles", A, "1.2.0", "active", encode({"is": "1.2.0", "least": ["minValueDecimal", Decimal("0.10")]})),
    ("profiles", A, "1.10.0", "active", encode({"is": "1.10.0"})),
    ("profiles", A, "2.0.0", "draft", encode({"is": "2.0.0"})),
    ("value_sets", B, "", "", encode({"name": "Größe\u2028"})),
]


@pytest.fixture(params=["bytes", "file", "packed"])
def source(request: pytest.FixtureRequest, tmp_path: Path) -> Path | bytes:
    content = laid_out({"name": "x"}, ROWS, packed=request.param == "packed")
    if request.param == "bytes":
        return content
    path = tmp_path / "x.shelf"
    path.write_bytes(content)
    return path


def test_what_is_put_on_it_is_given_back(source: Path | bytes) -> None:
    shelf = Shelf(source)
    assert shelf.about == {"name": "x"}
    assert shelf.versions("profiles", A) == [("1.10.0", "active"), ("1.2.0", "active"), ("2.0.0", "draft")]
    assert shelf.get("profiles", A, "2.0.0") == {"is": "2.0.0"}
    assert shelf.get("value_sets", B, "") == {"name": "Größe\u2028"}
    assert shelf.get("profiles", A, "3") is None
    assert shelf.get("code_systems", A, "1.2.0") is None
    found = shelf.get("profiles", A, "1.2.0")
    assert found is not None
    assert str(found["least"][1]) == "0.10"
    assert isinstance(found["least"][1], Decimal)
    assert shelf.get("profiles", A, "1.2.0") is found


def test_all_rows_come_back(source: Path | bytes) -> None:
    assert sorted(Shelf(source).rows()) == sorted(ROWS)


def test_opening_reads_the_index_alone(source: Path | bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    read: list[int] = []
    monkeypatch.setattr(shelves, "decode", lambda blob: read.append(len(blob)) or decode(blob))
    shelf = Shelf(source)
    assert len(read) == 1
    shelf.get("profiles", A, "1.10.0")
    shelf.get("profiles", A, "1.10.0")
    assert read[1:] == [len(ROWS[1][4])]


@pytest.mark.parametrize(
    "content", [b"", b"\n", b"[]\n", b"{}\n", b'{"about": {}, "kinds": [], "size": 0}\n', b"\xff\n"]
)
def test_what_is_no_shelf(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "x.jsonl"
    path.write_bytes(content)
    for source in (content, path, tmp_path / "missing", tmp_path):
        with pytest.raises(DamagedError):
            Shelf(source)


@pytest.mark.parametrize("cut", [1, 30])
def test_a_file_that_was_cut_or_grew_is_damaged(cut: int, tmp_path: Path) -> None:
    path = tmp_path / "x.jsonl"
    for content in (laid_out({}, ROWS)[:-cut], laid_out({}, ROWS) + b"x" * cut):
        path.write_bytes(content)
        with pytest.raises(DamagedError):
            Shelf(path)


def test_a_damaged_blob_is_mended_once(tmp_path: Path) -> None:
    path = tmp_path / "x.jsonl"
    whole = laid_out({}, ROWS)
    path.write_bytes(whole.replace(b'{"is":"1.10.0"}', b'{"is":"1.10.0"\0'))
    shelf = Shelf(path)
    with pytest.raises(DamagedError):
        shelf.get("profiles", A, "1.10.0")
    shelf.mend = lambda: Shelf(whole)
    assert shelf.get("profiles", A, "1.10.0") == {"is": "1.10.0"}
    assert shelf.get("profiles", A, "2.0.0") == {"is": "2.0.0"}


def test_no_bytes_depend_on_anything_but_the_rows() -> None:
    assert laid_out({"x": 1}, ROWS) == laid_out({"x": 1}, iter(ROWS))


def test_what_is_no_data_is_refused() -> None:
    for value in (object(), Decimal("NaN"), Decimal("1E+999"), {1: 2}, "\ud800", {"x": {1, 2}}):
        with pytest.raises((TypeError, ValueError)):
            encode(value)
    assert Shelf(laid_out({"file": "\udce4.tgz"}, ())).about == {"file": "?.tgz"}


def test_versions_are_ordered_as_they_were_given_out() -> None:
    """Source: https://semver.org, precedence; days as HL7's older terminology numbers its versions."""
    order = [
        "",
        "0.9",
        "1.0.0-1",
        "1.0.0-2",
        "1.0.0-alpha",
        "1.0.0-beta",
        "1.0.0",
        "1.0.1",
        "1.2.0",
        "1.10.0",
        "2018-08-12",
    ]
    assert [newness(one) for one in order] == sorted({newness(one) for one in order})
    assert newness("2018-08-12") < newness("2018-11-02")
    assert newness("2.0.0", "draft") < newness("1.0.0", "active")
    assert newness("2.0.0", "retired") < newness("1.0.0", "draft")
    assert newness("1" * 5000 + "." * 5000) is not None


def test_damage_is_told_to_a_person(tmp_path: Path) -> None:
    path = tmp_path / "x.shelf"
    path.write_bytes(b"no index\n")
    with pytest.raises(BridgeError, match="damaged") as raised:
        Shelf(path)
    assert "install" in raised.value.help
