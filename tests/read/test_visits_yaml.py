"""YAML files of visits: text stays text, every field has its line, one broken document does not stop the next."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from bridge.read.visits import read_visits
from bridge.shapes import Reading
from tests.read.sheets import LONDON, codes

ONE = """number: 0012
start: 2026-07-07T09:05
client:
  number: 1e3
  legal_name: {family: No, given: [Null, 2026-01-01]}
  birth_date: 1950
right:
  hearing_before:
    thresholds: [{frequency: 500, level: 35, masked: no}]
  before:
    drum: not seen (wax)
    canal: [narrow, no debris]
  hearing_aid: {uses: yes}
note: 10:30
"""


def read(folder: Path, text: str | bytes) -> list[Reading]:
    path = folder / "visits.yaml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return list(read_visits(path, None, LONDON))


def test_scalars_are_what_is_written(tmp_path: Path) -> None:
    (reading,) = read(tmp_path, ONE)
    visit = reading.visit
    assert visit is not None, [(i.message) for i in reading.issues]
    assert (visit.number, visit.client.number) == ("0012", "1e3")
    assert (visit.client.legal_name.family, visit.client.legal_name.given) == ("No", ("Null", "2026-01-01"))
    assert (visit.client.birth_date, visit.note) == ("1950", "10:30")
    assert visit.start == "2026-07-07T09:05+01:00"
    assert visit.right is not None and visit.right.hearing_before is not None  # noqa: PT018
    threshold = visit.right.hearing_before.thresholds[0]
    assert (threshold.frequency, str(threshold.level), threshold.masked) == (500, "35", False)
    assert visit.right.hearing_aid is not None
    assert visit.right.hearing_aid.uses is True
    assert visit.right.before is not None and visit.right.before.drum is not None  # noqa: PT018
    assert visit.right.before.drum.answer == "not seen"
    assert visit.source_sha256 == hashlib.sha256(ONE.encode()).hexdigest()


def test_every_field_has_its_line(tmp_path: Path) -> None:
    readings = read(tmp_path, f"# two\n---\n{ONE}---\n{ONE.replace('0012', '0013')}")
    assert [codes([r]) for r in readings] == [[], ["R155"]], "one visit under two numbers"
    lines = [r.where_of("right.before.canal.findings[1].term").row for r in readings]
    assert lines == [2 + 12, 2 + 14 + 1 + 12]
    assert readings[1].places["client.legal_name.family"].row == 17 + 5


def test_a_broken_document_does_not_stop_the_next(tmp_path: Path) -> None:
    readings = read(
        tmp_path, f"{ONE}---\nnumber: [\n---\n\tx: y\n---\n{ONE.replace('0012', '9').replace('10:30', '11')}...\n"
    )
    assert [bool(r.visit) for r in readings] == [True, False, False, True]
    assert codes(readings) == ["R130", "R130"]
    assert [r.issues[0].where.row for r in readings if r.issues] == [17, 18]
    assert "tab" in readings[2].issues[0].message


@pytest.mark.parametrize(
    "text",
    [
        "number: V1\nnumber: V2\n", "a: &a [x, x]\nb: [*a, *a]\n", "- x\n", "just words\n",
        "? [a]\n: b\n", "!!python/x y\n",
        "a: " + "[" * 200 + "]" * 200, "a: {b: 'x\n",
    ],
)  # fmt: skip
def test_what_is_no_record_is_an_issue(text: str, tmp_path: Path) -> None:
    (reading,) = read(tmp_path, text)
    assert reading.visit is None
    assert reading.issues


def test_a_tag_makes_nothing(tmp_path: Path) -> None:
    (reading,) = read(tmp_path, ONE.replace("note: 10:30", "note: !!python/object/apply:os.system [exit]"))
    assert reading.visit is None


def test_a_record_that_is_too_long_is_an_issue_and_the_next_is_read(tmp_path: Path) -> None:
    readings = read(tmp_path, f"note: {'x' * 70}\n" * 40_000 + f"---\n{ONE}")
    assert [bool(r.visit) for r in readings] == [False, True]
    assert codes(readings) == ["R123"]


def test_a_long_text_is_counted_in_characters(tmp_path: Path) -> None:
    (reading,) = read(tmp_path, ONE.replace("note: 10:30", f"note: {'x' * 20_001}"))
    assert [i.message for i in reading.issues] == ["“note” is longer than 20,000 characters."]


def test_the_hours_of_the_clock_change_are_issues(tmp_path: Path) -> None:
    for day, rule in (("2026-10-25T01:30", "R105"), ("2026-03-29T01:30", "R106"), ("2026-02-30T10:00", "R118")):
        (reading,) = read(tmp_path, ONE.replace("2026-07-07T09:05", day))
        assert codes([reading]) == [rule]
        assert reading.issues[0].where.row == 2


def test_a_field_is_only_called_near_where_one_is(tmp_path: Path) -> None:
    for name, near in (("sharingg", True), ("zzzqqq", False)):
        (reading,) = read(tmp_path, f"{ONE}{name}: x\n")
        (found,) = (i for i in reading.issues if i.rule == "R120")
        assert ("Near it" in found.message, "named as near" in found.help) == (near, near)


def test_all_problems_come_together_in_plain_words(tmp_path: Path) -> None:
    bad = (
        ONE.replace("birth_date: 1950", "birth_date: soon").replace("level: 35", "level: loud")
        + "weber: up\nsharingg: x\n"
    )
    (reading,) = read(tmp_path, bad)
    found = {(i.rule, i.where.row) for i in reading.issues}
    assert found == {("R118", 6), ("R118", 9), ("R118", 15), ("R120", 16)}
    for told in (i.message for i in reading.issues):
        assert "Input" not in told
        assert "pydantic" not in told
        assert "soon" not in told
