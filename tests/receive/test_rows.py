"""Visits as rows of every shipped layout: what a row says is what the visit says, what it lacks is told.

The oracle walks plain data of both visits by itself and takes from the layout only which field a column names.
`VISIT_BRIDGE_MANY=10000 python -m pytest tests/receive/test_rows.py` runs the full count.
"""

from __future__ import annotations

import csv
import io
import os
import random
import re
from functools import cache
from pathlib import Path
from typing import Any, Literal
from zoneinfo import ZoneInfo

import pytest

from bridge.coding import TermMaps, code_visit, load_term_maps
from bridge.fhir.received import read_received
from bridge.issues import Issue, Where
from bridge.layout import Layout, load_layout
from bridge.read.ledger import Ledger
from bridge.read.visits import read_visits
from bridge.receive import bundle_to_visits
from bridge.received_visits import Rows, visit_rows
from bridge.visit import Visit
from tests import generate

ROOT = Path(__file__).parents[2]
LAYOUTS = sorted((ROOT / "mappings/layouts").glob("*.yaml"))
FORMS: tuple[Literal["csv", "xlsx"], ...] = ("csv", "xlsx")
ZONE = ZoneInfo("Europe/London")
MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "60"))
LESS = re.compile(r"standing|safety_net|no_register|accompanied")
"""Flags that say nothing where nobody set them."""
STARTS = "=+-@\t\r＝＋－＠"
RUNS = (
    "=1+1",
    "+44 20 7946 0999",
    "-2+3",
    "@SUM(A1)",
    "＝1",
    "'=1",
    "''-1",
    "=cmd|' /C calc'!A0",
    "- not examined yet",
)


@cache
def maps() -> TermMaps:
    return load_term_maps()


def coded(visit: Visit) -> Visit:
    return code_visit(visit, maps())[0]


@cache
def demo() -> tuple[Visit, ...]:
    found: dict[tuple[str, int], Visit] = {}
    for path in sorted((ROOT / "demo_bundles").glob("*.bundle.json")):
        for visit in bundle_to_visits(read_received(path.read_bytes())[0])[0]:
            found.setdefault((visit.number, visit.version), visit)
    return tuple(found.values())


@cache
def generated() -> tuple[Visit, ...]:
    found: dict[tuple[str, int], Visit] = {}
    for seed in range(MANY):
        visit = generate.visit(random.Random(seed), fill=0.3 + 0.6 * (seed % 7) / 7)
        found.setdefault((visit.number, visit.version), visit)
    return tuple(found.values())


class Alone(Ledger):
    """Generated clients contradict each other, which is not looked at here."""

    def enter(self, visit: Visit, where: Where, *, made: bool = False, said: str = "") -> list[Issue]:
        return []


def read(rows: Rows, layout: Layout, form: str, folder: Path) -> dict[tuple[str, int], Visit]:
    path = folder / f"rows.{form}"
    path.write_bytes(rows.content)
    visits = [r.visit for r in read_visits(path, layout, ZONE, Alone()) if r.left_alone != "headings"]
    assert None not in visits
    return {(v.number, v.version): v for v in visits if v}


def plain(visit: Visit, *, exclude_defaults: bool = False) -> dict[str, Any]:
    """Leaves of the dumped visit; a term is its words."""
    found: dict[str, Any] = {}

    def walk(value: Any, path: str) -> None:
        if isinstance(value, dict):
            for name, inner in value.items():
                if name in ("codings", "assertion") and "text" in value:
                    continue
                walk(inner, path if name == "text" else f"{path}.{name}" if path else name)
        elif isinstance(value, list | tuple):
            for index, inner in enumerate(value):
                walk(inner, f"{path}[{index}]")
        elif value is not None:
            found[path] = value

    walk(visit.model_dump(exclude={"source_sha256"}, exclude_defaults=exclude_defaults), "")
    return found


