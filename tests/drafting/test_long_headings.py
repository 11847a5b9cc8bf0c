"""Whole questions as headings, short forms, and headings of things that only a few sheets have."""

from __future__ import annotations

import pytest

from bridge.drafting import ASK, Draft
from tests.drafting.sheets import draft

YES_NO = ["yes", "no", "yes", "yes"]
TEAM = ["JB", "NB", "JB", "NB"]
DATES = ["14/05/2026", "15/05/2026", "16/05/2026", "27/05/2026"]
TIMES = ["09:00", "09:30", "10:00", "11:15"]

SURE = {
    "Does the patient agree to us sending a summary to their GP?": "sharing.status",
    "Is the patient happy for a letter to be sent to their doctor?": "sharing.status",
    "OK to write to GP": "sharing.status",
    "Does the patient agree to the procedure and its risks?": "consent.status",
    "Did the client give consent to treatment today?": "consent.status",
    "OK to treat": "consent.status",
    "OK to proceed": "consent.status",
}
ABROAD = {
    "de": ("Einverständnis Behandlung", "Einverständnis Bericht an Hausarzt", "ja", "nein"),
    "fr": ("Accord soins", "Accord rapport au MG", "oui", "non"),
    "es": ("Consiente tratamiento", "Autoriza informe al médico de cabecera", "sí", "no"),
    "it": ("Consenso al trattamento", "Consenso relazione al medico curante", "sì", "no"),
    "nl": ("Akkoord behandeling", "Akkoord verslag huisarts", "ja", "nee"),
    "pt": ("Autoriza tratamento", "Autoriza relatório ao médico de família", "sim", "não"),
    "pl": ("Zgoda na zabieg", "Zgoda na raport do lekarza rodzinnego", "tak", "nie"),
    "sv": ("Samtycke till behandling", "Samtycke rapport till vårdcentral", "ja", "nej"),
    "da": ("Samtykke til behandling", "Samtykke til brev til egen læge", "ja", "nej"),
}
BASE = {
    "de": {"Datum": DATES, "Nachname": TEAM, "Vorname": TEAM, "Geburtsdatum": DATES},
    "fr": {"Date de visite": DATES, "Nom de famille": TEAM, "Prénom": TEAM, "Date de naissance": DATES},
    "es": {"Fecha de la visita": DATES, "Apellidos": TEAM, "Nombre": TEAM, "Fecha de nacimiento": DATES},
    "it": {"Data visita": DATES, "Cognome": TEAM, "Nome": TEAM, "Data di nascita": DATES},
    "nl": {"Bezoekdatum": DATES, "Achternaam": TEAM, "Voornaam": TEAM, "Geboortedatum": DATES},
    "pt": {"Data da consulta": DATES, "Apelido": TEAM, "Nome próprio": TEAM, "Data de nascimento": DATES},
    "pl": {"Data wizyty": DATES, "Nazwisko": TEAM, "Imię": TEAM, "Data urodzenia": DATES},
    "sv": {"Besöksdatum": DATES, "Efternamn": TEAM, "Förnamn": TEAM, "Födelsedatum": DATES},
    "da": {"Besøgsdato": DATES, "Efternavn": TEAM, "Fornavn": TEAM, "Fødselsdato": DATES},
}


def known(made: Draft, heading: str) -> tuple[str, str]:
    guess = made.guess_of(heading)
    return guess.field, guess.sure


@pytest.mark.parametrize(("heading", "field"), SURE.items())
def test_a_consent_in_plain_words_with_plain_answers_is_sure(heading: str, field: str) -> None:
    made = draft({"Date": DATES, heading: YES_NO})
    assert known(made, heading) == (field, "sure")
    assert made.guess_of(heading).words == {"yes": "given", "no": "refused"}


@pytest.mark.parametrize("language", ABROAD)
def test_so_it_is_in_other_languages(language: str) -> None:
    treat, share, yes, no = ABROAD[language]
    made = draft({**BASE[language], treat: [yes, no, yes, yes], share: [no, yes, yes, no]})
    assert made.language == language
    assert (known(made, treat), known(made, share)) == (("consent.status", "sure"), ("sharing.status", "sure"))
    assert made.guess_of(treat).words == {yes: "given", no: "refused"}


@pytest.mark.parametrize(
    "heading",
    ["Not OK to write to GP", "OK to write to GP if needed", "OK to leave a message", "OK to email",
     "Letter to GP sent",
     "Happy with the treatment", "Agreed fee", "Risks of treatment told", "OK to write to GP about hearing only"],
)  # fmt: skip
def test_what_could_be_another_consent_or_its_contrary_is_asked(heading: str) -> None:
    assert draft({"Date": DATES, heading: YES_NO}).guess_of(heading).field not in ("consent.status", "sharing.status")


@pytest.mark.parametrize("cells", [["yes", "verbal", "ask me", "later"], ["14/05/2026"] * 4, ["JB", "NB", "", ""]])
@pytest.mark.parametrize("heading", SURE)
def test_without_plain_answers_no_consent_is_taken(heading: str, cells: list[str]) -> None:
    guess = draft({"Date": DATES, heading: cells}).guess_of(heading)
    assert guess.field in (ASK, "ignore")
    assert guess.field == ASK or "dates of sending" in guess.why


