"""C104: a fact that a section tells under the other ear than its own entry is told, in whatever language the letter is.

The judge of this test swaps what the finished text says, and knows nothing of how it was made.
"""

from __future__ import annotations

import json
import random
from decimal import Decimal
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from bridge.build import Options, build_document
from bridge.check import check_bundle
from bridge.fhir.write_json import dumps
from bridge.shapes import Json
from bridge.visit import Visit
from bridge.wording import catalogue, languages
from tests.generate import visit

SIDES = {"C101", "C102", "C103", "C104", "C105"}


def letter(seed: int, language: str) -> Json:
    options = Options("uk", language=language)
    made = build_document(visit(random.Random(seed), 0.8), UUID(int=5), ZoneInfo("Europe/London"), options=options)
    read: Json = json.loads(dumps(made), parse_float=Decimal)
    return read


def found(bundle: Json) -> list[tuple[str, str]]:
    return [(i.rule, str(i.where.path)) for i in check_bundle(bundle) if i.rule in SIDES]


def swapped(text: str, one: str, other: str) -> str:
    return text.replace(one, "\0").replace(other, one).replace("\0", other)


@pytest.mark.parametrize("language", sorted(languages()))
def test_swapped_headings_are_told_and_right_ones_are_not(language: str) -> None:
    words, tried = catalogue(language).words, 0
    for seed in range(12):
        bundle = letter(seed, language)
        assert found(bundle) == []
        for number, section in enumerate(bundle["entry"][0]["resource"]["section"]):
            text, said = section["text"], section["text"]["div"]
            text["div"] = swapped(said, f"<dt>{words['group.right']}", f"<dt>{words['group.left']}")
            if text["div"] != said and "<dt>" + words["group.both"] not in said:
                tried += 1
                assert ("C104", f"Bundle.entry[0].resource.section[{number}].text.div") in found(bundle), seed
            text["div"] = said
    assert tried > 10


@pytest.mark.parametrize("language", sorted(languages()))
def test_a_fact_of_one_ear_under_the_heading_of_both_is_told(language: str) -> None:
    words, tried = catalogue(language).words, 0
    for seed in range(12):
        bundle = letter(seed, language)
        for section in bundle["entry"][0]["resource"]["section"]:
            text, said = section["text"], section["text"]["div"]
            text["div"] = said.replace(f"<dt>{words['group.right']}<", f"<dt>{words['group.both']}<")
            if text["div"] != said:
                tried += 1
                assert "C104" in {rule for rule, _ in found(bundle)}, seed
            text["div"] = said
    assert tried > 5


def test_words_with_signs_and_words_inside_words_swap_nothing() -> None:
    """`&` is written with a semicolon in XHTML, which parts no sayings; “b” is no word of “behind the ear”."""
    aids = {
        "right": {"style": "receiver in the canal", "note": "fitted by R&B"},
        "left": {"style": "behind the ear"},
    }
    plain = visit(random.Random(1), 0.2)
    ears = {ear: {"hearing_aid": aid} for ear, aid in aids.items()}
    told = Visit.model_validate({**plain.model_dump(exclude={"right", "left"}), **ears})
    made = build_document(told, UUID(int=5), ZoneInfo("Europe/London"), options=Options("uk"))
    assert found(json.loads(dumps(made), parse_float=Decimal)) == []


def test_two_sayings_of_one_ear_are_not_read_as_one_of_the_other() -> None:
    """The left drum's "partly seen; wax" is not "partly seen (wax in the way)" of the right one."""
    odd = visit(random.Random(4594), 0.3 + 0.6 * (4594 % 7) / 7)
    made = build_document(odd, UUID(int=5), ZoneInfo("Europe/London"))
    said = [s["text"]["div"] for s in made["entry"][0]["resource"]["section"] if "text" in s]
    assert any("partly seen; wax." in div and "partly seen (wax in the way" in div for div in said)
    assert found(json.loads(dumps(made), parse_float=Decimal)) == []
