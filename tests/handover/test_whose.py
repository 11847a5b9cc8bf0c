"""Whose record is handed over, and whether: one client, whole, and as they agreed."""

from __future__ import annotations

from itertools import permutations
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from bridge.cut import own_copy
from bridge.handover.record import OneClient
from bridge.issues import Severity, Where, issue
from bridge.pipeline import Conversion
from tests.build.ips.some import CLIENT, WHOLE, visit
from tests.handover.some import DEMO, collected, converter, made_of

OTHER = {**CLIENT, "number": "C-2", "legal_name": {"family": "Reed"}, "birth_date": "1961-07-21"}


def rules(found: list[Any]) -> list[str]:
    return [i.rule for i in found]


def test_only_the_client_asked_for() -> None:
    record, issues, one = collected(visit(1), visit(2, client=OTHER), visit(3))
    assert record is not None
    assert ([v.visit.number for v in record.visits], issues, one.looked_at) == (["V1", "V3"], [], 3)
    assert one.foreign_files == {"sheet.csv"}
    made = made_of(visit(1), visit(2, client=OTHER), visit(3))
    assert not any(b"Reed" in p.content for p in made.pieces)


@pytest.mark.parametrize(("asked", "found"), [("C-1", True), ("c-1", True), ("C-9", False), ("", False)])
def test_by_number(asked: str, found: bool) -> None:
    record, issues, _ = collected(visit(1), asked=asked)
    assert (record is not None) == found
    assert rules(issues) == ([] if found else ["D180"])
    assert not any("Quill" in i.message or "1950" in i.message for i in issues)


def test_a_client_who_is_not_found_may_be_in_a_record_that_cannot_be_read() -> None:
    one = OneClient(converter(), "C-9")
    one.take(Conversion("need you", Where("sheet.csv", row=2)))
    assert rules(one.record()[1]) == ["D180", "D166"]


def test_why_a_record_cannot_be_read_is_told_beside_that_and_stops_nothing() -> None:
    one = OneClient(converter(), "C-1")
    one.take(Conversion("ready", Where("sheet.csv", row=3), visit(1)))
    one.take(Conversion("need you", Where("sheet.csv", row=2), issues=[issue("R104", "x", Where("sheet.csv", row=2))]))
    one.take(Conversion("left alone", Where("sheet.csv", row=1), issues=[issue("R104", "y")], left_alone="headings"))
    record, issues = one.record()
    assert record is not None
    assert [(i.rule, i.severity, i.message) for i in issues if i.rule == "R104"] == [("R104", Severity.warning, "x")]
    assert "D166" in rules(issues)


def test_one_number_of_two_clinics_is_two_visits_of_the_record() -> None:
    theirs = visit(2, number="V1", clinic={"name": "Alder Hearing"}, version=2, replaces=1)
    record, _, _ = collected(visit(1), theirs)
    assert record is not None
    assert [(v.visit.version, v.superseded) for v in record.visits] == [(1, None), (2, None)]


@pytest.mark.parametrize("reader", ["clinic", "client"])
@pytest.mark.parametrize("asked", ["C-1", "C-2"])
def test_versions_of_one_visit_that_name_two_clients_stop_the_hand_over_of_both(asked: str, reader: Any) -> None:
    """In any order, though the other client was met before."""
    visits = [visit(1), visit(1, version=2, client=OTHER), visit(3, client=OTHER), visit(4)]
    for order in permutations(visits):
        record, issues, _ = collected(*order, asked=asked, reader=reader)
        assert (record, rules(issues)) == (None, ["D160", "D181"])
        own, other = (order.index(visits[n]) + 2 for n in ((0, 1) if asked == "C-1" else (1, 0)))
        assert issues[0].where.row == own
        assert f"row {other}," in issues[0].message
        assert issues[0].message in issues[1].message
    record, issues, _ = collected(*visits, visit(5, client={**OTHER, "number": "C-3"}), asked="C-3")
    assert (record is not None, rules(issues)) == (True, ["D167"])


