"""The corridor to a client's summary: made of the whole record or not at all, of one person, and only as agreed."""

from __future__ import annotations

import json
import re
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from bridge.check import check_bundle
from bridge.cli import main
from bridge.client_summary import ClientRecords, Summary
from bridge.issues import Severity, Where, issue, rules
from bridge.pipeline import Conversion, letter_of
from bridge.practice import load_practice
from bridge.visit import FamilyDoctor, Visit
from tests.build.ips.some import CLIENT, WHOLE, visit
from tests.remake import ROOT

DEMO = ROOT / "mappings/demo"
NHS = {"nhs_number": "9990000018", "nhs_number_status": "01"}


def records(*visits: Visit, failed: tuple[str, ...] = ()) -> ClientRecords:
    practice, _ = load_practice(DEMO)
    assert practice is not None
    own = practice.clinic.model_copy(update={"name": "The invented clinic", "organisation_code": None})
    found = ClientRecords(practice.model_copy(update={"clinic": own}), check_bundle)
    for row, one in enumerate(visits, start=2):
        where = Where("sheet.csv", row=row)
        found.take(Conversion("need you" if f"{one.number}/{one.version}" in failed else "ready", where, one))
    return found


def only(*visits: Visit, failed: tuple[str, ...] = ()) -> Summary:
    (summary,) = records(*visits, failed=failed).summaries()
    return summary


def told(summary: Summary) -> list[str]:
    return [i.rule for i in summary.issues]


def test_one_client_one_document() -> None:
    other = {**CLIENT, "number": "C-2", "legal_name": {"family": "Reed"}}
    found = list(records(visit(2), visit(1, client=other), visit(1 + 2)).summaries())
    assert [(s.stem, [v.number for v in s.visits], told(s)) for s in found] == [
        ("C-1", ["V2", "V3"], []),
        ("C-2", ["V1"], []),
    ]
    assert all(s.bundle for s in found)
    assert "Reed" not in json.dumps(found[0].bundle, default=str)
    assert found[0].where.row == 4, "the newest visit's row"


@pytest.mark.parametrize(
    ("changed", "what"),
    [
        ({"legal_name": {"family": "Reed", "given": ["Ada"]}}, "name"),
        ({"birth_date": "1951-03-04"}, "birth date"),
        ({**NHS, "nhs_number": "9990000026"}, "NHS number"),
        ({"identifiers": [{"value": "2", "assigner": "Hospital"}]}, "other numbers"),
        ({"birth_date": "1951", "nhs_number": "9990000026"}, "birth date and NHS number"),
    ],
)
def test_visits_of_two_people_make_no_summary(changed: dict[str, Any], what: str) -> None:
    first = {**CLIENT, **NHS, "identifiers": [{"value": "1", "assigner": "Hospital"}]}
    summary = only(visit(1, client=first), visit(2, client={**first, **changed}))
    assert (summary.bundle, told(summary)) == (None, ["D160"])
    assert f"client's {what}." in summary.issues[0].message
    assert not any(word in summary.issues[0].message for word in ("Quill", "Reed", "1951", "999"))


@pytest.mark.parametrize(
    "changed",
    [
        {},
        {"birth_date": "1950"},
        {"birth_date": None},
        {"legal_name": {"family": "QUILL", "given": ["ada"]}},
        {"legal_name": {"family": "Reed"}, "former_names": [CLIENT["legal_name"]]},
        NHS,
    ],
)
def test_what_is_only_known_better_is_no_difference(changed: dict[str, Any]) -> None:
    assert told(only(visit(1), visit(2, client={**CLIENT, **changed}))) == []


def test_a_name_alone_is_not_one_person() -> None:
    bare = {"legal_name": CLIENT["legal_name"]}
    assert told(only(visit(1, client=bare), visit(2, client=bare))) == ["D160"]
    alone = only(visit(1, client=bare))
    assert told(alone) == []
    assert alone.stem.startswith("client-")
    assert "uill" not in alone.stem
    born = {**bare, "birth_date": "1950-03-04"}
    assert told(only(visit(1, client=born), visit(2, client=born))) == []


