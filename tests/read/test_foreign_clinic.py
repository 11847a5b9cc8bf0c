"""A clinic's sheet that the tool was not made for, read by writing one layout file and no Python."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.layout import check_layout, load_layout
from bridge.read.visits import read_visits
from bridge.shapes import Reading
from tests.read.sheets import LONDON

HERE = Path(__file__).parent
HEAD = (
    "Harbour ear room, list of 2026\r\n\r\n"
    "Ref.;Tag;Uhr;Wer;Kunde;Kd-Nr;geb.;Einwilligung;Brief an Arzt;Grund kein Brief;RE Gang;RE Fell;RE Tiefe;RE Art;"
    "RE Sog;RE Rohr;RE Gerät;LI Gang;LI Fell;LI Art;Fazit;Frei;Preis\r\n"
)
ROWS = (
    "H-1;30.12.2025;10.00;ZÖ;Müßig, Zoé;7;1.2.44;ja;ja;;;;;;;;;;;;;;80\r\n"
    "H-2;07.07.2026;9.05;ZÖ;Müßig, Zoé Ann;7;01.02.1944;ja;nein;wants to tell herself;narrow ++/no debris;cannot see;"
    '1,5;microsuction;16 kPa;5;suction tube;i.o.;/;;R impacted wax/L ?otitis externa;"two\r\nlines; one cell";80\r\n'
    ";;;;;;;;;;;;;;;;;;;;;;\r\n"
    "H-3;08.11.2026;14.30;ZÖ;Ölmann, Bo;8;1.2.31;ja;?;forgot;left out;left out;;;;;;i.o.;i.o.;;;;80\r\n"
    "Total;;;;;;;;;;;;;;;;;;;;;;240\r\n"
)


@pytest.fixture
def readings(tmp_path: Path) -> list[Reading]:
    path = tmp_path / "harbour.csv"
    path.write_bytes((HEAD + ROWS).encode("cp1252"))
    return list(read_visits(path, load_layout(HERE / "foreign-clinic.yaml"), LONDON))


def test_the_layout_has_nothing_wrong() -> None:
    assert check_layout(HERE / "foreign-clinic.yaml")[1] == []


def test_old_blank_and_sum_rows_are_left_alone(readings: list[Reading]) -> None:
    assert [r.left_alone for r in readings] == [
        "headings", "before 2026-01-01", "", "blank row", "", "sum below the rows",
    ]  # fmt: skip
    assert [i.rule for r in readings for i in r.issues] == []


def test_the_first_visit_is_read_as_meant(readings: list[Reading]) -> None:
    visit = readings[2].visit
    assert visit is not None
    assert visit.number == "H-2"
    assert visit.start == "2026-07-07T09:05+01:00"  # summer time by the date
    assert visit.place == "clinic"
    assert (visit.client.legal_name.family, visit.client.legal_name.given) == ("Müßig", ("Zoé", "Ann"))
    assert visit.client.birth_date == "1944-02-01"
    assert visit.consent is not None
    assert visit.consent.taken_by == visit.practitioners[0].key == "ZÖ"
    assert visit.sharing is not None
    assert (visit.sharing.status, visit.sharing.reason) == ("refused", "wants to tell herself")
    right, left = visit.right, visit.left
    assert right is not None and left is not None  # noqa: PT018
    assert right.before is not None and right.before.canal is not None  # noqa: PT018
    narrow, debris = right.before.canal.findings
    assert (narrow.term.text, narrow.amount.text if narrow.amount else "") == ("narrow", "++")
    assert debris.term.text == "no debris"
    assert right.before.drum is not None
    assert right.before.drum.answer == "not seen"
    assert right.before.wax is not None and right.before.wax.place is not None  # noqa: PT018
    depth = right.before.wax.place.depth
    assert depth is not None
    assert (str(depth.value), depth.unit) == ("15", "mm")
    work = right.work[0]
    assert work.instruments[0].name.text == "suction tube"
    assert work.instruments[0].size is not None
    assert (str(work.instruments[0].size.value), work.instruments[0].size.scale) == ("5", "Fr")
    assert work.suction is not None and work.suction.pressure is not None  # noqa: PT018
    assert (str(work.suction.pressure.value), work.suction.pressure.unit) == ("16", "kPa")
    assert [i.term.text for i in right.impressions] == ["impacted wax"]
    assert [i.term.text for i in left.impressions] == ["?otitis externa"]
    assert left.before is not None
    assert left.before.drum is None, "a cell that says nothing is not recorded"
    assert visit.note == "two\nlines; one cell"


def test_the_second_visit_keeps_not_examined_apart(readings: list[Reading]) -> None:
    visit = readings[4].visit
    assert visit is not None
    assert visit.start == "2026-11-08T14:30+00:00"
    assert visit.client.birth_date == "1931-02-01"
    assert visit.sharing is not None
    assert visit.sharing.status == "not asked"
    assert visit.right is not None and visit.right.before is not None  # noqa: PT018
    assert visit.right.before.canal is not None
    assert visit.right.before.canal.answer == "not examined"
    assert visit.left is not None and visit.left.before is not None  # noqa: PT018
    assert visit.left.before.drum is not None
    assert visit.left.before.drum.answer == "normal"


def test_places_are_cells(readings: list[Reading]) -> None:
    where = readings[2].where_of("right.before.canal.findings[1].term")
    assert (where.row, where.heading) == (5, "RE Gang")
    assert readings[2].where_of("start").heading == "Tag"