def test_a_number_that_another_client_has_at_another_clinic_stops_no_hand_over() -> None:
    theirs = visit(1, version=2, client=OTHER, clinic={"name": "Alder Hearing"})
    for order in permutations([visit(1), theirs, visit(3, client=OTHER)]):
        record, issues, _ = collected(*order)
        assert (record is not None, issues) == (True, [])
    record, issues, _ = collected(visit(1), theirs, visit(1, version=3, client=OTHER))
    assert (record, rules(issues)) == (None, ["D160", "D181"])


def test_a_correction_that_adds_the_clients_number_is_of_nobody_else() -> None:
    bare = {key: value for key, value in CLIENT.items() if key != "number"}
    record, issues, _ = collected(visit(1, client=bare), visit(1, version=2))
    assert record is not None
    assert rules(issues) == ["D167"]


@pytest.mark.parametrize("number", [10**5_000, "9" * 5_000, True, [5]], ids=range(4))
def test_a_client_number_of_a_broken_record_may_be_anything(number: Any) -> None:
    one = OneClient(converter(), "C-1")
    one.take(Conversion("ready", Where("sheet.csv", row=3), visit(1)))
    one.take(Conversion("need you", Where("sheet.csv", row=4), says={"client": {"number": number}}))
    assert one.record()[0] is not None


@pytest.mark.parametrize("reader", ["clinic", "client"])
def test_a_record_that_is_no_visit_stops_the_hand_over_of_the_client_whom_it_names(reader: Any) -> None:
    for asked, handed_over in [("C-1", False), ("C-2", True)]:
        one = OneClient(converter(), asked, reader)
        one.take(Conversion("ready", Where("sheet.csv", row=3), visit(1)))
        one.take(Conversion("ready", Where("sheet.csv", row=4), visit(2, client=OTHER)))
        wrong = issue("R119", "x", Where("sheet.csv", row=5))
        one.take(Conversion("need you", wrong.where, issues=[wrong], says={"client": {"number": "C-1"}}))
        record, issues = one.record()
        assert (record is not None) == handed_over
        told = [(i.rule, i.severity, i.where.row) for i in issues if i.rule != "D163"]
        error = Severity.error
        assert told == ([] if handed_over else [("D161", error, 5), ("R119", error, 5), ("D181", error, 3)])


def test_rows_of_one_number_leave_no_hand_over_without_them(tmp_path: Path) -> None:
    text = (DEMO / "visits-2026.csv").read_text("utf-8").splitlines()
    row = next(line for line in text if line.startswith("M26-0102,"))
    again = [row.replace("M26-0102,19/01", f"M26-0202,{day}/02") for day in ("20", "21")]
    (tmp_path / "visits-2026.csv").write_text("\n".join([*text, *again]), "utf-8")
    by = converter()
    one = OneClient(by, "C-1002")
    source = tmp_path / "visits-2026.csv"
    by.scan([source], None)
    for conversion in by.convert(source, None, "collection", one.fits):
        one.take(conversion)
    record, issues = one.record()
    assert record is None
    assert {(i.rule, i.where.row) for i in issues if i.severity >= Severity.error} == {
        *(("R126", row) for row in (11, 12)),
        *(("D161", row) for row in (11, 12)),
        ("D181", 3),
    }


@pytest.mark.parametrize(
    ("start", "day", "before"),
    [
        ("2026-05-04T10:00+01:00", "2026-05-03", True),
        ("2026-05-04T10:00+01:00", "2026-05-04", False),
        ("2026-05-04T23:30+00:00", "2026-05-04", True),
        ("2026-05", "2026-05-01", False),
        ("2026-05", "2026-04-30", True),
        ("2026", "2026-01-01", False),
        ("2026", "2025-12-31", True),
    ],
)
def test_whether_a_day_lies_before_a_visit(start: str, day: str, before: bool) -> None:
    """The clinic's clock decides: in London half past eleven in summer's UTC is the next day."""
    record, _, _ = collected(visit(1), visit(5, start=start, approved=None))
    assert record is not None
    assert record.begins_after(day, ZoneInfo("Europe/London")) == (before or day < "2026-01-10")


