"""The tables of plain words: complete over the term maps, easy to read, and silent about what must not be named."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest

from bridge.data import load_csv, table_path
from bridge.fhir.plain.lay import held, noted
from bridge.wording import catalogue
from tests.render.client.reading_ease import grade, syllables

KINDS = {
    "wax-amount", "wax-consistency", "wax-adherence", "canal", "contents", "drum", "outer-ear", "cavity", "event",
    "method", "outcome", "outcome-reason", "view-reason", "tolerance", "hearing-change", "advice", "referral-target",
    "impression",
}  # fmt: skip
"""Kinds of terms that the client's own copy tells."""
ENGLISH = catalogue("en").words
PLAIN = {k.removeprefix("copy.word."): v for k, v in ENGLISH.items() if k.startswith("copy.word.")}
CAREFUL = {row["concept"]: row["how"] for row in load_csv(table_path("client", "careful.csv"))}


def concepts() -> dict[str, str]:
    paths = [p for p in sorted(table_path("terms").glob("*.csv")) if p.name != "kinds.csv"]
    return {row["concept"]: row["kind"] for path in paths for row in load_csv(path)}


def test_every_concept_has_plain_words_or_is_never_named() -> None:
    known = concepts()
    wanted = {concept for concept, kind in known.items() if kind in KINDS}
    own = {k.removeprefix("copy.work.how.") for k in ENGLISH if k.startswith("copy.work.how.method-")}
    never = {concept for concept, how in CAREFUL.items() if how == "never"}
    assert wanted - PLAIN.keys() - never - own == set()
    assert PLAIN.keys() - known.keys() == set()
    assert never & PLAIN.keys() == set(), "words that nobody will ever read"
    assert CAREFUL.keys() - known.keys() == set()


def test_grave_things_are_never_named_on_paper() -> None:
    """Drawn up by hand from the term maps: what points to a tumour, a cholesteatoma, an infection of bone, a palsy."""
    grave = {
        "canal-lesion", "canal-polyp", "canal-ulcer", "canal-granulation", "canal-exposed-bone", "outer-ear-lesion",
        "cholesteatoma", "cholesteatoma-middle-ear", "cholesteatoma-attic", "cholesteatoma-canal", "polyp-ear",
        "lesion-ear", "mastoiditis", "otitis-externa-necrotising", "facial-palsy", "drum-granulation",
        "drum-attic-keratin", "drum-attic-crust", "canal-granulation-disorder", "cavity-granulation",
    }  # fmt: skip
    assert grave - {concept for concept, how in CAREFUL.items() if how == "never"} == set()
    words = " ".join(v for k, v in ENGLISH.items() if k.startswith("copy."))
    assert not re.search(
        r"cancer|tumou?r|malignan|cholesteatoma|carcinoma|suspect|suspici|palsy|necroti", words.casefold()
    )
    assert PLAIN["referral-cancer"] == "a special clinic"


@pytest.mark.parametrize(
    "text",
    ["?SCC", "possible carcinoma", "Tumour at 3 o'clock", "BCC of the pinna", "2WW sent", "two-week wait",
     "lesion, bleeds",
     "Malignant?", "query cholesteatoma", "sinister", "safeguarding concern", "necrotising OE", "odd patch?",
     "a polyp", "mass seen", "possible NOE", "MRI IAM", "r/o AN", "probable OE", "worrying patch", "a mole"],
)  # fmt: skip
def test_notes_with_such_words_are_not_repeated(text: str) -> None:
    assert noted(text).how == "kept"


@pytest.mark.parametrize(
    "text",
    [
        "clarty",
        "call in a week",
        "f/u 6/12",
        "massage",
        "scar tissue",
        "a massive plug",
        "came back",
        "molecular",
        "amber",
    ],
)
def test_other_notes_are(text: str) -> None:
    assert not held(text)
    assert noted(text).words == text


def test_words_of_syllables() -> None:
    """Counted by hand."""
    counted = {
        "ear": 1,
        "canal": 2,
        "doctor": 2,
        "emergency": 4,
        "wrote": 1,
        "looked": 1,
        "needed": 2,
        "little": 2,
        "noises": 2,
    }
    assert {word: syllables(word) for word in counted} == counted


def test_the_formula_itself() -> None:
    """The cat sat on the mat: 6 words, 6 syllables, 1 sentence: 0.39 x 6 + 11.8 - 15.59 = -1.45."""
    assert round(grade(["The cat sat on the mat."]), 2) == -1.45


def test_a_child_of_ten_can_read_it() -> None:
    """Grade 5 is an age of ten to eleven."""
    said = [
        v for k, v in ENGLISH.items() if k.startswith("copy.") and not k.startswith(("copy.word.", "copy.emergency"))
    ]
    whole = [re.sub(r"\{\w+\}", "it", text) for text in said if text.endswith((".", "?")) and len(text.split()) > 3]
    assert len(whole) > 60
    assert grade(whole) < 4
    hardest = {text: round(grade([text]), 1) for text in whole if grade([text]) > 10}
    assert hardest == {}


def test_tables_name_sources_and_words_that_are_there() -> None:
    sources = {row["id"] for row in load_csv(table_path("clinical", "sources.csv"))}
    for name, key, prefix in (("aftercare", "advice", "copy.aftercare."), ("signs", "sign", "copy.sign.")):
        rows = [*load_csv(table_path("client", f"{name}.csv"))]
        assert {row["source"] for row in rows} <= sources
        assert {prefix + row[key] for row in rows} == {k for k in ENGLISH if k.startswith(prefix)}
    aftercare = [*load_csv(table_path("client", "aftercare.csv"))]
    named = {c for row in aftercare for column in ("concepts", "instead") for c in row[column].split()}
    assert named <= concepts().keys()


def test_every_region_has_its_emergency_words() -> None:
    regions = {
        path.stem for path in Path(table_path("regions")).glob("*.yaml") if path.stem in ("uk", "us", "international")
    }
    assert regions == {"uk", "us", "international"}
    assert "999" in ENGLISH["copy.emergency.uk"]
    assert "911" in ENGLISH["copy.emergency.us"]
    assert not re.search(r"\d", ENGLISH["copy.emergency.international"])


def test_the_words_are_a_table_that_any_reader_of_csv_reads() -> None:
    for name in ("client", "client-words", "changes"):
        with table_path("wording", "en", f"{name}.csv").open(encoding="utf-8", newline="") as stream:
            rows = [*csv.reader(line for line in stream if not line.startswith("#"))]
        assert {len(row) for row in rows} == {2}
