"""The four answers are drawn, labelled and worded as four things; so are seen partly and seen without a word."""

from __future__ import annotations

import re

import pytest

from bridge.render.drawing import drawings, drawn
from bridge.render.entries import Entries
from bridge.render.page import Picture
from tests.render.drawing.test_marks import term
from tests.render.drawing.visits import Raw, bare
from tests.render.pages import bundle_of

ANSWERS = {"normal": "Plain, looked normal", "not seen": "Hatched, could not be seen",
           "not examined": "Outlined, not examined"}  # fmt: skip


def look(seen: Raw, ear: str = "right", stage: str = "before") -> Picture:
    pictures = drawings(Entries(bundle_of({**bare(), ear: {stage: seen}})))
    return next(p for p in pictures if p.ear == ear)


def labels(picture: Picture) -> str:
    return " ".join(re.findall(r">([a-z: ]+)</text>", picture.svg))


@pytest.mark.parametrize(("part", "name"), [("canal", "ear canal"), ("drum", "eardrum"), ("wax", "wax")])
def test_four_answers_of_a_part(part: str, name: str) -> None:
    """`normal` is no answer for wax: none is."""
    others = {"wax": {"amount": term("wax-none")}, "canal": {"answer": "normal"}, "drum": {"answer": "normal"}}
    drawn = {}
    for answer, start in ANSWERS.items():
        if (part, answer) != ("wax", "normal"):
            picture = look({**others, part: {"answer": answer}})
            assert any(line.startswith(start) and name in line for line in picture.legend), picture.legend
            assert sum(name in line for line in picture.legend) == 1
            assert (answer in labels(picture)) == (answer != "normal")
            drawn[answer] = picture.svg
    del others[part]
    picture = look(others)
    assert f"Dotted, not recorded: {name}." in picture.legend
    assert "not recorded" in labels(picture)
    drawn["not recorded"] = picture.svg
    assert len(set(drawn.values())) == len(drawn)


@pytest.mark.parametrize(
    ("view", "start", "label"),
    [({"achieved": "none"}, "Hatched, could not be seen: ear.", "not seen"),
     ({"answer": "not examined"}, "Outlined, not examined: ear.", "not examined")],
)  # fmt: skip
def test_the_whole_ear(view: Raw, start: str, label: str) -> None:
    picture = look({"view": view})
    assert picture.legend == [start]
    assert labels(picture).split() == label.split() * 2
    part = look({"view": view, "drum": {"answer": "normal"}})
    assert "Plain, looked normal: eardrum." in part.legend, "what is said of a part goes first"


def test_an_ear_without_a_word_is_not_recorded_beside_one_with_facts() -> None:
    pictures = drawings(Entries(bundle_of({**bare(), "left": {"before": {"drum": {"answer": "normal"}}}})))
    assert [p.ear for p in pictures] == ["right", "left"]
    assert pictures[0].legend == ["Dotted, not recorded: wax, ear canal, eardrum."]
    assert "normal" not in pictures[0].alt


def test_no_examination_gives_no_drawing() -> None:
    assert drawings(Entries(bundle_of(bare()))) == []
    assert drawings(Entries(bundle_of({**bare(), "right": {"symptoms": [{"term": term("pain")}]}}))) == []


def test_stages() -> None:
    both = {"right": {"before": {"drum": {"answer": "not seen"}}, "after": {"drum": {"answer": "normal"}}}}
    pictures = drawings(Entries(bundle_of({**bare(), **both})))
    assert [p.title for p in pictures] == [
        "Right ear before the work", "Left ear before the work", "Right ear after the work", "Left ear after the work",
    ]  # fmt: skip


def test_a_drum_that_was_seen_and_not_described_is_not_normal() -> None:
    picture = look({"drum": {"seen": "whole"}})
    assert "Dotted, not recorded: wax, ear canal, eardrum." in picture.legend
    assert any("how it looked is not recorded" in line for line in picture.legend)
    assert not any(line.startswith("Plain") for line in picture.legend)


def test_a_drum_seen_partly() -> None:
    picture = look({"drum": {"seen": "partly", "seen_reason": term("view-reason-hair"), "answer": "normal"}})
    assert any(
        line.startswith("Thinly hatched: eardrum partly seen (the word view-reason-hair)") for line in picture.legend
    )
    assert picture.svg != look({"drum": {"answer": "normal"}}).svg


def test_the_light_reflex_is_drawn_for_a_normal_drum_alone() -> None:
    """A drum of which only a finding is told is not drawn as a normal one with a mark on it."""
    normal = look({"drum": {"answer": "normal"}}).svg
    described = look({"drum": {"findings": [{"term": term("drum-intact")}]}}).svg
    lost = look({"drum": {"answer": "normal", "findings": [{"term": term("drum-light-reflex-lost")}]}}).svg
    cone = re.search(r'<path d="M[^"]*z" stroke="#8a8a8a" stroke-width=".5"/>', normal)
    assert cone
    assert cone[0] not in described
    assert cone[0] not in lost


@pytest.mark.parametrize(
    ("wax", "words"),
    [
        ({"amount": term("wax-none")}, "Wax: the word wax-none."),
        ({"amount": term("wax-seen"), "percent": 0}, "Wax: the word wax-seen, 0% of the canal’s width."),
        (
            {"percent": 70, "place": {"third": term("third-inner")}},
            "Stippled: wax, 70% of the canal’s width, the word third-inner.",
        ),
        ({"amount": term("wax-excess")}, "How much of the width it fills is not recorded."),
    ],
)
def test_wax_in_words(wax: Raw, words: str) -> None:
    picture = look({"wax": wax})
    assert any(words in line for line in picture.legend), picture.legend
    assert any(words in line for line in [picture.alt])


def test_the_alternative_text_says_what_the_caption_says_of_wax() -> None:
    alt = look({"wax": {"amount": term("wax-heavy")}}).alt
    assert "Arrow: where along the canal is not recorded. Its height stands for the word" in alt


def test_what_wax_is_like_stands_in_the_alternative_text_alone() -> None:
    picture = look({"wax": {"amount": term("wax-heavy"), "colour": [term("wax-colour-brown")]}})
    assert "wax-colour-brown" in picture.alt
    assert not any("wax-colour-brown" in line for line in picture.legend)


def test_the_caption_explains_what_these_drawings_need() -> None:
    def caption(seen: Raw) -> str:
        found = drawn(Entries(bundle_of({**bare(), "right": {"before": seen}})))
        assert found
        return found.caption

    plain = caption({"drum": {"answer": "normal"}})
    assert "F front, B back" in plain
    assert not any(words in plain for words in ("mid-canal", "Wedge", "suspected"))
    assert "mid-canal" in caption({"wax": {"percent": 50}})
    assert "Arrow" in caption({"wax": {"percent": 50}})
    assert "stands for the word" in caption({"wax": {"amount": term("wax-heavy")}})
    assert "stands for the word" not in caption({"wax": {"amount": term("wax-heavy"), "percent": 80}})
    assert "mid-canal" not in caption({"wax": {"percent": 50, "place": {"walls": [term("wall-inferior")]}}})
    assert "Dotted box" in caption({"canal": {"findings": [{"term": term("canal-red")}]}})
    assert "Wedge" in caption({"wax": {"percent": 50, "place": {"depth": {"value": 9, "unit": "mm"}}}})
    assert "suspected" in caption({"drum": {"findings": [{"term": term("drum-perforation", "suspected")}]}})
