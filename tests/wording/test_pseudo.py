"""A word that the program says and that is not in the catalogue shows, wherever in a letter it stands.

Records are written in Greek letters and the catalogue's words between marks; so any Latin letter outside of the marks
is a word of the program's own. What may stand there is named: units, displays of published codes, titles of
publications and of code systems, the program's name.
"""

from __future__ import annotations

import dataclasses
import json
import os
import random
import re
import shutil
import subprocess
from collections.abc import Iterator
from decimal import Decimal
from functools import cache
from html import unescape
from typing import Any, Literal
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from lxml import etree

from bridge.build import Options, build_document
from bridge.build.ips import build_client_summary
from bridge.cda import write_cda
from bridge.data import load_csv, table_path
from bridge.fhir.own import verified
from bridge.fhir.write_json import dumps
from bridge.regions import region
from bridge.render.as_html import html_of
from bridge.render.as_pdf import render as pdf_of
from bridge.render.letter import page_of
from bridge.render.page import Page
from bridge.shapes import Alert, Json
from bridge.visit import Visit
from bridge.wording import speaking
from tests.generate import visit
from tests.wording.greek import in_greek
from tests.wording.pseudo import TAG, outside, pseudo, pseudo_language

MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "24"))
ZONE = ZoneInfo("Europe/London")
UNITS = frozenset((
    "Hz", "kHz", "dB", "HL", "mm", "cm", "s", "min", "h", "mmHg", "mmho", "daPa", "Pa", "kPa", "mbar", "bar", "mL", "L",
    "cm3", "cmH2O", "mmH2O", "Fr", "G", "C", "SS", "SHA",
))  # fmt: skip
"""Symbols, which are the same in every language; SS is a capital ß."""
OURS = frozenset({"visit", "Visit", "bridge"})
_NUMBER = re.compile(r"\bips/\S+")
"""A document's own number."""
_TAG = re.compile(r"<[^>]*>")
_WORD = re.compile(r"[^\W_]+")
_NO_WORDS = {"kind", "language", "key", "ear", "style", "frame", "number"}
"""Members of a page that are keys for a format, or the visit's own number."""
Kind = Literal["summary", "referral", "client"]
LETTERS: tuple[tuple[str, Kind, Literal["doctor", "client"]], ...] = (
    ("uk", "summary", "doctor"), ("uk", "referral", "doctor"), ("uk", "client", "client"), ("us", "summary", "doctor"),
    ("us", "client", "client"), ("international", "referral", "doctor"),
)  # fmt: skip
SOURCE = "NICE NG98 1.1.2"
SERVICES = tuple(r["label"] for r in load_csv(table_path("terms", "care.csv")) if r["kind"] == "referral-target")
FLAGS = [
    Alert(code, flag, ear, "immediate", "Words of the rule.", SOURCE, SERVICES, answered=answered)
    for code, flag, ear, answered in (
        ("C201", "RF01", "left", ""), ("C204", "RF04", "right", ""), ("C212", "RF12", None, "ειδε"),
    )
]  # fmt: skip


@pytest.fixture(scope="module", autouse=True)
def _in_pseudo() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patched, pseudo_language(patched):
        yield


def record(seed: int) -> Visit:
    made = in_greek(visit(random.Random(seed)))
    assert not re.search("[A-Za-z]", made.client.legal_name.family or "")
    return made


def bundle(seed: int, country: str, kind: str) -> Json:
    made = build_document(record(seed), UUID(int=5), ZONE, kind, Options(country, language=TAG), FLAGS)
    read: Json = json.loads(dumps(made), parse_float=Decimal)
    return read


@cache
def published_words() -> tuple[str, ...]:
    """Displays of codes, names of registers and code systems, titles and publishers of publications; longest first."""
    said = {str(code["display"]) for code in verified().values()} | {SOURCE}
    said |= {
        value for row in load_csv(table_path("clinical", "sources.csv")) for value in (row["title"], row["publisher"])
    }
    said |= {row["title"].partition(",")[0] for row in load_csv(table_path("clinical", "sources.csv"))}
    said |= {row["name"] for row in load_csv(table_path("registers.csv"))}
    said |= {"SNOMED CT", "LOINC", "ICD-10", "ICD-10-CM"}
    said |= {words[:1].lower() + words[1:] for words in said}
    return tuple(sorted(said, key=len, reverse=True))


@cache
def published() -> re.Pattern[str]:
    return re.compile("|".join(map(re.escape, published_words())))


def leaks(text: str, *, codes: bool = False) -> list[str]:
    """The words outside of the catalogue. `codes`: displays of published codes may stand here."""
    left = _NUMBER.sub(" ", outside(text))
    left = published().sub(" ", left) if codes else left.replace(SOURCE, " ")
    found = (word for word in _WORD.findall(left) if re.search("[A-Za-z]", word) and not re.search("[0-9]", word))
    return [word for word in found if word not in UNITS | OURS]


def narratives(bundle: Json) -> Iterator[tuple[str, str]]:
    for entry in bundle["entry"]:
        resource = entry["resource"]
        yield resource["resourceType"], resource["text"]["div"]
        for section in resource.get("section", ()):
            yield f"section {section['title']}", section["text"]["div"]
            yield "title of a section", section["title"]
            yield "reason of an empty section", section.get("emptyReason", {}).get("text", "")
        if resource["resourceType"] == "Composition":
            yield "title", resource["title"]