def test_capitals_that_tell_two_clients_apart() -> None:
    both = [visit(1), visit(2, client={**OTHER, "number": "c-1"})]
    record, _, _ = collected(*both, asked="c-1")
    assert record is not None
    assert [v.visit.number for v in record.visits] == ["V2"]
    upper = [visit(1, client={**CLIENT, "number": "C-A"}), visit(2, client={**OTHER, "number": "C-a"})]
    record, issues, _ = collected(*upper, asked="c-a")
    assert (record, rules(issues)) == (None, ["D180"])


def test_a_client_without_a_number_is_found_by_the_name_of_their_summary() -> None:
    bare = {key: value for key, value in CLIENT.items() if key != "number"}
    record, _, _ = collected(visit(1, client=bare), asked="client-0")
    assert record is None
    from bridge.fhir.ids import Ids
    from tests.handover.some import converter

    id = Ids(converter().practice.namespace).client(visit(1, client=bare).client)
    record, issues, _ = collected(visit(1, client=bare), asked=f"client-{id}")
    assert record is not None
    assert issues == []


@pytest.mark.parametrize(
    ("sharing", "made", "told"),
    [
        (WHOLE, True, []),
        (None, True, ["D163"]),
        ({"status": "not asked"}, True, ["D163"]),
        ({"status": "given"}, True, ["D163"]),
        ({"status": "given", "scope": ["visit summary"]}, False, ["D162", "D181"]),
        ({"status": "refused"}, False, ["D162", "D181"]),
        ({"status": "withdrawn", "withdrawn_at": "2026-01-10"}, False, ["D162", "D181"]),
        ({**WHOLE, "valid_until": "2026-01-01"}, False, ["D162", "D181"]),
        ({**WHOLE, "except_for": ["the fall"]}, False, ["D164", "D181"]),
    ],
)
def test_the_newest_answer_on_sharing_decides(sharing: Any, made: bool, told: list[str]) -> None:
    record, issues, _ = collected(visit(1), visit(2, sharing=sharing)) if sharing else collected(visit(2, sharing=None))
    assert (record is not None, rules(issues)) == (made, told)
    if not made:
        assert issues[0].message in issues[-1].message, "the error says why, where warnings are not shown"
    own, found, _ = collected(visit(2, sharing=sharing), reader="client")
    assert (own is not None, rules(found)) == (True, []), "a client's right to a copy hangs on no consent to share"


def test_whole_or_not_at_all() -> None:
    record, issues, _ = collected(visit(1), visit(2), failed=("V1/1",))
    assert (record, rules(issues)) == (None, ["D161", "D181"])
    record, issues, _ = collected(visit(1), visit(2, client={**CLIENT, "birth_date": "1951-01-01"}))
    assert (record, rules(issues)) == (None, ["D160", "D181"])
    record, issues, _ = collected(visit(1), visit(2, client={**CLIENT, "number": "C-2"}))
    assert record is not None
    assert rules(issues) == ["D167"], "another client may be the same person"


def test_errors_of_others_are_nothing_to_this_client() -> None:
    record, issues, _ = collected(visit(1), visit(2, client=OTHER), failed=("V2/1",))
    assert record is not None
    assert issues == []


def test_of_others_nothing_is_kept_but_who_they_are() -> None:
    client = {**OTHER, "address": {"lines": ["1 Alder Row"]}, "phones": ["01632 960001"]}
    other = visit(2, client=client, note="words of another", reasons=["blocked"], right={"note": "theirs"})
    _, _, one = collected(visit(1), other)
    others = one._clients._others
    (theirs,) = others.clients
    assert not any(word in said for said in others._client for word in ("words of another", "Alder Row", "01632"))
    assert (theirs.number, theirs.address, theirs.phones) == ("C-2", None, ())
    kept = [record.visit for under in one._clients._records.values() for same in under.values() for record in same]
    assert [v.number for v in (*kept, *(c.visit for c in one._kept if c.visit))] == ["V1", "V1"]
    assert own_copy(other).visit.note == "words of another"
