"""What is certain of SNOMED CT from tables at hand, filters over it and the simplest expression constraints.

Expectations come from the structure of SNOMED CT as everybody who uses it knows it: 404684003 Clinical finding,
71388002 Procedure, 123037004 Body structure, 442083009 Anatomical or acquired body structure, 49062001 Device.
"""

from __future__ import annotations

import pytest

from bridge.data import load_csv, table_path
from bridge.fhir.systems import LOINC, SCT
from bridge.numbers import sctid_problem
from bridge.terminology import ecl, snomed
from bridge.terminology.systems import known_display
from tests.terminology.small import SETS, filtered, terminology, value_set

DISORDER, PROCEDURE, EAR = "18070006", "86553008", "117590005"
UNSEEN = "22298006"
"""Well made, and in none of our tables."""


def test_the_codes_of_these_tests_are_what_they_are_taken_for() -> None:
    rows = {row["code"]: row["tag"] for row in load_csv(table_path("codes", "snomed-free.csv"))}
    assert (rows[DISORDER], rows[PROCEDURE], rows[EAR]) == ("disorder", "procedure", "body structure")
    assert sctid_problem(UNSEEN) is None
    assert UNSEEN not in rows


@pytest.mark.parametrize(
    ("op", "concept", "code", "verdict"),
    [
        ("is-a", "404684003", DISORDER, "in"),
        ("is-a", "64572001", DISORDER, "in"),
        ("descendent-of", "404684003", DISORDER, "in"),
        ("is-a", "404684003", "404684003", "in"),
        ("descendent-of", "404684003", "404684003", "out"),
        ("is-a", "71388002", DISORDER, "out"),
        ("is-a", "404684003", PROCEDURE, "out"),
        ("is-a", EAR, DISORDER, "out"),
        ("is-a", "442083009", EAR, "in"),
        ("is-a", EAR, "89644007", "in"),
        ("is-a", "49062001", "6012004", "in"),
        ("is-a", "138875005", DISORDER, "in"),
        ("is-a", "404684003", UNSEEN, "unknown"),
        ("is-a", DISORDER, "64572001", "unknown"),
        ("is-a", "373873005", "6012004", "unknown"),
        ("is-a", "404684003", "22298007", "out"),
        ("is-a", "404684003", "loop", "out"),
        ("=", DISORDER, DISORDER, "in"),
        ("=", DISORDER, PROCEDURE, "out"),
        ("is-not-a", "404684003", DISORDER, "out"),
        ("is-not-a", "404684003", PROCEDURE, "in"),
        ("is-not-a", "404684003", UNSEEN, "unknown"),
        ("is-not-a", "404684003", "22298007", "out"),
        ("regex", "1.*", DISORDER, "unknown"),
    ],
)
def test_filters(op: str, concept: str, code: str, verdict: str) -> None:
    asked = terminology(value_set("s", filtered("concept", op, concept, SCT)))
    assert asked.member(f"{SETS}/s", SCT, code).verdict == verdict


YES, NO, OPEN = True, False, None
D, P = "<< 404684003 |Clinical finding|", "<<71388002"


@pytest.mark.parametrize(
    ("expression", "yes"),
    [
        (DISORDER, YES),
        (f"{DISORDER} |whatever it is called|", YES),
        (PROCEDURE, NO),
        (D, YES),
        (P, NO),
        (f"{P} OR {D}", YES),
        (f"descendantOf 71388002 OR descendantOrSelfOf 404684003 or {PROCEDURE}", YES),
        (f"{P} OR {PROCEDURE}", NO),
        (f"{D} AND {P}", NO),
        (f"{D}, {D}", YES),
        (f"{D} MINUS {DISORDER}", NO),
        (f"{D} MINUS {P}", YES),
        (f"{D} AND (({P}) OR (<404684003))", YES),
        ("<< *", YES),
        ("*", YES),
        ("^ 816080008", OPEN),
        (f"memberOf 816080008 OR {D}", YES),
        (f"^816080008 AND {P}", NO),
        (f"{D} AND {D} OR {P}", OPEN),
        (f"{D} MINUS {P} MINUS {P}", OPEN),
        (f"{D} : 363698007 = << 117590005", OPEN),
        ("<! 404684003", OPEN),
        ("> 404684003", OPEN),
        ("<", OPEN),
        ("^", OPEN),
        ("", OPEN),
        ("(" * 5000, OPEN),
        (f"{'(' * 300}{D}{')' * 300}", OPEN),
        (f"({D}", OPEN),
        (f"{D} {P}", OPEN),
        ("OR OR", OPEN),
        ("404684003 | unclosed", OPEN),
    ],
)
def test_expressions(expression: str, yes: bool | None) -> None:
    assert ecl.decide(expression, DISORDER).yes is yes


