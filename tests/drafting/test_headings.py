"""Headings in ten languages: field, ear, stage, unit; and what is never taken from a heading."""

from __future__ import annotations

import pytest

from bridge.drafting.heading_key import codes_of
from bridge.drafting.headings import Said, read_headings
from bridge.drafting.tables import LANGUAGES, heading_parts, heading_words, tokens


def said(*headings: str) -> list[Said]:
    return read_headings(headings)[1]


SHEETS: list[tuple[str, list[tuple[str, str, str, str]]]] = [
    ("en", [("R wax before", "ear.@.wax", "right", "before"), ("L wax before", "ear.@.wax", "left", "before"),
            ("R TM post-op", "ear.@.drum", "right", "after"), ("L TM post-op", "ear.@.drum", "left", "after"),
            ("D.O.B.", "client.birth_date", "", ""), ("Consent to share", "sharing.status", "", "")]),
    ("en", [("rightWaxPct", "ear.@.wax.percent", "right", ""), ("leftWaxPct", "ear.@.wax.percent", "left", ""),
            ("visit_date", "start", "", ""), ("patientDob", "client.birth_date", "", "")]),
    ("de", [("Cerumen rechts vorher", "ear.@.wax", "right", "before"), ("Cerumen links", "ear.@.wax", "left", ""),
            ("Trommelfell re. nachher", "ear.@.drum", "right", "after"),
            ("Trommelfell li. nachher", "ear.@.drum", "left", "after"),
            ("Gehoergang rechts", "ear.@.canal", "right", ""), ("Geburtsdatum", "client.birth_date", "", "")]),
    ("fr", [("Oreille droite / Tympan", "ear.@.drum", "right", ""),
            ("Oreille gauche / Tympan", "ear.@.drum", "left", ""),
            ("Cérumen D", "ear.@.wax", "right", ""), ("Cérumen G", "ear.@.wax", "left", ""),
            ("Né(e) le", "client.birth_date", "", "")]),
    ("es", [("Tímpano derecho", "ear.@.drum", "right", ""), ("Tímpano izquierdo", "ear.@.drum", "left", ""),
            ("Fecha de nacimiento", "client.birth_date", "", "")]),
    ("it", [("Timpano destro dopo", "ear.@.drum", "right", "after"),
            ("Timpano sinistro dopo", "ear.@.drum", "left", "after"),
            ("Cerume dx", "ear.@.wax", "right", ""), ("Cerume sx", "ear.@.wax", "left", ""),
            ("Data di nascita", "client.birth_date", "", "")]),
    ("nl", [("Oorsmeer rechts", "ear.@.wax", "right", ""), ("Oorsmeer links", "ear.@.wax", "left", ""),
            ("Trommelvlies RO", "ear.@.drum", "right", ""), ("Trommelvlies LO", "ear.@.drum", "left", ""),
            ("Geboortedatum", "client.birth_date", "", "")]),
    ("pt", [("Cerume ouvido direito", "ear.@.wax", "right", ""), ("Cerume ouvido esquerdo", "ear.@.wax", "left", ""),
            ("Data de nascimento", "client.birth_date", "", "")]),
    ("pl", [("Woskowina prawe", "ear.@.wax", "right", ""), ("Woskowina lewe", "ear.@.wax", "left", ""),
            ("Data urodzenia", "client.birth_date", "", "")]),
    ("sv", [("Trumhinna höger", "ear.@.drum", "right", ""), ("Trumhinna vänster", "ear.@.drum", "left", ""),
            ("Födelsedatum", "client.birth_date", "", "")]),
    ("da", [("Ørevoks højre", "ear.@.wax", "right", ""), ("Ørevoks venstre", "ear.@.wax", "left", ""),
            ("Trommehinde H", "ear.@.drum", "right", ""), ("Trommehinde V", "ear.@.drum", "left", ""),
            ("Fødselsdato", "client.birth_date", "", "")]),
]  # fmt: skip


@pytest.mark.parametrize(("language", "sheet"), SHEETS, ids=[f"{at}-{s[0]}" for at, s in enumerate(SHEETS)])
def test_a_sheet_is_understood(language: str, sheet: list[tuple[str, str, str, str]]) -> None:
    found_language, found = read_headings([heading for heading, *_ in sheet])
    assert found_language == language
    told = [(h, s.fields[0] if s.fields else "", s.side, s.stage) for (h, *_), s in zip(sheet, found, strict=True)]
    assert told == sheet