@pytest.mark.parametrize(
    ("other", "expected"),
    [
        ({}, ["D167"]),
        ({"birth_date": "1950"}, ["D167"]),
        ({"birth_date": None}, ["D167"]),
        ({"birth_date": "1961-07-21"}, []),
        ({"legal_name": {"family": "Reed"}}, []),
        ({"legal_name": {"family": "Reed"}, **NHS}, ["D167"]),
        ({"legal_name": {"family": "Reed"}, "identifiers": [{"value": "7", "assigner": "hospital"}]}, ["D167"]),
    ],
)
def test_one_person_under_two_numbers_is_told(other: dict[str, Any], expected: list[str]) -> None:
    first = {**CLIENT, **NHS, "identifiers": [{"value": "7", "assigner": "Hospital"}]}
    found = list(records(visit(1, client=first), visit(2, client={**CLIENT, "number": "C-2", **other})).summaries())
    assert [(s.stem, told(s), s.bundle is None) for s in found] == [("C-1", expected, False), ("C-2", expected, False)]


def test_no_summary_while_a_visit_has_errors() -> None:
    summary = only(visit(1), visit(2), visit(3), failed=("V2/1",))
    assert (summary.bundle, told(summary)) == (None, ["D161"])
    assert (summary.issues[0].where.record, summary.issues[0].where.row) == ("V2", 3)


def test_errors_of_a_version_that_is_replaced_do_not_count() -> None:
    corrected = visit(1, version=2, replaces=1)
    assert told(only(visit(1), corrected, failed=("V1/1",))) == []
    assert told(only(corrected, visit(1), failed=("V1/1",))) == []
    assert told(only(visit(1), corrected, failed=("V1/2",))) == ["D161"]


def test_two_records_that_claim_one_visit_leave_both_clients_without() -> None:
    other = {**CLIENT, "number": "C-2", "legal_name": {"family": "Reed"}}
    found = records(visit(1), visit(1, client=other), visit(2), failed=("V1/1",)).summaries()
    assert [(s.stem, told(s)) for s in found] == [("C-1", ["D161", "D160"]), ("C-2", ["D161", "D160"])]


@pytest.mark.parametrize(
    ("sharing", "rule"),
    [
        (WHOLE, None),
        ({**WHOLE, "valid_until": "2026-02-10"}, None),
        (None, "D163"),
        ({"status": "not asked"}, "D163"),
        ({"status": "given"}, "D163"),
        ({**WHOLE, "recipients": ["family doctor", "ENT"]}, "D163"),
        ({**WHOLE, "recipients": ["her sister"]}, "D163"),
        ({**WHOLE, "recipients": ["ENT clinic at Marrowdale"]}, "D163"),
        ({**WHOLE, "recipients": ["The invented clinic"]}, "D163"),
        ({**WHOLE, "recipients": ["family doctor", "the next clinic"]}, None),
        ({**WHOLE, "recipients": ["Whoever treats me."]}, None),
        ({**WHOLE, "recipients": ["Fernhollow Ear Clinic"]}, None),
        ({**WHOLE, "recipients": ["another clinic"]}, None),
        ({"status": "refused"}, "D162"),
        ({"status": "withdrawn"}, "D162"),
        ({"status": "given", "scope": ["visit summary"]}, "D162"),
        ({**WHOLE, "valid_until": "2026-02-09"}, "D162"),
        ({**WHOLE, "except_for": ["the left ear"]}, "D164"),
    ],
)
def test_the_newest_answer_on_sharing_decides(sharing: dict[str, Any] | None, rule: str | None) -> None:
    summary = only(visit(1, sharing=None), visit(2, sharing=sharing))
    assert told(summary) == ([rule] if rule else [])
    assert (summary.bundle is None) == (rule in ("D162", "D164"))


