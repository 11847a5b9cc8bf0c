"""Headings put together from their words: any order, any language, compounds; and what is never made up."""

from __future__ import annotations

import re

import pytest

from bridge.data import load_csv, table_path
from bridge.drafting.by_cells import sided
from bridge.drafting.heading_key import key_of
from bridge.drafting.headings import read_headings
from bridge.drafting.pieces import compose, pieces
from bridge.drafting.shapes import IGNORE
from bridge.drafting.tables import LANGUAGES, tokens
from bridge.layout import find_field

RECIPES = load_csv(table_path("words", "headings-recipes.csv"))
PIECES = load_csv(table_path("words", "headings-pieces.csv"))


@pytest.mark.parametrize(
    ("language", "heading", "field"),
    [
        ("en", "how much wax", "ear.@.wax"),
        ("en", "wax amount found", "ear.@.wax"),
        ("en", "membrane status", "ear.@.drum"),
        ("en", "any problems during treatment?", "ear.work.events"),
        ("en", "size of suction tip", "ear.work.instruments.size"),
        ("en", "temp of water", "ear.work.irrigation.temperature"),
        ("en", "reason not seen", "ear.@.view.reason"),
        ("en", "GP health centre", "family_doctor"),
        ("de", "Cerumenmenge", "ear.@.wax"),
        ("de", "Restcerumen", "ear.after.wax"),
        ("de", "Praxis des Hausarztes", "family_doctor"),
        ("de", "Trommelfellbefund", "ear.@.drum"),
        ("fr", "ce qui a été fait", "ear.work.method"),
        ("es", "tamaño de la punta", "ear.work.instruments.size"),
        ("it", "ambulatorio del medico curante", "family_doctor"),
        ("nl", "zuigbuismaat", "ear.work.instruments.size"),
        ("pt", "o que foi feito", "ear.work.method"),
        ("pl", "następna kontrola za", "follow_up"),
        ("sv", "trumhinnestatus", "ear.@.drum"),
        ("da", "hvad blev gjort", "ear.work.method"),
    ],
)
def test_words_are_put_together(language: str, heading: str, field: str) -> None:
    found = compose(key_of(heading)[0], language)
    assert found is not None
    assert (found.fields, found.whole) == ((field,), True)


@pytest.mark.parametrize("heading", ["wax in the attic cupboard", "drum zorkle", "frobnicated pain"])
def test_a_word_that_nothing_knows_leaves_the_rest_less_than_whole(heading: str) -> None:
    found = compose(tokens(heading), "en")
    assert found is not None
    assert not found.whole


@pytest.mark.parametrize("heading", ["", "zorkle", "a b c d e f g h i j k l m n", "the of", "2026"])
def test_nothing_is_made_of_words_that_say_nothing(heading: str) -> None:
    assert compose(tokens(heading), "en") is None


@pytest.mark.parametrize(
    ("language", "heading", "field"),
    [
        ("en", "Agreed to the procedure", "consent.status"),
        ("de", "Zustimmung zur Reinigung", "consent.status"),
        ("fr", "Accord pour l'acte", "consent.status"),
        ("es", "Acepta el procedimiento", "consent.status"),
        ("it", "Acconsente al trattamento", "consent.status"),
        ("nl", "Akkoord met behandeling", "consent.status"),
        ("pt", "Consentimento para o procedimento", "consent.status"),
        ("pl", "Zgoda na czyszczenie", "consent.status"),
        ("sv", "Samtycke till rengöring", "consent.status"),
        ("da", "Samtykke til rensning", "consent.status"),
        ("en", "May we write to the GP", "sharing.status"),
        ("de", "Darf der Hausarzt informiert werden", "sharing.status"),
        ("fr", "Accord courrier au médecin", "sharing.status"),
        ("es", "Autoriza carta al médico", "sharing.status"),
        ("it", "Consenso lettera al medico", "sharing.status"),
        ("nl", "Toestemming brief naar huisarts", "sharing.status"),
        ("pt", "Autoriza carta ao médico", "sharing.status"),
        ("pl", "Zgoda na pismo do lekarza", "sharing.status"),
        ("sv", "Samtycke brev till läkare", "sharing.status"),
        ("da", "Samtykke til brev til læge", "sharing.status"),
    ],
)
def test_the_two_consents_are_told_apart(language: str, heading: str, field: str) -> None:
    found = compose(key_of(heading)[0], language)
    assert found is not None
    assert (found.fields, found.whole, found.needs) == ((field,), True, "choice")


@pytest.mark.parametrize("field", sorted({f for row in RECIPES for f in row["field"].split()}))
def test_every_field_of_a_recipe_is_one_and_has_a_name(field: str) -> None:
    named = {row["field"] for row in load_csv(table_path("words", "field-names.csv"))}
    assert field == IGNORE or find_field(sided(field), "visit") is not None
    assert re.sub(r"ear\.(?:before|after|@)\.", "ear.@.", re.sub(r"\[\d\]", "", field)) in named


def test_recipes_name_pieces_that_there_are_and_none_twice() -> None:
    known = {row["piece"] for row in PIECES}
    assert {p for row in RECIPES for p in row["pieces"].split()} - known == set()
    sets = [frozenset(row["pieces"].split()) for row in RECIPES]
    assert len(sets) == len(set(sets))


def test_every_piece_is_used() -> None:
    used = {p for row in RECIPES for p in row["pieces"].split()}
    assert {row["piece"] for row in PIECES} - used == set()


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_word_is_found_again(language: str) -> None:
    lost = [
        word
        for row in PIECES
        if row["language"] == language
        for word in row["words"].split("|")
        if row["piece"] not in pieces(language).get(tokens(word), ())
    ]
    assert lost == []


def test_the_words_of_a_stage_are_never_lost_to_a_small_word() -> None:
    """`voor` is “before” and “for”, `for` is “before” in Danish."""
    found = read_headings(["Oorsmeer rechts voor", "Oorsmeer links voor", "Toestemming voor behandeling"])[1]
    assert [(s.fields, s.side, s.stage) for s in found] == [
        (("ear.@.wax",), "right", "before"), (("ear.@.wax",), "left", "before"), (("consent.status",), "", ""),
    ]  # fmt: skip
