"""Every meaning of the term maps is a mark with a number in a drawing, or named among what is not drawn."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator

import pytest

from bridge.data import load_csv, table_path
from bridge.render.drawing import drawings
from bridge.render.drawing.glyphs import LOOSE, ON_WALL, WHOLE
from bridge.render.entries import Entries
from bridge.render.page import Picture
from tests.render.drawing.visits import FIELDS, OWN, TERMS, Raw, bare, concepts
from tests.render.pages import bundle_of

ROWS = {row["concept"]: row for row in load_csv(table_path("drawing", "marks.csv"))}
CONCEPTS = [(field, concept) for field, kind in FIELDS.items() for concept in concepts(kind)]
ELSEWHERE = {"none", "narrow", "cavity"}
"""Marks that are drawn by a shape of their own."""


def term(concept: str, assertion: str = "present") -> Raw:
    word = f"the word {concept}"
    return {"text": word, "codings": [{"system": OWN, "code": concept, "display": word}], "assertion": assertion}


def one(field: str, finding: Raw, ear: str = "right") -> Picture:
    pictures = drawings(Entries(bundle_of({**bare(), ear: {"before": {field: {"findings": [finding]}}}})))
    return pictures[0 if ear == "right" else 1]


def test_the_table_knows_every_finding_and_nothing_else() -> None:
    assert set(ROWS) == {concept for _, concept in CONCEPTS}


def test_every_mark_has_a_shape_and_every_shape_a_meaning() -> None:
    used = {row["mark"] for row in ROWS.values()}
    assert used - ELSEWHERE <= {*LOOSE, *ON_WALL}
    assert {*LOOSE, *ON_WALL, *WHOLE} <= used
    assert {row["place"] for row in ROWS.values()} == {"", "whole", "flaccida", "entrance"}


@pytest.mark.parametrize(("part", "marks"), [("anterosuperior", 1), ("posterosuperior", 1), ("anteroinferior", 2)])
def test_a_quarter_on_the_recorded_stretch_of_the_clock_makes_no_second_hole(part: str, marks: int) -> None:
    """In a right ear 7 to 1 o'clock goes round by the back and over the top: past 10:30 and nearly to 1:30, the middles
    of the quarters above, and far from 4:30."""
    place = {"clock_from": 7, "clock_to": 1, "parts": [term(f"part-{part}")]}
    picture = one("drum", {"term": term("drum-perforation"), "place": place})
    assert len(re.findall('data-n="1"', picture.svg)) == marks


@pytest.mark.parametrize("field", list(FIELDS))
def test_every_finding_is_drawn_or_named(field: str) -> None:
    """Without a place and with one, stated and suspected. Never both drawn and called not drawn, never neither."""
    place = {"parts": [term("part-anterosuperior")]} if field == "drum" else {"third": term("third-middle")}
    for concept in [c for f, c in CONCEPTS if f == field]:
        for assertion in ("present", "suspected"):
            for more in ({}, {"place": place}):
                picture = one(field, {"term": term(concept, assertion), **more})
                lines = [line for line in picture.legend if f"the word {concept}" in line]
                assert len(lines) == 1, concept
                assert lines[0].rstrip(".") in picture.alt, concept
                numbered = bool(re.match(r"1 ", lines[0]))
                assert numbered != lines[0].startswith("Not drawn: "), lines
                assert numbered == bool(re.search(r">1\??</text>", picture.svg)), concept
                marked = ROWS[concept]["mark"] == "cavity" or 'data-n="1"' in picture.svg
                assert not numbered or marked, concept
                if ROWS[concept]["mark"] == "none":
                    assert not numbered, f"{concept} has no mark"


@pytest.mark.parametrize("assertion", ["absent", "past"])
def test_what_is_not_there_is_never_drawn(assertion: str) -> None:
    plain = one("drum", {"term": term("drum-intact")}).svg
    for field, concept in CONCEPTS:
        picture = one(field, {"term": term(concept, assertion)})
        assert "data-n" not in picture.svg
        assert any(line.startswith("Not drawn:") and f"the word {concept}" in line for line in picture.legend)
    assert one("drum", {"term": term("drum-perforation", assertion)}).svg == plain


def test_a_word_without_a_code_is_named_without_being_repeated() -> None:
    picture = one("drum", {"term": {"text": "Harold told me it hurts"}})
    assert "Harold" not in picture.svg + picture.alt + "".join(picture.legend)
    assert "Not drawn: eardrum: words that could not be read as a finding." in picture.legend


def test_a_meaning_of_a_practice_has_a_spot_where_its_place_is_known() -> None:
    place = {"third": term("third-outer")}
    assert 'data-mark="spot"' in one("canal", {"term": term("own-oddity"), "place": place}).svg
    picture = one("canal", {"term": term("own-oddity")})
    assert "data-mark" not in picture.svg
    assert "Not drawn: ear canal: the word own-oddity." in picture.legend


def test_more_findings_than_a_drawing_can_bear_are_named() -> None:
    many = [{"term": term("canal-red"), "place": {"third": term("third-outer")}} for _ in range(40)]
    pictures = drawings(Entries(bundle_of({**bare(), "left": {"after": {"canal": {"findings": many}}}})))
    said = " ".join(pictures[1].legend)
    assert said.count("the word canal-red") == 40
    assert len(pictures[1].svg) < 10_000


def wax_words() -> Iterator[tuple[str, str, int | None]]:
    """Amount, percent as drawn, least and most percent of the trade's band for it."""
    bands = {row["concept"]: row for row in load_csv(table_path("clinical", "wax-bands.csv"))}
    for row in load_csv(table_path("drawing", "wax.csv")):
        band = bands[row["concept"]]
        assert not row["percent"] or int(band["least"]) <= int(row["percent"]) <= int(band["most"]), row
        yield row["concept"], row["percent"], int(row["percent"]) if row["percent"] else None


def test_the_height_of_wax_stays_inside_what_its_word_can_mean() -> None:
    lines = [line for line in (TERMS / "wax.csv").read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    amounts = {row["concept"] for row in csv.DictReader(lines) if row["kind"] == "wax-amount" and row["concept"]}
    assert {concept for concept, _, _ in wax_words()} == amounts