def said_on(value: Any, where: str = "") -> Iterator[tuple[str, str]]:
    """Every text of a page with the member that holds it; of a drawing what is written in it."""
    if isinstance(value, str):
        yield where, " ".join(re.findall(r">([^<>]*)<", value)) if where.endswith(".svg") else value
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            if field.name not in _NO_WORDS:
                yield from said_on(getattr(value, field.name), f"{type(value).__name__}.{field.name}")
    elif isinstance(value, list | tuple):
        for one in value:
            yield from said_on(one, where)


@pytest.mark.parametrize("seed", range(MANY))
def test_the_text_of_a_bundle_says_nothing_that_the_catalogue_does_not(seed: int) -> None:
    country, kind, _ = LETTERS[seed % len(LETTERS)]
    found = [
        (where, words)
        for where, text in narratives(bundle(seed, country, kind))
        if (words := leaks(unescape(_TAG.sub(" ", text)), codes=where in {"Patient", _people(country, kind)}))
    ]
    assert found == []


def _people(country: str, kind: str) -> str:
    """Where an NHS number's state is told, in the words of its code."""
    key = "plan.client.people.title" if kind == "client" else "plan.uk.people.title"
    return f"section {pseudo().words[key]}"


CODED = {"Grid.rows", "Picture.alt", "Picture.legend", "Picture.svg", "Page.client", "Page.closing"}
"""The table of codes, drawings of what has a published code alone, an NHS number's state, the sources of advice."""


@pytest.mark.parametrize("seed", range(MANY))
def test_a_page_says_nothing_that_the_catalogue_does_not(seed: int) -> None:
    country, kind, reader = LETTERS[seed % len(LETTERS)]
    page = page_of(bundle(seed, country, kind), reader=reader)
    texts = [(where, text) for where, text in said_on(page) if where not in ("Passage.html", "Passage.language")]
    assert len(texts) > 10
    found = [(where, words, text) for where, text in texts if (words := leaks(text, codes=where in CODED))]
    assert found == []
    assert pseudo().words["mark.not_reviewed"] in page.marks


@pytest.mark.parametrize("seed", range(0, MANY, 6))
def test_html_adds_no_words(seed: int) -> None:
    country, kind, reader = LETTERS[seed % len(LETTERS)]
    page = page_of(bundle(seed, country, kind), reader=reader)
    assert page.language == f"{TAG}-{region(country).language.partition('-')[2]}".rstrip("-")
    assert [words for text in printed(page) if (words := leaks(text, codes=True))] == []


def printed(page: Page) -> Iterator[str]:
    """What stands between the tags and in attributes that are read aloud, of the whole file."""
    with speaking(pseudo()):
        html = html_of(page)
    bare = re.sub(r"(?s)<style.*?</style>", "", html)
    yield from (unescape(text) for text in re.findall(r">([^<>]+)<", bare))
    yield from (unescape(text) for text in re.findall(r'(?:alt|title|aria-label)="([^"]*)"', bare))


@pytest.mark.parametrize("seed", range(0, MANY, 3))
def test_cda_adds_no_words(seed: int) -> None:
    country, kind, _ = LETTERS[seed % len(LETTERS)]
    root = etree.fromstring(write_cda(bundle(seed, country, kind)))
    texts = [" ".join(found.itertext()) for found in root.iter("{urn:hl7-org:v3}text", "{urn:hl7-org:v3}title")]
    assert len(texts) > 10
    assert [words for text in texts if (words := leaks(text, codes=True))] == []


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext (poppler-utils) is not installed")
@pytest.mark.parametrize("seed", [0, 1, 2])
def test_pdf_adds_no_words(seed: int) -> None:
    """The page's own words are judged above; lines break words of published titles anywhere."""
    country, kind, reader = LETTERS[seed % len(LETTERS)]
    pdf = pdf_of(bundle(seed, country, kind), None, reader=reader).content
    said = subprocess.run(["pdftotext", "-raw", "-", "-"], input=pdf, capture_output=True, check=True).stdout.decode()
    assert len(said) > 2000
    titles = "|".join(published_words())
    assert [word for word in leaks(said, codes=True) if word not in titles and not re.fullmatch("[a-f]+", word)] == []


def test_a_clients_summary_says_nothing_that_the_catalogue_does_not() -> None:
    options = Options("uk", language=TAG)
    for seed in range(4):
        first = record(seed)
        later = first.model_copy(update={"number": f"{first.number}9", "start": "2026-12-03"})
        made = build_client_summary([first, later], UUID(int=5), ZONE, options)
        read: Json = json.loads(dumps(made), parse_float=Decimal)
        found = [
            (w, words) for w, text in narratives(read) if (words := leaks(unescape(_TAG.sub(" ", text)), codes=True))
        ]
        assert found == []
        pages = [
            (w, words)
            for w, text in said_on(page_of(read))
            if w != "Passage.html" and (words := leaks(text, codes=True))
        ]
        assert pages == []


def test_nothing_written_in_it_is_approved() -> None:
    approved = next(v for v in map(record, range(40)) if v.approved)
    for made in (
        build_document(approved, UUID(int=5), ZONE, "summary", Options(language=TAG)),
        build_client_summary([approved], UUID(int=5), ZONE, Options(language=TAG)),
    ):
        letter = made["entry"][0]["resource"]
        assert (letter["status"], "attester" in letter) == ("preliminary", False)
        assert made["identifier"]["value"].endswith("/draft")


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("⟦ẃáẋ⟧: 3 mm", []), ("⟦ẃáẋ⟧ and ⟦ẃáẋ⟧", ["and"]), ("κερι", []), ("Right ⟦éáŕ⟧", ["Right"]), ("99Z0001E", []),
        ("⟦ẃáẋ", []), ("wax", ["wax"]),
    ],
)  # fmt: skip
def test_the_judge_itself(text: str, found: list[str]) -> None:
    assert leaks(text) == found
