"""Words without a code over all records: by field and frequency, with what is near, and nothing that tells who."""

from __future__ import annotations

from typing import Any

import pytest

from bridge.coding import OpenWords, TermMaps, code_visit, load_term_maps
from bridge.issues import Where, issue
from bridge.visit import Visit
from bridge.words_asked import OpenWord, WordsAsked


@pytest.fixture(scope="module")
def maps() -> TermMaps:
    return load_term_maps()


def visit(right: dict[str, Any], family: str = "Testington", **more: Any) -> Visit:
    return Visit.model_validate(
        {
            "number": "V1",
            "start": "2026-03-02",
            "client": {"legal_name": {"family": family, "given": ["Ada"]}},
            "right": right,
            **more,
        }
    )


def asked(maps: TermMaps, *visits: Visit) -> WordsAsked:
    words = OpenWords(maps)
    for one in visits:
        coded, issues = code_visit(one, maps)
        words.add(coded, issues)
    return words.asked()


def drum(*findings: str) -> dict[str, Any]:
    return {"before": {"drum": {"findings": list(findings)}}}


def only(words: WordsAsked) -> OpenWord:
    (one,) = words.words
    return one


def test_by_frequency_within_a_field(maps: TermMaps) -> None:
    wax = {"before": {"wax": {"amount": "zoggy"}}}
    found = asked(maps, visit(drum("zibbly", "przf")), visit(drum("?Przf")), visit(wax))
    assert [(w.kind, w.word, w.times) for w in found.words] == [
        ("wax-amount", "zoggy", 1),
        ("drum", "przf", 2),
        ("drum", "zibbly", 1),
    ]
    assert {field for field, _, _ in found.meanings} == {"amount of wax", "finding of the drum"}


def test_a_doubt_and_an_amount_are_no_part_of_what_is_asked(maps: TermMaps) -> None:
    assert only(asked(maps, visit(drum("?zibbly ++")))).word == "zibbly"


def test_an_answer_is_asked_for_as_a_whole(maps: TermMaps) -> None:
    found = asked(maps, visit({"hearing_change": "no zhift", "before": {"wax": {"amount": "zoggy ++"}}}))
    assert [w.word for w in found.words] == ["zoggy ++", "no zhift"]
    assert "denies" in found.words[1].readings


def test_near_words_are_shown(maps: TermMaps) -> None:
    assert "perforation" in only(asked(maps, visit(drum("perforasion")))).near


def test_shorthand_with_its_readings(maps: TermMaps) -> None:
    one = only(asked(maps, visit(drum("AS dull"))))
    assert "left ear" in one.readings
    assert "refused" in one.readings
    assert one.near == ()


@pytest.mark.parametrize(
    "right",
    [
        drum("zibbly Quillfeather"),
        drum("ada zibbly"),
        drum("zibbly 07700 900123"),
        drum("zibbly at ada@example.org"),
        drum("zibbly as " + "long " * 20 + "words"),
    ],
)
def test_nothing_tells_who_a_client_is(maps: TermMaps, right: dict[str, Any]) -> None:
    found = asked(maps, visit(right, "Quillfeather"))
    assert found.words == ()
    assert found.left_out == 1


def test_a_name_that_is_a_word_of_the_trade_is_no_name_here(maps: TermMaps) -> None:
    assert only(asked(maps, visit(drum("dull zibbly"), "Dull"))).word == "dull zibbly"


def test_open_fields_and_contradictions_are_not_listed(maps: TermMaps) -> None:
    method = {"work": [{"method": "no microsuction", "outcome": "complete"}]}
    found = asked(maps, visit(method, advice=["zibble daily"], medicines=["zibblomycin"]))
    assert found.words == ()


def test_a_watched_word_inside_a_note_is_listed_alone(maps: TermMaps) -> None:
    words = OpenWords(maps)
    where = Where("a.csv", row=2, column=3, heading="R notes", path="right.note")
    words.add(None, [issue("R116", "…", where, cause="R116:R notes:perf")])
    one = only(words.asked())
    assert (one.kind, one.field, one.word) == ("", "R notes", "perf")
    assert "longer text" in one.readings


def test_a_word_that_is_known_is_not_listed(maps: TermMaps) -> None:
    assert asked(maps, visit(drum("dull"))).words == ()