def test_a_clinic_that_is_the_family_doctors_or_a_referrals_is_no_next_clinic() -> None:
    to_harbour = visit(2, sharing={**WHOLE, "recipients": ["Harbour Clinic"]})
    assert told(only(to_harbour)) == []
    assert told(only(to_harbour.model_copy(update={"family_doctor": FamilyDoctor(practice="Harbour Clinic")}))) == [
        "D163"
    ]
    referral = {"to": "ENT", "urgency": "routine", "reason": "lump", "recipient": {"name": "Harbour Clinic"}}
    assert "D163" in told(only(visit(2, sharing={**WHOLE, "recipients": ["Harbour Clinic"]}, referral=referral)))


def test_an_older_answer_on_sharing_counts_where_a_newer_visit_has_none() -> None:
    assert told(only(visit(1, sharing={"status": "refused"}), visit(2, sharing=None))) == ["D162"]
    assert told(only(visit(1, sharing={"status": "refused"}), visit(2))) == []


@pytest.mark.parametrize("later", [{"sharing": {"status": "not asked"}}, {"clinic": {"name": "Alder Hearing"}}])
@pytest.mark.parametrize(
    ("first", "rule"),
    [
        ({"status": "refused"}, "D162"),
        ({"status": "withdrawn"}, "D162"),
        ({"status": "given", "scope": ["visit summary"]}, "D162"),
        ({**WHOLE, "except_for": ["the left ear"]}, "D164"),
        (WHOLE, "D163"),
        (None, "D163"),
    ],
)
def test_a_refusal_stands_until_the_client_is_asked_here_again(
    first: dict[str, Any] | None, rule: str, later: dict[str, Any]
) -> None:
    found = only(visit(1, sharing=first), visit(2, **later), visit(3, **later))
    assert [r for r in told(found) if r in ("D162", "D163", "D164")] == [rule]
    assert (found.bundle is None) == (rule != "D163")
    assert not {"D162", "D163", "D164"} & set(told(only(visit(1, sharing=first), visit(2, **later), visit(3))))


@pytest.mark.parametrize(
    ("field", "items", "none"), [("allergies", {"items": ["latex"]}, "none known"), ("medicines", ["aspirin"], "none")]
)
def test_visits_that_disagree_are_told(field: str, items: Any, none: str) -> None:
    before, after = visit(1, **{field: items}), visit(2, **{field: none})
    assert told(only(before, after)) == ["D165"]
    assert told(only(before, visit(2, **{field: "not asked"}))) == []
    assert told(only(visit(1, **{field: none}), visit(2, **{field: items}))) == []


def test_an_allergy_denied_by_name_is_told() -> None:
    denied = {"items": [{"term": {"text": "latex", "assertion": "absent"}}]}
    named = {"items": ["Latex"]}
    assert told(only(visit(1, allergies=named), visit(2, allergies=denied))) == ["D165"]
    assert told(only(visit(1, allergies=denied), visit(2, allergies={"items": ["nickel"]}))) == []


def test_a_record_that_is_no_visit_is_in_no_summary() -> None:
    found = records(visit(1))
    found.take(Conversion("need you", Where("sheet.csv", row=9), issues=[issue("R104", "x")]))
    found.take(Conversion("left alone", Where("sheet.csv", row=1), left_alone="headings"))
    assert [(i.rule, i.where.row) for i in found.told_of_records()] == [("D166", 9)]
    found.take(Conversion("left alone", Where("sheet.csv", row=10), left_alone="before 2026-01-01"))
    assert [i.rule for i in found.told_of_records()] == ["D166", "D168"]


def no_visit(row: int, **says: Any) -> Conversion:
    return Conversion("need you", Where("sheet.csv", row=row), issues=[issue("R119", "x")], says=says)


def test_a_record_that_is_no_visit_keeps_back_the_summary_of_the_client_whom_it_names() -> None:
    found = records(visit(1), visit(2, client={**CLIENT, "number": "C-2", "legal_name": {"family": "Reed"}}))
    found.take(no_visit(9, client={"number": "C-1"}))
    first, second = found.summaries()
    assert (first.bundle, [(i.rule, i.where.row) for i in first.issues]) == (None, [("D161", 9)])
    assert (second.bundle is not None, second.issues, found.told_of_records()) == (True, [], [])


