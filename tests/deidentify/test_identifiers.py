"""The 18 kinds of identifiers of the HIPAA safe harbour, 45 CFR 164.514(b)(2)(i), seeded and looked for in the output.

Oracle: the list, written down from memory of the regulation (A to R); the invented values are ours. Without free text
none may come out. With free text, all but what cannot be known: names of people whom no field of the record knows.
"""

from __future__ import annotations

import pytest

from bridge.coding import code_visit
from bridge.deidentify import Redaction
from bridge.visit import Visit
from tests.deidentify.test_visits import KEY, Wishes, contents, deidentified, maps, run, written

SEEDED: dict[str, tuple[str, ...]] = {
    "A names": ("Marigold", "Thistlewood", "Rowan", "Hazelden", "Fennimore"),
    "B geography smaller than a state": ("Millbrook", "Mill Lane", "ZX9 9ZZ", "Brambleford"),
    "C dates finer than a year": ("1948-06-07", "2026-11-03", "7 June 1948", "03/11/2026"),
    "D telephones": ("07700 900123", "01632 960111"),
    "E fax": ("01632 960222",),
    "F e-mail": ("marigold@example.org",),
    "G social security numbers": ("078-05-1120",),
    "H medical record numbers": ("MRN-448812", "C-20417"),
    "I health plan numbers": ("HP99172231",),
    "J account numbers": ("GB00TEST00001234567890",),
    "K certificates and licences": ("HCPC-AS12345",),
    "L vehicles": ("AB12 CDE",),
    "M devices": ("SN-88213-X", "LOT-7741", "9990000018"),
    "N web addresses": ("https://example.org/marigold", "www.example.org"),
    "O internet addresses": ("192.0.2.44",),
    "P biometrics": ("voiceprint-5501",),
    "Q photographs": ("face-5512.jpg",),
    "R any other number": ("QX-55-1234-Z",),
}
UNKNOWABLE = {"Fennimore", "Brambleford"}
"""A neighbour's name, a place: they stand in the text alone, and no field of the record knows them."""


def _record() -> Visit:
    text = "; ".join(f"{kind[2:]} {value}" for kind, values in SEEDED.items() for value in values)
    data = {
        "number": "C-20417",
        "clinic": {"name": "Millbrook Ears", "address": {"lines": ["1 Mill Lane"], "city": "Millbrook"}},
        "practitioners": [
            {"key": "RH", "name": {"given": ["Rowan"], "family": "Hazelden"},
             "registrations": [{"register_key": "hcpc", "number": "HCPC-AS12345"}]},
        ],
        "client": {
            "number": "MRN-448812", "legal_name": {"given": ["Marigold"], "family": "Thistlewood"},
            "birth_date": "1948-06-07", "nhs_number": "9990000018",
            "identifiers": [{"value": "HP99172231", "assigner": "Plan"}],
            "address": {"lines": ["1 Mill Lane"], "city": "Millbrook", "postcode": "ZX9 9ZZ"},
            "phones": ["07700 900123"], "emails": ["marigold@example.org"],
            "guardians": [{"name": {"given": ["Rowan"], "family": "Hazelden"}, "relationship": "son"}],
        },
        "start": "2026-11-03T10:15+00:00",
        "note": text,
        "reasons": [f"blocked, says Marigold, ring 07700 900123 ({value})" for value in ("AB12 CDE", "192.0.2.44")],
        "right": {
            "before": {"wax": "heavy", "drum": ["perforation"], "note": text},
            "work": [{"method": "microsuction", "practitioner": "RH", "note": text,
                      "instruments": [{"name": "Zoellner tube", "lot": "LOT-7741"}]}],
            "images": [{"file": "face-5512.jpg"}],
        },
        "follow_up": {"plan": text},
        "referral": {"to": "ENT", "urgency": "routine", "reason": text, "told_to": "Rowan Hazelden"},
        "sharing": {"status": "given", "except_for": [text[:190]]},
    }  # fmt: skip
    return code_visit(Visit.model_validate(data), maps())[0]


@pytest.mark.parametrize("kind", SEEDED)
@pytest.mark.parametrize("purpose", ["teaching", "audit"])
def test_no_identifier_comes_out(kind: str, purpose: str) -> None:
    for value in SEEDED[kind]:
        assert value in _record().model_dump_json()
        result = run([_record()], purpose)  # type: ignore[arg-type]
        for content in contents(result, purpose):  # type: ignore[arg-type]
            assert value.encode() not in content


@pytest.mark.parametrize("kind", SEEDED)
def test_with_text_only_what_nobody_could_know_stays(kind: str) -> None:
    wishes = Wishes("teaching", with_text=True)
    result = deidentified([_record()], KEY, wishes, maps())
    assert "D241" in {found.rule for found in result.issues}
    (content, *_) = [p.content.decode() for p in written(result, "yaml", None, KEY, wishes)]  # type: ignore[arg-type]
    for value in SEEDED[kind]:
        assert (value in content) == (value in UNKNOWABLE)