def says_otherwise(row: dict[str, Any], visit: dict[str, Any]) -> list[str]:
    wrong = []
    for path, value in row.items():
        meant = visit.get(path)
        if meant == value or (LESS.search(path) and value is False):
            continue
        if path == "recorded_at" and value in (row.get("end"), row["start"]):
            continue
        if path == "family_doctor.key" and value == visit.get("family_doctor.practice") and meant is None:
            continue
        if path == "referral.recipient.key" and value == visit.get("referral.recipient.name") and meant is None:
            continue
        if isinstance(value, str) and re.match(r"\d{4}-\d\d-\d\d", value) and isinstance(meant, str):
            shorter = (meant[:10], re.sub(r"(T\d\d:\d\d):[\d.]+", r"\1", meant))
            if value in shorter:
                continue
        wrong.append(path)
    return wrong


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("path", LAYOUTS, ids=lambda p: p.stem)
@pytest.mark.parametrize("whose", ["demo", "generated"])
def test_a_row_says_what_the_visit_says_and_what_it_lacks_is_told(
    whose: str, path: Path, form: Literal["csv", "xlsx"], tmp_path: Path
) -> None:
    visits, layout = demo() if whose == "demo" else generated(), load_layout(path)
    rows = visit_rows(visits, layout, ZONE, form, coded)
    back = read(rows, layout, form, tmp_path)
    assert rows.held == len(back) == len(visits) - rows.left_out > 0
    assert sum(i.rule == "X181" for i in rows.issues) == rows.left_out
    told = {i.where.path for i in rows.issues if i.rule == "X180"}
    assert all("R126" in i.help for i in rows.issues if i.rule == "X180"), "rows and visit files are not named together"
    more = any("more fields" in i.message for i in rows.issues)
    for visit in visits:
        if row := back.get((visit.number, visit.version)):
            here, there = plain(row), plain(visit)
            assert says_otherwise(here, there) == [], f"visit {visit.number}"
            said = plain(visit, exclude_defaults=True)
            gone = {re.sub(r"\[\d+\]", "", p) for p, v in said.items() if here.get(p) != v}
            gone -= {"family_doctor.practice", "referral.recipient.name"}  # read as the key
            untold = gone - told
            assert more or untold == set(), f"visit {visit.number}"


@pytest.mark.parametrize("path", LAYOUTS, ids=lambda p: p.stem)
def test_of_demo_visits_every_field_that_a_column_names_comes_back(path: Path, tmp_path: Path) -> None:
    layout = load_layout(path)
    rows = visit_rows(demo(), layout, ZONE, "csv", coded)
    back = read(rows, layout, "csv", tmp_path)
    looked_at = 0
    for visit in demo():
        row = back.get((visit.number, visit.version))
        if row is None:
            continue
        here, there = plain(row), plain(visit)
        for target in layout.targets():
            own = target.field.path
            sides = ("right.", "left.") if target.field.scope == "ear" else ("",)
            for name in (f"{side}{own}" for side in sides):
                filled = re.compile(rf"{re.escape(name)}(\[\d+\])?(\.term|\.name)?")
                for field in filter(filled.fullmatch, there):
                    if target.field.many and not target.separator and not field.startswith(f"{name}[0]"):
                        continue  # a cell of this column holds one thing
                    looked_at += 1
                    if field == "referral.recipient.name":  # read as the key by which the address book finds it
                        assert here["referral.recipient.key"] == there.get("referral.recipient.key", there[field])
                        continue
                    assert here.get(field) == there[field], f"{field} of {visit.number}"
    assert looked_at > 20 * len(back)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("path", LAYOUTS, ids=lambda p: p.stem)
def test_no_cell_is_a_formula_and_the_text_comes_back(path: Path, form: Literal["csv", "xlsx"], tmp_path: Path) -> None:
    layout = load_layout(path)
    visits = []
    for number, text in enumerate(RUNS):
        client = {"number": text, "legal_name": {"family": text, "given": ["Ann"]}, "phones": [text]}
        said = {"number": f"{number}", "start": "2026-03-01T10:00+00:00", "client": client, "note": text}
        visits.append(Visit.model_validate({**said, "right": {"before": {"wax": {"percent": 10}}}}))
    rows = visit_rows(visits, layout, ZONE, form, coded)
    cells = csv_cells(rows.content) if form == "csv" else xlsx_cells(rows.content)
    assert [cell for cell in cells if form == "csv" and cell.startswith(tuple(STARTS))] == []
    assert len(cells) > len(RUNS)
    back = read(rows, layout, form, tmp_path)
    for visit in visits:
        row = back[visit.number, 1]
        assert (row.client.number, row.client.phones, row.note) == (
            visit.client.number,
            visit.client.phones,
            visit.note,
        )
        assert row.client.legal_name.family == visit.client.legal_name.family