def test_a_client_without_a_number_is_known_by_name_and_birth_date() -> None:
    client = {key: CLIENT[key] for key in ("legal_name", "birth_date")}
    found = records(visit(1, client=client))
    found.take(no_visit(8, client={"legal_name": client["legal_name"]}))
    found.take(no_visit(9, client=client))
    (summary,) = found.summaries()
    assert [(i.rule, i.where.row) for i in summary.issues] == [("D161", 9)]
    assert [(i.rule, i.where.row) for i in found.told_of_records()] == [("D166", 8)]


def test_a_record_that_is_no_visit_is_told_where_it_keeps_nothing_back() -> None:
    found = records(visit(1, version=2, replaces=1))
    found.take(no_visit(8, number="v1", version="1", client={"number": "C-1"}))
    found.take(no_visit(9, client={"number": "C-9"}))
    (summary,) = found.summaries()
    assert summary.bundle is not None
    assert [(i.rule, i.where.row) for i in found.told_of_records()] == [("D166", 8), ("D166", 9)]


def test_a_number_that_another_clinic_gave_too_is_another_visit() -> None:
    """Whether it was the same client's or not: their version 2 takes the place of no visit of ours."""
    theirs = {"number": "V1", "clinic": {"name": "Alder Hearing"}, "version": 2, "replaces": 1}
    found = records(visit(1), visit(2, **theirs), visit(3))
    (summary,) = found.summaries()
    assert [(v.number, v.version) for v in summary.visits] == [("V1", 1), ("V1", 2), ("V3", 1)]
    other = {**CLIENT, "number": "C-2", "legal_name": {"family": "Reed"}}
    for order in ([visit(1), visit(2, client=other, **theirs)], [visit(2, client=other, **theirs), visit(1)]):
        assert sorted(s.stem for s in records(*order).summaries()) == ["C-1", "C-2"]
    found = records(visit(1, client=other), visit(2, client=other, **theirs))
    found.take(no_visit(9, number="V1", version=1, client={"number": "C-2"}))
    (summary,) = found.summaries()
    assert summary.bundle is None


@pytest.mark.parametrize("said", ["9" * 5_000, 10**5_000, True, "²", [1], None], ids=range(6))
def test_a_version_of_a_broken_record_may_be_anything(said: Any) -> None:
    found = records(visit(1))
    found.take(no_visit(9, number=said, version=said, client={"number": "C-1"}))
    (summary,) = found.summaries()
    assert [(i.rule, i.where.row) for i in summary.issues] == [("D161", 9)]


OTHER = {**CLIENT, "number": "C-2", "legal_name": {"family": "Reed"}, "birth_date": "1961-07-21"}


@pytest.mark.parametrize("order", [*permutations(range(3))])
@pytest.mark.parametrize("versions", [(1, 2), (2, 1)])
def test_a_correction_under_the_number_of_another_clients_visit_leaves_both_without(
    order: tuple[int, ...], versions: tuple[int, int]
) -> None:
    """The second takes the first one's place by its number; neither vanishes without a word, in any order."""
    theirs, mistyped = versions
    visits = [visit(1, version=theirs), visit(2, number="v1", version=mistyped, client=OTHER), visit(3, client=OTHER)]
    first, second = records(*(visits[n] for n in order)).summaries()
    assert [(s.stem, s.bundle, told(s)) for s in (first, second)] == [("C-1", None, ["D160"]), ("C-2", None, ["D160"])]
    rows = [order.index(0) + 2, order.index(1) + 2]
    for summary, own, other in ((first, *rows), (second, *reversed(rows))):
        (found,) = summary.issues
        assert (found.severity, found.where.row) == (Severity.error, own)
        assert f"row {other}," in found.message
        assert not any(word in found.message for word in ("Quill", "Reed", "C-1", "C-2"))
    assert first.issues[0].cause != second.issues[0].cause, "one message told of both rows would name one of them"