def test_text_that_stays_is_still_of_use() -> None:
    """What a teacher needs of a note is there: findings, sizes and pressures are no identifiers."""
    words = Redaction([_record()])
    for text in (
        "wax hard and dry, softened for 5 days",
        "suction 0.2 bar, tube 2 mm, 3 attempts",
        "thresholds 30 dB at 500 Hz, 1000Hz and 4 kHz",
        "a 10-day course, seen 3-weekly, grade 2b",
        "drum intact, light reflex seen, no retraction",
        "came back after 2 weeks, 10 mL of water at 37 °C",
    ):
        assert words.of(text) == text


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("Thistlewood's son rang", "redacted's son rang"),
        ("MARIGOLD THISTLEWOOD", "redacted"),
        ("Märigold", "redacted"),
        ("seen by Dr Fennimore", "seen by redacted"),
        ("dr quillon; Nurse Quillon", "redacted; redacted"),
        ("his sister drove, he will miss a visit", "his sister drove, he will miss a visit"),
        ("ring 07700900123", "ring redacted"),
        ("NHS 999 000 0018", "NHS redacted"),
        ("born 7th June 1948", "born redacted"),
        ("lives at 12 Old Church Road", "lives at redacted"),
    ],
)
def test_known_names_in_other_forms(text: str, told: str) -> None:
    assert Redaction([_record()]).of(text) == told


@pytest.mark.parametrize(
    "unit", ["a-", "1-", "a", "1 ", "1(", "@", "a@", "mr ", "1 a ", "jan ", "a.", "12/", "\t", "A1 "]
)
def test_a_text_that_is_made_to_take_long_does_not(unit: str) -> None:
    """20,000 characters, the most that a text may have; with a pattern that looks back and forth this takes minutes."""
    words = Redaction([_record()])
    for text in (unit * (20_000 // len(unit)), "x" + unit * 9_000 + "!", "1" + unit * 9_000):
        assert len(words.of(text)) <= 8 * len(text)


def test_words_that_grow_still_fit_their_field() -> None:
    """“redacted” is longer than Bo: a field of 200 characters full of it, and a text of 20,000."""
    data = _record().model_dump(mode="json")
    data["client"]["legal_name"] = {"family": "Bo"}
    data["consent"] = {"status": "given", "form": ("Bo, ab; " * 25).strip()}
    data["note"] = ("Bo, ab; " * 2_500).strip()
    data["reasons"] = [("Bo, ab; " * 25).strip()]
    result = run([Visit.model_validate(data)], with_text=True)
    (visit,) = result.visits
    assert visit.consent is not None
    for text in (visit.consent.form, visit.note, visit.reasons[0].text):
        assert text is not None
        assert text.startswith("redacted, ab; redacted")
        assert "Bo" not in text


def test_a_name_of_another_client_is_taken_out_where_it_stands_as_a_name() -> None:
    data = _record().model_dump(mode="json")
    data["note"] = "brown wax; sister of Brown, who came before; Märigold too"
    brown = {**data, "number": "V-2", "client": {"number": "2", "legal_name": {"family": "Brown"}}, "note": None}
    visits = [Visit.model_validate(data), Visit.model_validate(brown)]
    notes = [visit.note for visit in run(visits, with_text=True).visits if visit.note]
    assert notes == ["brown wax; sister of redacted, who came before; redacted too"]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("the wax and the drum", "the wax and the drum"),
        ("fine end, green wax, kept in place", "fine end, green wax, kept in place"),
        ("came from Green End, by the gatehouse", "came from redacted, by redacted"),
        ("lives at 14, green end", "lives at 14, redacted"),
        ("moved from Bath; no bath for a week", "moved from redacted; no bath for a week"),
        ("told the Green Ear Clinic", "told the redacted"),
        ("a green ear, to the clinic", "a green ear, to the clinic"),
        ("a pond near Tilsworth", "a pond near redacted"),
        ("Family doctor told, ENT asked", "Family doctor told, ENT asked"),
        ("the Marrowdale clinic was told", "the redacted clinic was told"),
    ],
)
def test_words_of_addresses_alone_are_words_of_the_trade(text: str, told: str) -> None:
    data = _record().model_dump(mode="json")
    data["client"]["address"] = {"lines": ["The Gatehouse", "14 Green End", "Tilsworth Pond"], "city": "Bath"}
    data["clinic"]["name"] = "Green Ear Clinic"
    data["sharing"] = {"status": "given", "recipients": ["family doctor", "ENT", "Marrowdale ENT"]}
    data["note"] = text
    (visit,) = run([Visit.model_validate(data)], with_text=True).visits
    assert visit.note == told


def test_a_name_stays_a_name_where_it_is_a_word_of_the_trade_and_of_an_address() -> None:
    data = _record().model_dump(mode="json")
    data["client"]["address"] = {"lines": ["14 Green End"]}
    data["client"]["legal_name"] = {"given": ["Ann"], "family": "Green"}
    data["note"] = "green paste; the fine end"
    (visit,) = run([Visit.model_validate(data)], with_text=True).visits
    assert visit.note == "redacted paste; the fine end"