def csv_cells(content: bytes) -> list[str]:
    return [cell for row in csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")) for cell in row]


def xlsx_cells(content: bytes) -> list[str]:
    """The oracle is openpyxl: a formula would have the type f."""
    from openpyxl import load_workbook

    (sheet,) = load_workbook(io.BytesIO(content)).worksheets
    found = []
    for row in sheet.iter_rows():
        for cell in row:
            if cell.value is not None:
                assert cell.data_type == "s"
                if str(cell.value).startswith(tuple(STARTS)):
                    assert cell.quotePrefix
                found.append(str(cell.value))
    return found


@pytest.mark.parametrize("assertion", ["absent", "suspected", "past"])
def test_what_is_not_stated_never_stands_in_a_row_as_stated(assertion: str, tmp_path: Path) -> None:
    """Another system denies in a code beside the words; words alone would state it."""
    layout = load_layout(ROOT / "mappings/layouts/one-row-per-visit.yaml")
    term = {"text": "perforation", "assertion": assertion}
    said: dict[str, Any] = {"number": "1", "start": "2026-03-01", "client": {"legal_name": {"family": "Ash"}}}
    visit = Visit.model_validate({**said, "right": {"before": {"drum": [{"term": term}], "wax": {"percent": 10}}}})
    rows = visit_rows([visit], layout, ZONE, "csv", coded)
    row = read(rows, layout, "csv", tmp_path)["1", 1]
    assert row.right is not None
    assert row.right.before is not None
    assert row.right.before.drum is None
    assert "right.before.drum.findings.term" in {i.where.path for i in rows.issues if i.rule == "X180"}


def test_what_is_denied_in_its_words_stands_in_its_row(tmp_path: Path) -> None:
    layout = load_layout(ROOT / "mappings/layouts/one-row-per-visit.yaml")
    term = {"text": "no perforation", "assertion": "absent"}
    said: dict[str, Any] = {"number": "1", "start": "2026-03-01", "client": {"legal_name": {"family": "Ash"}}}
    visit = Visit.model_validate({**said, "right": {"before": {"drum": [{"term": term}]}}})
    row = read(visit_rows([visit], layout, ZONE, "csv", coded), layout, "csv", tmp_path)["1", 1]
    assert row.right is not None
    assert row.right.before is not None
    assert row.right.before.drum is not None
    assert [f.term.text for f in row.right.before.drum.findings] == ["no perforation"]


@pytest.mark.parametrize(
    ("field", "value"), [("attendance", "did not attend"), ("place", "home"), ("version", 2), ("place", "care home")]
)
def test_a_layout_that_would_say_otherwise_gets_no_row(field: str, value: object) -> None:
    layout = load_layout(ROOT / "mappings/layouts/database-query.yaml")
    said: dict[str, Any] = {"number": "1", "start": "2026-03-01", "client": {"legal_name": {"family": "Ash"}}}
    rows = visit_rows([Visit.model_validate({**said, field: value})], layout, ZONE, "csv", coded)
    assert (rows.content, rows.held, rows.left_out, [i.rule for i in rows.issues]) == (b"", 0, 1, ["X181"])


def test_a_style_of_hearing_aid_that_is_not_worn_does_not_read_as_worn(tmp_path: Path) -> None:
    layout = load_layout(ROOT / "mappings/layouts/one-row-per-visit.yaml")
    said: dict[str, Any] = {"number": "1", "start": "2026-03-01", "client": {"legal_name": {"family": "Ash"}}}
    aid = {"style": "behind the ear", "uses": False}
    rows = visit_rows([Visit.model_validate({**said, "left": {"hearing_aid": aid}})], layout, ZONE, "csv", coded)
    assert read(rows, layout, "csv", tmp_path)["1", 1].left is None


@pytest.mark.parametrize("form", FORMS)
def test_the_same_visits_make_the_same_bytes(form: Literal["csv", "xlsx"]) -> None:
    layout = load_layout(LAYOUTS[-1])
    one, two = (visit_rows(demo(), layout, ZONE, form, coded).content for _ in range(2))
    assert one == two != b""


@pytest.mark.parametrize(
    "moment", ["2026-10-25T01:30+00:00", "2026-10-25T01:30+01:00", "2026-07-01T10:15+02:00", "2026-07-01T10:15Z"]
)
def test_a_time_is_written_so_that_it_can_only_be_this_one(moment: str, tmp_path: Path) -> None:
    """The clocks go back in London on 25 October 2026 at 01:00 UTC (tz database), so 01:30 is there twice."""
    layout = load_layout(ROOT / "mappings/layouts/one-row-per-visit.yaml")
    visit = Visit.model_validate({"number": "1", "start": moment, "client": {"legal_name": {"family": "Ash"}}})
    assert read(visit_rows([visit], layout, ZONE, "csv", coded), layout, "csv", tmp_path)["1", 1].start == moment


SMALL = """
name: small
rows: visit
{settings}
columns:
  {group}No: number
  {group}Day: start.date
  {group}At: start.time
  {group}Client: {{to: client.legal_name, name: "{order}"}}
  {group}Born: client.birth_date
  {group}Fill: {{to: right.before.wax.percent, unit: fraction}}
  {group}Wax: right.before.wax
  {group}Note: note
"""
VARIANTS: dict[str, tuple[str, str, str]] = {
    "encoding": ("encoding: cp1252", "", "family, given"),
    "utf-16": ("encoding: utf-16", "", "family, given"),
    "semicolon": ('delimiter: ";"', "", "family, given"),
    "tab": ("delimiter: tab", "", "given family"),
    "two rows of headings": ("heading_rows: 2", "Visit / ", "family, given"),
    "groups in one row": ("", "Visit / ", "family, given"),
    "named sheet": ('sheet: ["Visits *"]', "", "family, given"),
    "days in words": ("dates: [ddd d mmm yyyy]\ntimes: [h:mm am/pm]", "", "family, given"),
    "other marks": ("dates: [d.m.yyyy]\ntimes: [HHhMM]", "", "family, given"),
}


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("variant", VARIANTS)
def test_whatever_a_layout_says_of_its_sheet_is_kept_to(
    variant: str, form: Literal["csv", "xlsx"], tmp_path: Path
) -> None:
    settings, group, order = VARIANTS[variant]
    (tmp_path / "small.yaml").write_text(SMALL.format(settings=settings, group=group, order=order), encoding="utf-8")
    layout = load_layout(tmp_path / "small.yaml")
    said: dict[str, Any] = {
        "start": "2026-11-03T14:05+00:00",
        "client": {"legal_name": {"family": "Łucja-李", "given": ["Zoë"]}, "birth_date": "1950-02-03"},
        "right": {"before": {"wax": {"percent": 80, "amount": "a; “quoted” | word, here"}}},
        "note": "one\ntwo; three\tfour",
    }
    visits = [Visit.model_validate({**said, "number": str(number)}) for number in range(3)]
    rows = visit_rows(visits, layout, ZONE, form, coded)
    back = read(rows, layout, form, tmp_path)
    assert [i.rule for i in rows.issues] == []
    for visit in visits:
        row = back[visit.number, 1]
        assert row.model_copy(update={"source_sha256": None, "recorded_at": visit.recorded_at}) == visit


def test_day_numbers_are_what_programs_keep_and_no_csv_file_says(tmp_path: Path) -> None:
    (tmp_path / "small.yaml").write_text(SMALL.format(settings="dates: [serial]", group="", order="given family"))
    layout = load_layout(tmp_path / "small.yaml")
    said: dict[str, Any] = {
        "number": "1",
        "start": "2026-03-01",
        "client": {"legal_name": {"family": "Ash", "given": ["A"]}},
    }
    visit = Visit.model_validate(said)
    assert read(visit_rows([visit], layout, ZONE, "xlsx", coded), layout, "xlsx", tmp_path)["1", 1].start == visit.start
    assert [i.rule for i in visit_rows([visit], layout, ZONE, "csv", coded).issues] == ["X181"]


def test_a_layout_with_what_no_row_may_say_gets_none(tmp_path: Path) -> None:
    """A constant that the visit contradicts: every row would say it."""
    page = SMALL.format(settings="constants: {place: home}", group="", order="family, given")
    (tmp_path / "small.yaml").write_text(page, encoding="utf-8")
    said: dict[str, Any] = {
        "number": "1",
        "start": "2026-03-01",
        "client": {"legal_name": {"family": "Ash", "given": ["A"]}},
    }
    rows = visit_rows([Visit.model_validate(said)], load_layout(tmp_path / "small.yaml"), ZONE, "csv", coded)
    assert (rows.content, [i.rule for i in rows.issues]) == (b"", ["X181"])