@pytest.mark.parametrize(
    ("heading", "unit"),
    [("R suction (mmHg)", "mmHg"), ("Suction kPa", "kPa"), ("tube_mm", "mm"), ("Tip Fr", "Fr"), ("Wax %", "%"),
     ("Temp (°C)", "°C"), ("Wax L", ""), ("Wax (R)", ""), ("Follow-up (d)", ""), ("Sauger Ø mm", "mm")],
)  # fmt: skip
def test_a_unit_is_taken_off_and_a_lone_letter_is_none(heading: str, unit: str) -> None:
    assert said(heading)[0].unit == unit


@pytest.mark.parametrize("heading", ["Wax left", "Time left", "Left", "Drum right", "R wax", "Cerume d", "Rechnung L"])
def test_one_word_or_letter_without_its_twin_is_no_ear(heading: str) -> None:
    assert said(heading, "Date", "Name")[0].side == ""


def test_wax_left_is_no_ear_beside_columns_of_ears() -> None:
    found = said("Right drum", "Left drum", "R view", "L view", "Wax left", "Left wax")
    assert [s.side for s in found] == ["right", "left", "right", "left", "", "left"]


@pytest.mark.parametrize("heading", ["Consent to share (not GP)", "No consent to share", "Consent to share: opt out"])
def test_a_heading_with_more_words_than_a_consent_is_not_exact(heading: str) -> None:
    assert not said(heading)[0].exact


@pytest.mark.parametrize("mark", ["AD", "AS", "AU", "OD", "OS", "OG", "OI", "OU"])
def test_latin_marks_are_no_ears_until_a_person_says_so(mark: str) -> None:
    assert said(f"{mark} wax")[0].side == "eye"
    assert read_headings([f"{mark} wax"], latin=True)[1][0].side in ("right", "left", "both")


PAIRS = [
    ("es", "OD", "OI", ("Tapón {}", "Conducto {}", "Fecha de la cita", "Nombre del paciente")),
    ("fr", "OD", "OG", ("Bouchon {}", "Conduit {}", "Date de naissance", "Nom du patient")),
    ("pt", "OD", "OE", ("Cera {}", "Canal auditivo {}", "Data de nascimento", "Nome do utente")),
    ("nl", "RO", "LO", ("Oorsmeer {}", "Gehoorgang {}", "Geboortedatum", "Naam klant")),
    ("it", "dx", "sx", ("Cerume {}", "Condotto {}", "Data di nascita", "Cognome")),
    ("pl", "P", "L", ("Woskowina {}", "Przewód {}", "Data urodzenia", "Nazwisko")),
    ("sv", "H", "V", ("Vax {}", "Hörselgång {}", "Födelsedatum", "Efternamn")),
    ("da", "H", "V", ("Ørevoks {}", "Øregang {}", "Fødselsdato", "Efternavn")),
    ("pt", "D", "E", ("Cera {}", "Canal auditivo {}", "Data de nascimento", "Nome do utente")),
    ("de", "Re", "Li", ("Ohrenschmalz {}", "Gehörgang {}", "Geburtsdatum", "Nachname")),
]


@pytest.mark.parametrize(("language", "right", "left", "headings"), PAIRS)
def test_both_marks_of_a_pair_name_the_ears_of_their_language(
    language: str, right: str, left: str, headings: tuple[str, ...]
) -> None:
    sheet = [h.format(m) for h in headings[:2] for m in (right, left)] + list(headings[2:])
    found_language, found = read_headings(sheet)
    assert found_language == language
    assert [s.side for s in found] == ["right", "left", "right", "left", "", ""]
    turned = read_headings([h.format(m) for h in headings[:2] for m in (left, right)] + list(headings[2:]))[1]
    assert [s.side for s in turned[:4]] == ["left", "right", "left", "right"]


@pytest.mark.parametrize(("language", "right", "left", "headings"), PAIRS)
def test_one_mark_of_a_pair_alone_names_no_ear(language: str, right: str, left: str, headings: tuple[str, ...]) -> None:
    for mark in (right, left):
        found = read_headings([h.format(mark) for h in headings[:2]] + list(headings[2:]))[1]
        assert {s.side for s in found} & {"right", "left"} == set()


@pytest.mark.parametrize(
    "headings",
    [
        ("OD wax", "OI wax", "Date", "Name"),
        ("OD wax", "OG wax", "Date of birth", "Surname"),
        ("OD cerumen", "OI cerumen"),
        ("Cera OD", "Cera OS", "Fecha", "Nombre", "Apellidos"),
        ("Cerume OD", "Cerume OS", "Data di nascita", "Cognome", "Nome"),
        ("Bouchon OD", "Bouchon OI", "Date de naissance", "Nom du patient"),
        ("Cera AD", "Cera AS", "Fecha de nacimiento", "Apellidos"),
    ],
)
def test_marks_of_another_language_stay_a_question(headings: tuple[str, ...]) -> None:
    assert {s.side for s in read_headings(headings)[1]} & {"right", "left"} == set()


