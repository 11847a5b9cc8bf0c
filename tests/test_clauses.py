"""Cells of several statements: what is denied, doubted or past never comes out as stated, and no side moves."""

from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st

from bridge.coding import code_visit, load_term_maps
from bridge.layout.fields import find_field
from bridge.layout.model import Layout, Target
from bridge.phrases import Clause, clause_of, clauses, parse_phrase
from bridge.phrases.tables import amounts, qualifiers, sides
from bridge.read.said import Cell
from bridge.read.terms import understand
from bridge.visit import Visit, terms_of

MAPS = load_term_maps()
LAYOUT = Layout("test", "visit", ())
TERMS = st.sampled_from(
    ["perf", "dull", "discharge", "retracted", "scar", "granulation", "TM intact", "red", "grommet in situ"]
)
BEFORE = st.sampled_from([f"{q.words} " for q in qualifiers("drum") if q.position != "after"] + [""] * 30)
BEHIND = st.sampled_from([f" {q.words}" for q in qualifiers("drum") if q.position != "before"] + [""] * 30)
SIDE = st.sampled_from(["", "", "", "R ", "L ", "left ear: ", "both "])
JOINTS = st.sampled_from([", ", "; ", ". ", " and ", " & ", " but ", " with ", " or ", " nor ", " ", "\n", " + "])
STATEMENT = st.tuples(SIDE, BEFORE, TERMS, BEHIND)


def target(path: str, separator: str = "") -> Target:
    field = find_field(path, "visit")
    assert field is not None
    return Target(field, {}, separator=separator)


def findings(cell: Cell, ear: str) -> list[tuple[str, str | None]]:
    """Words and assertion of the findings that a cell puts into an ear, coded as the pipeline does it."""
    items = [
        put.value
        for put in cell.puts
        if put.inner and put.inner[0][0] == "findings" and (ear in put.ears or not put.ears)
    ]
    if not items:
        return []
    visit = {"number": "V1", "start": "2026-03-02", "client": {"legal_name": {"family": "Test"}}}
    coded, _ = code_visit(Visit.model_validate({**visit, ear: {"before": {"drum": {"findings": items}}}}), MAPS)
    return [(term.text, term.assertion) for path, term in terms_of(coded) if path.endswith(".term")]


@given(st.lists(st.tuples(STATEMENT, JOINTS), min_size=1, max_size=4))
def test_a_qualified_term_is_never_stated(parts: list[tuple[tuple[str, str, str, str], str]]) -> None:
    text = "".join("".join(statement) + joint for statement, joint in parts).strip()
    cell = understand(LAYOUT, target("before.drum"), text)
    qualified = {t for (_, before, t, behind), _ in parts if before or behind}
    plain = {t for (_, before, t, behind), _ in parts if not before and not behind}
    for ear in ("right", "left"):
        stated = [words for words, assertion in findings(cell, ear) if assertion == "present"]
        for term in qualified - plain:
            assert not any(re.search(rf"\b{re.escape(term)}\b", words) for words in stated), (text, stated)


@given(st.lists(st.tuples(STATEMENT, JOINTS), min_size=1, max_size=4))
def test_a_finding_stays_in_the_ear_that_is_named_for_it(parts: list[tuple[tuple[str, str, str, str], str]]) -> None:
    text = "".join("".join(statement) + joint for statement, joint in parts).strip()
    cell = understand(LAYOUT, target("before.drum"), text)
    if len(cell.puts) < 2:
        return
    ears = {"R ": {"right"}, "L ": {"left"}, "left ear: ": {"left"}, "both ": {"right", "left"}}
    for put in cell.puts:
        words = put.value["term"] if isinstance(put.value, dict) else ""
        named = [ears.get(side, set()) for (side, _, term, _), _ in parts if term in words]
        assert set(put.ears) in named, (text, put)


@given(st.lists(st.tuples(STATEMENT, JOINTS), min_size=1, max_size=4))
def test_every_word_is_kept(parts: list[tuple[tuple[str, str, str, str], str]]) -> None:
    """Each term stands in what is put or in the note, or an issue says why nothing is."""
    text = "".join("".join(statement) + joint for statement, joint in parts).strip()
    cell = understand(LAYOUT, target("right.before.drum"), text)
    said = " ".join([*(str(put.value) for put in cell.puts), *(note.text for note in cell.notes)])
    for (_, _, term, _), _ in parts:
        assert term in said or cell.faults, text


@given(st.lists(st.tuples(STATEMENT, JOINTS), min_size=1, max_size=3))
def test_reading_what_was_read_says_the_same(parts: list[tuple[tuple[str, str, str, str], str]]) -> None:
    text = "".join("".join(statement) + joint for statement, joint in parts).strip()
    cell = understand(LAYOUT, target("right.before.drum"), text)
    for put in cell.puts:
        if isinstance(put.value, dict) and not put.value.get("amount"):
            again = understand(LAYOUT, target("right.before.drum"), put.value["term"])
            assert [p.value for p in again.puts] == [put.value], text


@given(st.text(max_size=150))
def test_any_text_is_survived(text: str) -> None:
    if not text.strip():
        return
    for path in (
        "before.drum",
        "right.before.wax",
        "right.before.canal",
        "impressions",
        "cautions",
        "right.work.events",
    ):
        cell = understand(LAYOUT, target(path), text)
        assert cell.puts or cell.notes or cell.faults


def understood(words: str) -> Clause | None:
    phrase = parse_phrase(words, "drum")
    return clause_of(words, phrase, words) if phrase else None


def test_many_statements_are_kept_whole() -> None:
    assert clauses(", ".join(["no perf"] * 13), understood, one_ear=True) == ([], None)
    found, unclear = clauses(", ".join(["no perf"] * 12), understood, one_ear=True)
    assert (len(found), unclear) == (12, None)


def test_the_tables_that_the_properties_draw_from_are_the_shipped_ones() -> None:
    assert {q.assertion for q in qualifiers("drum")} == {"absent", "suspected", "past"}
    assert len(sides()) > 40
    assert len(amounts()) > 20