def test_an_expression_in_a_value_set() -> None:
    asked = terminology(value_set("e", filtered("constraint", "=", f"{P} OR {D}", SCT)))
    assert [asked.member(f"{SETS}/e", SCT, code).verdict for code in (DISORDER, EAR, UNSEEN)] == [
        "in",
        "out",
        "unknown",
    ]


@pytest.mark.parametrize(
    ("address", "verdict"),
    [
        ("http://snomed.info/sct?fhir_vs", "in"),
        ("http://snomed.info/sct?fhir_vs=isa/404684003", "in"),
        ("http://snomed.info/sct?fhir_vs=isa/71388002", "out"),
        ("http://snomed.info/sct/83821000000107?fhir_vs=ecl/%3C%3C%20404684003", "in"),
        ("http://snomed.info/sct?fhir_vs=refset/816080008", "unknown"),
        ("http://snomed.info/sctx?fhir_vs", "unknown"),
        ("http://loinc.org/vs", "out"),
    ],
)
def test_value_sets_that_an_address_describes(address: str, verdict: str) -> None:
    assert terminology().member(address, SCT, DISORDER).verdict == verdict


def test_every_concept_of_the_table_can_be_one_and_stands_under_what_the_table_has() -> None:
    rows = list(load_csv(table_path("terminology-snomed.csv")))
    keys = {row["key"]: row for row in rows}
    assert len(keys) == len(rows)
    for row in rows:
        under = row["under"].split()
        assert not row["key"].isdigit() or sctid_problem(row["key"]) is None, row["key"]
        assert row["key"] not in under
        for one in under:
            assert keys[one]["group"] == row["group"]
            assert set(keys[one]["under"].split()) <= set(under), row["key"]


def test_tags_of_codes_and_rows_of_concepts_agree() -> None:
    """Oracle: the semantic tags in mappings/codes/, which were seen in published full names."""
    rows = {row["key"]: row for row in load_csv(table_path("terminology-snomed.csv"))}
    checked = 0
    for name in ("snomed-free.csv", "snomed-licensed.csv"):
        for row in load_csv(table_path("codes", name)):
            if row["code"] in rows and not row.get("note"):
                checked += 1
                assert rows[row["code"]]["group"] == rows[row["tag"]]["group"]
                assert set(rows[row["tag"]]["under"].split()) <= set(rows[row["code"]]["under"].split())
    assert checked > 12


def test_a_tag_that_was_worked_out_and_not_seen_proves_nothing() -> None:
    rows = [
        row for row in load_csv(table_path("codes", "snomed-licensed.csv")) if row["note"] and row["tag"] == "disorder"
    ]
    assert len(rows) > 20
    assert {snomed.is_a(row["code"], "404684003").yes for row in rows} == {None}
    assert {snomed.is_a(row["code"], "71388002").yes for row in rows} == {None}


def test_loinc() -> None:
    asked = terminology(value_set("l", {"system": LOINC}), value_set("f", filtered("CLASS", "=", "DOC", LOINC)))
    verdicts = [asked.member(f"{SETS}/l", LOINC, code).verdict for code in ("34133-9", "99999-1", "loop", "LP1-2")]
    assert verdicts == ["in", "unknown", "out", "unknown"]
    assert [asked.member(f"{SETS}/f", LOINC, code).verdict for code in ("34133-9", "loop")] == ["unknown", "out"]


def test_names_that_our_tables_hold() -> None:
    assert known_display("Ear structure")
    assert not known_display("Ear structure of somebody")