@pytest.mark.parametrize("heading", ["Consentement au soin", "Accord au geste", "Motivo da ida ao médico as vezes"])
def test_a_small_word_is_no_mark_of_an_eye(heading: str) -> None:
    french = ("Date de naissance", "Nom du patient", "Conduit droit", "Conduit gauche")
    portuguese = ("Data de nascimento", "Nome do utente", "Canal direito", "Canal esquerdo")
    assert read_headings([heading, *(french if "au" in heading else portuguese)])[1][0].side == ""


@pytest.mark.parametrize("heading", ["R wax left over", "R left over", "R left-behind", "R wax left behind"])
def test_what_is_left_over_is_no_left_ear(heading: str) -> None:
    found = said(heading, f"L{heading[1:]}")
    assert [(s.side, s.fields) for s in found] == [("right", ("ear.after.wax",)), ("left", ("ear.after.wax",))]


@pytest.mark.parametrize(
    ("language", "before", "after", "others"),
    [
        ("en", "R drum B4", "after R drum", ("Date", "L drum B4", "after L drum")),
        ("en", "pre-R drum", "postRightDrum", ("Date", "pre-L drum", "postLeftDrum")),
        ("de", "Trommelfell rechts davor", "danach Trommelfell rechts", ("Geburtsdatum", "Trommelfell links")),
        ("fr", "Tympan droit avant", "après tympan droit", ("Date de naissance", "Tympan gauche")),
        ("es", "Tímpano derecho antes", "después tímpano derecho", ("Fecha de nacimiento", "Tímpano izquierdo")),
        ("it", "Timpano destro prima", "dopo timpano destro", ("Data di nascita", "Timpano sinistro")),
        ("nl", "Trommelvlies rechts vooraf", "na trommelvlies rechts", ("Geboortedatum", "Trommelvlies links")),
        ("pt", "Tímpano direito antes", "depois tímpano direito", ("Data de nascimento", "Tímpano esquerdo")),
        ("pl", "Błona prawa przed zabiegiem", "po zabiegu błona prawa", ("Data urodzenia", "Błona lewa")),
        ("sv", "Trumhinna höger före", "efter trumhinna höger", ("Födelsedatum", "Trumhinna vänster")),
        ("da", "Trommehinde højre før", "efter trommehinde højre", ("Fødselsdato", "Trommehinde venstre")),
    ],
)
def test_before_and_after_stand_anywhere(language: str, before: str, after: str, others: tuple[str, ...]) -> None:
    found_language, found = read_headings([before, after, *others])
    assert found_language == language
    assert [(s.side, s.stage, s.fields) for s in found[:2]] == [
        ("right", "before", ("ear.@.drum",)), ("right", "after", ("ear.@.drum",)),
    ]  # fmt: skip


def test_two_sides_in_one_heading_are_none() -> None:
    assert said("Wax right ear left ear")[0].side not in ("right", "left")


@pytest.mark.parametrize("heading", ["Consent to sharee", "Consnt to share", "Cons. share"])
def test_a_slip_of_spelling_is_not_exact(heading: str) -> None:
    assert not said(heading)[0].exact


def test_the_codes_of_a_heading_are_read_with_it() -> None:
    assert codes_of("ear 1=R 2=L 3=both")[1] == {"1": "R", "2": "L", "3": "both"}
    assert codes_of("Suction = mmHg")[1] == {}


@pytest.mark.parametrize("heading", ["", " / ", "()", "%", "/ / /", "🦻", "a" * 5000, "R" * 50, "=1=2=3=", "\t\n"])
def test_odd_headings_are_read_without_a_fault(heading: str) -> None:
    assert len(said(heading, heading)) == 2


def test_every_language_has_the_headings_that_no_letter_does_without() -> None:
    wanted = {"start", "client.birth_date", "consent.status", "sharing.status", "ear", "ear.@.wax", "ear.@.drum",
              "ear.@.canal", "ear.work.method", "ear.work.outcome", "family_doctor", "note"}  # fmt: skip
    for language in LANGUAGES:
        known = {f for words in heading_words().values() for w in words if w.language == language for f in w.fields}
        assert wanted - known == set(), language


def test_one_language_gives_a_heading_one_meaning() -> None:
    twice = [
        (key, word.language)
        for key, words in heading_words().items()
        for word in words
        if sum(w.language == word.language for w in words) > 1
    ]
    assert twice == []


def test_no_word_names_both_ears_apart_in_one_language() -> None:
    for key, parts in heading_parts().items():
        sides = {(p.part, p.language) for p in parts if p.part in ("right", "left")}
        assert len({language for _, language in sides}) == len(sides), key
        assert tokens(" ".join(key)) == key
