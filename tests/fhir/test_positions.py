"""Lines and columns of JSON, NDJSON and XML. Oracle: a writer that notes where it puts each key and item."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.check.resource import check_resource
from bridge.fhir.positions_json import locate_json
from bridge.received import check_received

SPACES = st.sampled_from(["", " ", "\n", "\n  ", "\t", "\r\n"])
keys = st.sampled_from(["a", "b", "_a", "é", 'q"', "back\\slash", "{x", "a]", "url:", "x.y", "z[0]"])
plain = st.recursive(
    st.none() | st.booleans() | st.integers(-5, 5) | st.text('ab"\\{}[]:,\né\U0001f600', max_size=6),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=4),
    max_leaves=15,
)


class Writer:
    def __init__(self, draw: Any) -> None:
        self.draw, self.text, self.places = draw, "", {}

    def blank(self) -> None:
        self.text += self.draw(SPACES)

    def note(self, path: str) -> None:
        lines = self.text.split("\n")
        self.places[path] = len(lines), len(lines[-1]) + 1

    def value(self, value: Any, path: str) -> None:
        if not isinstance(value, dict | list):
            self.text += json.dumps(value, ensure_ascii=self.draw(st.booleans()))
            return
        self.text += "{" if isinstance(value, dict) else "["
        rows = value.items() if isinstance(value, dict) else enumerate(value)
        for number, (key, inner) in enumerate(rows):
            self.blank()
            self.text += "," if number else ""
            self.blank()
            place = f"{path}.{key}" if isinstance(value, dict) else f"{path}[{key}]"
            self.note(place)
            if isinstance(value, dict):
                self.text += json.dumps(key, ensure_ascii=self.draw(st.booleans()))
                self.blank()
                self.text += ":"
                self.blank()
            self.value(inner, place)
        self.blank()
        self.text += "}" if isinstance(value, dict) else "]"


@given(st.data(), st.dictionaries(keys, plain, max_size=5))
def test_every_key_and_item_is_found_where_it_was_written(given: st.DataObject, data: dict[str, Any]) -> None:
    writer = Writer(given.draw)
    writer.blank()
    writer.note("Patient")
    writer.value(data, "Patient")
    assert locate_json(writer.text.encode(), set(writer.places)) == writer.places
    for path, place in writer.places.items():
        assert locate_json(writer.text.encode(), {path}) == {path: place}


@given(st.binary(max_size=50), st.sets(st.text("Pa.[]0_", max_size=8), max_size=4))
def test_any_bytes_are_answered(content: bytes, paths: set[str]) -> None:
    assert set(locate_json(content, paths)) <= paths


PATIENT = b"""{
  "resourceType": "Patient",
  "name": [{"given": ["A", "B"]}],
  "_birthDate": {"id": "x"},
  "photo": {"a": 1},
  "photo": {"b": 2}
}"""


@pytest.mark.parametrize(
    ("path", "place"),
    [
        ("Patient.name[0].given[1]", (3, 28)),
        ("Patient.name[0].family", (3, 12)),
        ("Patient.name[0].given[7].x", (3, 13)),
        ("Patient.birthDate", (4, 3)),
        ("Patient._birthDate.extension[0].url", (4, 3)),
        ("Patient.gender", (1, 1)),
        ("Patient", (1, 1)),
        ("Patient.photo", (6, 3)),
        ("Patient.photo.b", (6, 13)),
        ("Patient.photo.a", (6, 3)),
        ("Resource.name", (3, 3)),
        ("$.name", (3, 3)),
    ],
)
def test_what_is_missing_is_told_where_the_nearest_around_it_is(path: str, place: tuple[int, int]) -> None:
    assert locate_json(PATIENT, {path}) == {path: place}
    assert locate_json(b"\xef\xbb\xbf" + PATIENT, {path}) == {path: place}


def places(content: bytes, file: str = "x.json") -> dict[str, tuple[str, int | None, int | None, str, str]]:
    return {
        i.rule: (i.where.file, i.where.row, i.where.column, i.where.path, i.where.expression)
        for i in check_received(content, file)[1]
    }


def test_issues_of_json_have_their_places() -> None:
    found = places(b'{"resourceType": "Patient",\n "gender": "m",\n "multipleBirthInteger": "2",\n "x": 1, "x": 2}')
    assert found["S111"] == ("x.json", 2, 2, "Patient.gender", "Patient.gender")
    assert found["S105"] == ("x.json", 3, 2, "Patient.multipleBirthInteger", "Patient.multipleBirth")
    assert found["S123"] == ("x.json", 4, 10, "Patient.x", "Patient")


def test_issues_of_lines_have_their_places() -> None:
    lines = b'{"resourceType": "Patient", "id": "a"}\n\n  {"resourceType": "Patient", "id": "b", "gender": "m"}\n'
    assert places(lines, "x.ndjson")["S111"] == ("x.ndjson", 3, 42, "Patient.gender", "Patient.gender")
    inner = b'{"resourceType": "Patient", "id": "a"}\n{"resourceType": "Bundle", "entry": [{"x": 1, "x": 2}]}'
    assert places(inner, "x.ndjson")["S123"][:4] == ("x.ndjson", 2, 47, "Bundle.entry[0].x")


def test_issues_of_xml_have_their_places() -> None:
    found = places(b'<Patient xmlns="http://hl7.org/fhir">\n <gender value="m"/>\n</Patient>')
    assert found["S111"] == ("x.json", 2, 2, "Patient.gender", "Patient.gender")


def test_issues_of_bytes_have_their_places_for_users_of_the_library() -> None:
    (first, *_) = check_resource(b'{"resourceType": "Observation",\n "status": "done", "code": {"text": "x"}}').issues
    assert (first.rule, str(first.where)) == ("S111", "line 2, column 2, Observation.status")


def test_a_scan_takes_time_in_proportion_to_the_file() -> None:
    from timeit import timeit

    small = b'{"a": [' + b'{"b": "c"},' * 2_000 + b"1]}"
    large = b'{"a": [' + b'{"b": "c"},' * 40_000 + b"1]}"
    paths = {"X.a[1999].b", "X.a[5].b", "X.q"}
    assert timeit(lambda: locate_json(large, paths), number=1) < 200 * timeit(
        lambda: locate_json(small, paths), number=1
    )


WHOLE = {"S120", "S124", "S128"}
"""What is said of a file as a whole."""
FILES = [
    PATIENT,
    b'{"resourceType":"Patient","id":"a"}\n{"resourceType":"Bundle","type":"batch","entry":[{"resource":{"a":1}}]}\n',
    b'<Patient xmlns="http://hl7.org/fhir">\n <gender value="m"/><name><given value="x"/></name></Patient>',
]
PIECES = [
    *(b'"', b"{", b"}", b"[", b"]", b",", b":", b"null", b"[]", b"{}", b'"x":1,', b"\\ud800", b"<", b">", b"&", b"."),
    *(b"_", b"resourceType", b"1e9", b"-0", b"NaN", b"\n", b"\xff"),
]
changes = st.tuples(st.integers(0, 150), st.integers(0, 6), st.sampled_from(PIECES))


@given(st.sampled_from(FILES), st.lists(changes, min_size=1, max_size=3), st.sampled_from(["a.json", "a.ndjson"]))
def test_every_issue_of_a_spoilt_file_has_its_line_and_column(
    content: bytes, spoilt: list[tuple[int, int, bytes]], file: str
) -> None:
    for at, length, piece in spoilt:
        content = content[:at] + piece + content[at + length :]
    rows = content.count(b"\n") + 1
    for found in check_received(content, file)[1]:
        assert found.where.file == file
        assert found.rule in WHOLE or (1 <= (found.where.row or 0) <= rows and (found.where.column or 0) >= 1)