def test_offers_by_text_are_not_of_a_visit() -> None:
    made = draft({"Date": DATES, "Are you happy for us to text you offers?": YES_NO})
    assert made.guess_of("Are you happy for us to text you offers?").field == "ignore"


@pytest.mark.parametrize(
    ("heading", "cells", "field"),
    [
        ("Which member of the team carried out the procedure?", TEAM, "practitioners"),
        ("What date did the appointment take place?", DATES, "start.date"),
        ("Full name of the patient as on their record", ["Ann Smith", "Jo Moss"], "client.legal_name"),
        ("What has been used to soften the wax and for how many days?", ["olive oil 5 days", "none"], "softeners"),
        ("Which GP surgery is the patient registered with?", ["Elm Surgery", "Birch Practice"], "family_doctor"),
        ("Is there anything the doctor should do?", ["no", "check drum"], "requests"),
        ("Why did the patient come to see us today?", ["blocked", "hearing loss"], "reasons"),
        ("When should the patient come back?", ["6 months", "1 year"], "follow_up"),
        ("Tm", TIMES, "start.time"),
        ("Init", TEAM, "practitioners"),
        ("RN", TEAM, "practitioners"),
        ("Clin/HV", ["clinic", "HV", "clinic", "clinic"], "place"),
        ("Adv", ["keep dry", "oil"], "advice"),
        ("AKA", ["Annie", "Jo"], "client.usual_name.given"),
        ("Ltr sent", DATES, "ignore"),
        ("sent on", DATES, "ignore"),
        ("Blood thinners", ["warfarin", "no", "apixaban", "none"], "medicines"),
        ("PPS No", ["1234567T", "1234568A", "2234567B", "3234567C"], "ignore"),
        ("Zzq", ["AB-0012", "AB-0013", "AB-0015", "AB-0016"], "number"),
        ("Last visit", DATES, "ignore"),
    ],
)
def test_headings_of_one_thing(heading: str, cells: list[str], field: str) -> None:
    base = {} if field == "start.date" else {"Date": DATES}
    assert draft({**base, heading: cells}).guess_of(heading).field == field


@pytest.mark.parametrize(
    ("heading", "cells", "first"),
    [
        ("Blood thinners", YES_NO, "cautions"),
        ("Representative", ["", "Tom", "", ""], "client.guardians[0].name.family"),
        ("branch", ["North", "South", "North", "North"], "place"),
    ],
)
def test_what_could_be_several_things_is_asked(heading: str, cells: list[str], first: str) -> None:
    guess = draft({"Date": DATES, heading: cells}).guess_of(heading)
    assert (guess.field, guess.options[0]) == (ASK, first)


def test_a_number_of_a_state_is_never_the_number_of_the_client() -> None:
    for heading in (
        "Medicare no",
        "SV-Nr.",
        "NISS",
        "AHV-Nr",
        "CPR-nr",
        "Personnummer",
        "BSN",
        "Codice fiscale",
        "PESEL",
    ):
        made = draft({"Date": DATES, heading: ["123 456", "123 457", "223 456", "323 456"]})
        assert made.guess_of(heading).field != "client.number", heading


def test_stages_in_pairs_of_words() -> None:
    wax = ["hard", "soft", "none", "hard"]
    made = draft({"Date": DATES, "Ear": ["R", "L", "R", "L"], "Arrival wax": wax, "Departure wax": wax})
    assert made.guess_of("Arrival wax").field == "ear.before.wax"
    assert made.guess_of("Departure wax").field == "ear.after.wax"
    alone = draft({"Date": DATES, "Wax in right ear": wax, "Wax in left ear": wax})
    assert known(alone, "Wax in right ear") == ("right.before.wax", "likely")


@pytest.mark.parametrize("cells", [["0.8", "0.5", "1", "0"], ["80", "50", "100", "0"]])
def test_shares_under_an_ear_are_how_full_it_is(cells: list[str]) -> None:
    made = draft({"Date": DATES, "Qqq right before": cells, "Qqq left before": cells})
    assert made.guess_of("Qqq right before").field == "right.before.wax.percent"
    assert made.guess_of("Qqq right before").settings == ({"unit": "fraction"} if "0.8" in cells else {})


@pytest.mark.parametrize("word", ["V?", "R?", "?L", "R/L?", "(R)", "right?"])
def test_a_side_in_doubt_is_no_side(word: str) -> None:
    guess = draft({"Date": DATES, "Side": ["R", "L", "R", word]}).guess_of("Side")
    assert {w: m for w, m in guess.words.items() if w == word} in ({word: ASK}, {})
    assert guess.field == "ear"


@pytest.mark.parametrize("word", ["yes?", "?yes", "(yes)", "yes!", "yes/no"])
def test_an_answer_in_doubt_is_no_consent(word: str) -> None:
    guess = draft({"Date": DATES, "Consent to treat": ["yes", "no", "yes", word]}).guess_of("Consent to treat")
    assert guess.words[word] == ASK


@pytest.mark.parametrize("word", ["NAD?", "?normal", "(intact)", "normal (?)"])
def test_a_finding_in_doubt_is_not_normal(word: str) -> None:
    drums = {"R drum": ["normal", "NAD", "normal", word], "L drum": ["NAD", "", "", ""]}
    assert draft({"Date": DATES, **drums}).guess_of("R drum").words.get(word, ASK) == ASK