def test_a_client_stays_without_a_summary_though_a_newer_version_is_theirs() -> None:
    for order in permutations([visit(1), visit(1, version=2, client=OTHER), visit(1, version=3)]):
        found = list(records(*order).summaries())
        assert [(s.stem, told(s)) for s in found] == [("C-1", ["D160"]), ("C-2", ["D160"])]


@pytest.mark.parametrize("added", [{"number": "C-1"}, {"birth_date": "1950-03-04"}, {"former_names": True}])
def test_a_correction_may_add_who_the_client_is(added: dict[str, Any]) -> None:
    first = {key: CLIENT[key] for key in ("legal_name", "birth_date")}
    second = {**first, **added}
    if "birth_date" in added:
        del first["birth_date"]
    if "former_names" in added:
        second |= {"former_names": [first["legal_name"]], "legal_name": {"family": "Reed", "given": ["Ada"]}}
    for order in permutations([visit(1, client=first), visit(1, client=second, version=2)]):
        summary = only(*order)
        assert [v.version for v in summary.visits] == [2]
        assert (summary.bundle is not None, told(summary)) == (True, [])


def test_a_record_that_is_no_visit_is_replaced_by_no_visit_of_another_client() -> None:
    found = records(visit(1, version=2, client=OTHER), visit(3))
    found.take(no_visit(9, number="V1", version=1, client={"number": "C-1"}))
    first, second = found.summaries()
    assert (first.bundle, [(i.rule, i.where.row) for i in first.issues]) == (None, [("D161", 9)])
    assert second.bundle is not None


def test_as_a_page_it_is_told_visit_by_visit() -> None:
    wax = {"before": {"wax": {"amount": {"text": "heavy"}}}}
    bundle = only(visit(1, right=wax, approved=None), visit(2, left=wax)).bundle
    assert bundle is not None
    page = re.sub(r"<[^>]+>|\s+", " ", letter_of(bundle).content.decode())
    first, second = page.index("10 February 2026 (V2)"), page.index("10 January 2026 (V1, not approved yet)")
    assert first < second
    found = page.index("Examination findings")
    told = page[found : page.index("Consent", found)]
    assert re.search(r"V2\).*Left ear.*heavy.*V1,.*Right ear.*heavy", told)


def test_every_rule_of_the_summary_has_its_page() -> None:
    assert {c for c in rules() if "D160" <= c <= "D169"} == {f"D16{n}" for n in range(9)}


def convert(*given: str) -> Any:
    return CliRunner().invoke(main, ["convert", *given])


def test_the_command_writes_one_file_for_each_client(tmp_path: Path) -> None:
    sheet, out = str(DEMO / "visits-2026.csv"), tmp_path / "out"
    given = (sheet, "--practice", str(DEMO), "--layout", str(ROOT / "mappings/layouts/one-row-per-visit.yaml"))
    done = convert(*given, "--as", "ips", "--to", str(out), "--report", "json")
    assert done.exit_code == 0, done.output
    names = sorted(p.name for p in out.iterdir())
    assert names[:2] == ["C-1001.ips.bundle.json", "C-1002.ips.bundle.json"]
    assert json.loads(done.output)["figures"]["client summaries"] == len(names)
    assert not (out / "C-1004.ips.bundle.json").exists(), "that client does not want anything shared"
    assert {json.loads(p.read_bytes())["type"] for p in out.iterdir()} == {"document"}
    before = {p.name: p.read_bytes() for p in out.iterdir()}
    convert(*given, "--as", "ips", "--to", str(out))
    assert {p.name: p.read_bytes() for p in out.iterdir()} == before


def test_a_summary_that_is_not_due_any_more_is_told(tmp_path: Path) -> None:
    (tmp_path / "C-1004.ips.bundle.json").write_text("{}", encoding="utf-8")
    given = (str(DEMO / "visits-2026.csv"), "--practice", str(DEMO), "--to", str(tmp_path), "--report", "json")
    layout = ("--layout", str(ROOT / "mappings/layouts/one-row-per-visit.yaml"))
    done = convert(*given, *layout, "--as", "ips")
    assert "D116" in done.output
