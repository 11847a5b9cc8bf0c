"""Layouts: fields, the schema, every problem at once with its line, what a layout may never supply, which one fits."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema_rs
import pytest
import yaml

from bridge.data import mappings_root
from bridge.errors import InputError, MappingError
from bridge.issues import Severity
from bridge.layout import (
    LayoutError,
    all_paths,
    check_layout,
    choose_layout,
    find_field,
    load_layout,
    load_layouts,
    nearest_paths,
)
from bridge.layout.fields import hints
from bridge.layout.schema import faults, load_schema
from bridge.layout.tables import field_units, unit_of
from bridge.marked_yaml import load_marked
from bridge.visit import EarRecord, Visit
from tests.read.sheets import layout_data, write_layout

SHIPPED = sorted((mappings_root() / "layouts").glob("*.yaml"))
SMALL = """name: small
rows: visit
columns:
  No: number
  Day: start.date
  Name: client.legal_name.family
"""


def check(folder: Path, text: str) -> list[tuple[str, int | None]]:
    path = folder / "own.yaml"
    path.write_text(text, encoding="utf-8")
    return [(i.rule, i.where.row) for i in check_layout(path)[1]]


ROWS = {"one-row-per-visit": "visit", "grouped-headings": "visit", "one-row-per-ear": "ear", "database-query": "ear"}


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_shipped_layouts_have_nothing_wrong(path: Path) -> None:
    layout, issues = check_layout(path)
    assert issues == []
    assert layout is not None
    assert layout.rows == ROWS[path.stem]


def test_shipped_layouts_fill_both_ears_alike() -> None:
    layout = load_layout(mappings_root() / "layouts" / "one-row-per-visit.yaml")
    paths = {t.field.path for t in layout.targets()}
    right = {p.removeprefix("right.") for p in paths if p.startswith("right.")}
    assert right == {p.removeprefix("left.") for p in paths if p.startswith("left.")}
    for column in layout.columns:
        side = {"R": "right", "L": "left"}.get(column.heading.split(" ")[0])
        if side:
            assert {t.field.scope for t in column.targets} == {side}


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_shipped_layouts_obey_the_schema(path: Path) -> None:
    """Oracle: jsonschema-rs, another validator."""
    validator = jsonschema_rs.validator_for(load_schema("layout"))
    assert [e.message for e in validator.iter_errors(load_marked(path.read_bytes())[0])] == []


BROKEN: list[Any] = [
    [], {}, {"name": "x"}, {"name": "x", "rows": "ears", "columns": {"a": "number"}},
    {"name": "x", "rows": "ear", "columns": {}}, {"name": "x", "rows": "ear", "columns": {"a": {"words": {}}}},
    {"name": "x", "rows": "ear", "columns": {"a": {"to": "number", "unitt": "mm"}}},
    {"name": "x", "rows": "ear", "columns": {"a": []}},
    {"name": "x", "rows": "ear", "columns": {"a": "number"}, "x": "y"},
    {"name": "x", "rows": "ear", "columns": {"a": "number"}, "dates": "dd/mm/yyyy"},
    {"name": "x", "rows": "ear", "columns": {"a": "number"}, "two_digit_years": "50"},
    {"name": "x", "rows": "ear", "columns": {"a": "number"}, "start_from": "1/1/2026"},
    {"name": "x", "rows": "ear", "columns": {"a": [{"to": "number", "optional": "maybe"}]}},
    {"name": "x", "rows": "ear", "columns": {"a": {"to": "number", "scale": "Ch"}}},
    {"name": "x", "rows": "ear", "columns": {"a": "number"}, "words": {"*.drum": "UTV"}},
]  # fmt: skip
FINE: list[Any] = [
    {"name": "x", "rows": "ear", "columns": {"a": "number"}, "two_digit_years": "1950", "start_from": "2026-01-01"},
    {"name": "x", "rows": "visit", "columns": {"a": ["number", {"to": "note", "optional": "yes"}]}, "delimiter": "tab"},
    {"name": "x", "rows": "visit", "columns": {"a": {"to": "note", "words": {"a": "b"}}}, "words": {"*.x": {"a": "b"}}},
]


@pytest.mark.parametrize("data", BROKEN + FINE, ids=lambda d: json.dumps(d)[:60])
def test_the_small_schema_check_agrees_with_a_whole_one(data: Any) -> None:
    """Oracle: jsonschema-rs. Data is as marked YAML gives it, every scalar a string."""
    schema = load_schema("layout")
    ours = list(faults(data, schema, schema))
    assert bool(ours) == (not jsonschema_rs.validator_for(schema).is_valid(data))
    assert bool(ours) == (data in BROKEN)


def test_every_path_offered_is_a_field_or_a_group_of_fields() -> None:
    for path in all_paths("visit"):
        assert find_field(path, "visit") is not None, path
    for path in all_paths("ear"):
        assert find_field(path, "ear") is not None, path


def test_every_field_of_the_model_can_be_named() -> None:
    assert set(hints(Visit)) <= set(all_paths("visit"))
    assert {f"right.{name}" for name in hints(EarRecord)} <= set(all_paths("visit"))
    assert {f"ear.{name}" for name in hints(EarRecord)} <= set(all_paths("ear"))


@pytest.mark.parametrize(
    ("path", "rows", "wanted"),
    [
        ("right.before.wax.amount", "visit", ("right", "right.before.wax.amount", "term")),
        ("right.work[0].instruments[0].size", "visit", ("right", "right.work[0].instruments[0].size", "size")),
        ("work.method", "ear", ("ear", "work[0].method", "term")),
        ("before.canal.findings", "visit", ("ear", "before.canal.findings", "model")),
        ("note", "ear", ("visit", "note", "words")),
        ("ear.note", "ear", ("ear", "note", "words")),
        ("start.time", "visit", ("visit", "start", "when")),
        ("ear", "ear", ("visit", "ear", "side")),
        ("left.before.wax.percent", "visit", ("left", "left.before.wax.percent", "percent")),
        ("client.nhs_number_status", "ear", ("visit", "client.nhs_number_status", "choice")),
    ],
)
def test_paths_are_understood(path: str, rows: Any, wanted: tuple[str, str, str]) -> None:
    field = find_field(path, rows)
    assert field is not None
    assert (field.scope, field.path, field.kind) == wanted


@pytest.mark.parametrize(
    "path", ["", "x", "right.wax", "number[0]", "start.hour", "right..before", "ear", "Right.note"]
)
def test_what_is_no_field_is_none(path: str) -> None:
    assert find_field(path, "visit") is None


def test_unknown_fields_are_told_the_nearest() -> None:
    assert nearest_paths("right.befor.wax.amuont", "visit")[0] == "right.before.wax.amount"
    assert "right.before.canal.findings" in nearest_paths("canal.findings", "visit")


CASES = {
    "R201 tab": ("name: x\n\trows: visit\n", [("R201", 2)]),
    "R201 twice": (SMALL + "  No: version\n", [("R201", 7)]),
    "R202 unknown setting": (SMALL + "colums: x\n", [("R202", 7)]),
    "R202 needed": ("name: x\nrows: visit\n", [("R202", 1)]),
    "R203": (SMALL + "  R wax: right.before.waxx\n", [("R203", 7)]),
    "R203 group": (SMALL + "  Who: client\n", [("R203", 7)]),
    "R203 ear": (SMALL + "  Ear: ear\n", [("R203", 7)]),
    "R204 unit": (SMALL + "  S: {to: right.work.suction.pressure, unit: mm}\n", [("R204", 7)]),
    "R204 unit of words": (SMALL + "  S: {to: right.work.method, unit: mm}\n", [("R204", 7)]),
    "R204 scale": (SMALL + "  S: {to: right.work.method, scale: mm}\n", [("R204", 7)]),
    "R204 list": (SMALL + '  S: {to: right.work.method, list: ";"}\n', [("R204", 7)]),
    "R204 dates": (SMALL + "dates: [dd/mm/yyyy, mm/dd/yyyy]\n", [("R204", 7)]),
    "R204 date": (SMALL + "dates: [dd/mm]\n", [("R204", 7)]),
    "R204 day": (SMALL + "start_from: 2026-02-30\n", [("R204", 7)]),
    "R206 words": (SMALL + "  D: {to: right.before.drum, words: {UTV: unseen}}\n", [("R206", 7)]),
    "R206 pattern": (SMALL + "  D: right.before.drum\nwords:\n  '*.drum':\n    UTV: unseen\n", [("R206", 10)]),
    "R206 term": (SMALL + "  M: {to: right.work.method, words: {MS: microsuction}}\n", [("R206", 7)]),
    "R211 date": (SMALL.replace("  Day: start.date\n", ""), [("R211", 3)]),
    "R212": (SMALL + "  'no ': note\n", [("R212", 7)]),
    "R213": (SMALL + "  A: right.work.method\n  B: right.work.method\n", [("R213", 8)]),
    "R214": (SMALL + "words:\n  '*.drumm':\n    UTV: not seen\n", [("R214", 8)]),
}


@pytest.mark.parametrize("name", CASES)
def test_a_broken_layout_is_told_by_line(name: str, tmp_path: Path) -> None:
    text, wanted = CASES[name]
    assert check(tmp_path, text) == wanted


@pytest.mark.parametrize(
    "line",
    [
        "constants: {sharing.status: given}", "constants: {consent.status: given}",
        "constants: {sharing.scope: referral}",
        "constants: {right.before.drum: normal}", "constants: {allergies: none known}",
        "constants: {medicines: not asked}",
        "constants: {right.before.view.achieved: full}", "constants: {requests: nothing asked}",
        "constants: {no_request: 'yes'}", "constants: {family_doctor: none}",
        "constants: {right.before.drum.seen: whole}",
        "constants: {weber: left}", "constants: {referral.ear: right}", "constants: {attendance: attended}",
        "  S: {to: sharing.status, blank: refused}", "  C: {to: consent.status, blank: given}",
        "  D: {to: right.before.drum, blank: normal}", "  A: {to: allergies, blank: none known}",
        "  W: {to: right.before.wax, blank: none}", "  D: {to: right.before.canal, blank: not examined}",
    ],
)  # fmt: skip
def test_a_layout_never_answers_for_anybody(line: str, tmp_path: Path) -> None:
    assert check(tmp_path, SMALL + line + "\n") == [("R205", 7)]


def test_a_constant_is_a_value_of_its_field(tmp_path: Path) -> None:
    assert check(tmp_path, SMALL + "constants: {place: clinic, practitioners: JB}\n") == []
    assert check(tmp_path, SMALL + "constants: {place: attic}\n") == [("R206", 7)]


def test_a_row_per_ear_needs_the_ear_and_no_fixed_sides(tmp_path: Path) -> None:
    text = SMALL.replace("visit", "ear")
    assert check(tmp_path, text) == [("R211", 3)]
    assert check(tmp_path, text + "  Ear: ear\n  R: right.work.method\n") == [("R203", 8)]
    assert check(tmp_path, text + "  Ear: {to: ear, blank: right}\n") == [("R205", 7)]


def test_all_problems_come_at_once(tmp_path: Path) -> None:
    text = SMALL + "  A: nothing\n  B: {to: right.work.method, unit: mm}\nconstants: {sharing.status: given}\n"
    assert sorted(check(tmp_path, text)) == [("R203", 7), ("R204", 8), ("R205", 9)]
    with pytest.raises(LayoutError) as caught:
        load_layout(tmp_path / "own.yaml")
    assert [i.rule for i in caught.value.issues if i.severity >= Severity.error] == ["R203", "R204", "R205"]
    assert "line 9" in caught.value.message


def test_a_layout_that_is_not_there_is_said() -> None:
    with pytest.raises(MappingError):
        load_layout(Path("nowhere.yaml"))


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_headings_choose_their_layout(path: Path) -> None:
    layouts = load_layouts(path.parent)
    wanted = load_layout(path)
    headings = [c.heading.upper() for c in wanted.columns]
    assert choose_layout(headings, layouts).name == wanted.name
    needed = [c.heading for c in wanted.columns if not c.optional]
    assert choose_layout(needed, layouts).name == wanted.name


def test_no_or_several_fitting_layouts_are_said(tmp_path: Path) -> None:
    layouts = load_layouts(SHIPPED[0].parent)
    with pytest.raises(InputError, match="Visit no"):
        choose_layout(["Some", "Thing"], layouts)
    with pytest.raises(InputError, match="no layout"):
        choose_layout(["Some"], [])
    with pytest.raises(InputError, match="More than one"):
        choose_layout([c.heading for c in layouts[0].columns], [layouts[0], layouts[0]])


def test_units_are_ucum() -> None:
    """UCUM codes of the visit's measure; the conversions by arithmetic: 1 cm = 10 mm."""
    assert unit_of("mmHg") == "mm[Hg]"
    assert unit_of("MMHG") == "mm[Hg]"
    assert unit_of("kpa") == "kPa"
    assert unit_of("°C") == "Cel"
    assert unit_of("F", "size") is None
    assert unit_of("18") is None
    depth = field_units("right.before.wax.place.depth")
    assert depth is not None
    assert dict(zip(depth.units, depth.factors, strict=True)) == {"mm": 1, "cm": 10}
    rows = [line.split(",") for line in (mappings_root() / "units.csv").read_text(encoding="utf-8").splitlines()]
    known = {row[1] for row in rows if row[0] == "measure"}
    schema = Visit.model_json_schema()["$defs"]["Measure"]["properties"]["unit"]["enum"]
    assert known <= set(schema)


def test_a_layout_read_as_data_is_the_same_as_yaml_reads_it() -> None:
    assert layout_data("ear")["rows"] == yaml.safe_load(SHIPPED[0].read_text(encoding="utf-8"))["rows"]


def test_a_layout_in_json_is_read_too(tmp_path: Path) -> None:
    assert check_layout(write_layout(tmp_path, layout_data("visit")))[1] == []
