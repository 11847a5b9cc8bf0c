"""The licensed set: finer codes in place of the free ones, chosen by the ear; what is doubted or denied stays bare."""

from __future__ import annotations

import csv
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from bridge.coding import Concept, code_visit, load_term_maps
from bridge.data import load_csv, table_path
from bridge.errors import MappingError
from bridge.fhir.own import licensed, sided, verified
from bridge.fhir.systems import OWN, SCT
from bridge.phrases import parse_phrase
from bridge.visit import Visit, terms_of
from tests.coding.test_overlay import folder

FREE = load_term_maps()
LICENSED = load_term_maps(licensed=True)
ROWS = [row for path in sorted(table_path("terms-licensed").glob("*.csv")) for row in load_csv(path)]
SIDE = {row["code"]: row["laterality"] for row in load_csv(table_path("codes", "snomed-licensed.csv"))} | {
    row["code"]: row["laterality"] for row in load_csv(table_path("codes", "snomed-free.csv"))
}
SHAPE: dict[str, Any] = {
    "canal": lambda words: {"before": {"canal": [words]}},
    "contents": lambda words: {"before": {"contents": [words]}},
    "drum": lambda words: {"before": {"drum": [words]}},
    "cavity": lambda words: {"before": {"mastoid_cavity": [words]}},
    "viewing-device": lambda words: {"before": {"view": {"achieved": "full", "device": words}}},
    "wax-consistency": lambda words: {"before": {"wax": {"consistency": [words]}}},
    "moisture": lambda words: {"before": {"drum": {"findings": [{"term": "scar", "moisture": words}]}}},
    "impression": lambda words: {"impressions": [words]},
    "symptom": lambda words: {"symptoms": [words]},
    "event": lambda words: {"work": [{"method": "microsuction", "events": [words]}]},
    "instrument": lambda words: {"work": [{"method": "microsuction", "instruments": [{"name": words}]}]},
    "product": lambda words: {"work": [{"method": "microsuction", "products": [{"name": words}]}]},
    "outcome-reason": lambda words: {
        "work": [{"method": "microsuction", "outcome": "partial", "outcome_reason": words}]
    },
    "hearing-change": lambda words: {"hearing_change": words},
}
"""The record of an ear with words of each kind that has finer codes."""


def under(ear: str, kind: str, words: str) -> Visit:
    return Visit.model_validate(_base() | {ear: SHAPE[kind](words)})


def _base() -> dict[str, Any]:
    return {"number": "V1", "start": "2026-03-02", "client": {"legal_name": {"family": "Test"}}}


def codes(visit: Visit, words: str, maps: Any = LICENSED) -> list[tuple[str, str]]:
    coded, _ = code_visit(visit, maps)
    (found,) = [term for _, term in terms_of(coded) if term.text == words]
    return [(c.system, c.code) for c in found.codings]


def test_the_table_is_whole() -> None:
    """Also tells when a row of the term maps that has finer codes is gone."""
    assert [row["concept"] for row in ROWS if row["concept"] not in FREE.concepts] == []
    assert [concept for concept, n in Counter(row["concept"] for row in ROWS).items() if n > 1] == []
    for row in ROWS:
        assert row["codes"] or row["right"] or row["left"] or row["both"], row["concept"]
        assert bool(row["right"]) == bool(row["left"]), f"{row['concept']} has a code for one ear only"
        for column, side in (("codes", "none"), ("right", "right"), ("left", "left"), ("both", "bilateral")):
            names = row[column].split()
            assert len(names) <= 1, "two codes side by side would each claim the whole"
            for name in names:
                assert name in verified()
                assert SIDE[name.removeprefix("sct:")] == side, (row["concept"], name)
        used = {name for column in ("codes", "right", "left", "both") for name in row[column].split()}
        assert used & licensed()
        assert not set(row["codes"].split()) & set(FREE.concepts[row["concept"]].codes)


def test_a_code_for_both_ears_can_be_reached() -> None:
    """Only the reasons of a visit stand outside the ears and can name both."""
    reachable = {"reason", *FREE.kinds["reason"].also}
    assert {FREE.concepts[row["concept"]].kind for row in ROWS if row["both"]} <= reachable


def test_a_finer_code_that_several_meanings_share_is_explained() -> None:
    by_code: dict[tuple[str, str], list[str]] = {}
    for row in ROWS:
        for name in (row["codes"] + " " + row["right"]).split():
            by_code.setdefault((FREE.concepts[row["concept"]].kind, name), []).append(row["note"])
    notes = [[n for n in notes if not n] for notes in by_code.values()]
    assert [len(silent) for silent in notes if len(silent) > 1] == []


def test_what_decides_elsewhere_keeps_its_code() -> None:
    """Impressions that removal ends are known by their code (clearance.csv), or by our own, which every set keeps."""
    ends = {row["code"] for row in load_csv(table_path("clearance.csv"))}
    by_code = [row["concept"] for row in ROWS if ends & set(FREE.concepts[row["concept"]].codes)]
    assert [concept for concept in by_code if f"own:{concept}" not in ends] == []


@pytest.mark.parametrize("ear", ["right", "left"])
@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["concept"])
def test_every_meaning_gets_the_code_of_its_ear(row: dict[str, str], ear: str) -> None:
    concept = FREE.concepts[row["concept"]]
    words = concept.words[0]
    wanted = (row[ear] or row["codes"] or " ".join(concept.codes)).removeprefix("sct:")
    got = codes(under(ear, concept.kind, words), words)
    assert got == [*([(SCT, wanted)] if wanted else []), (OWN, row["concept"])]
    other = {"right": "left", "left": "right"}[ear]
    assert not {SIDE[code] for system, code in got if system == SCT} & {other, "bilateral"}


def _unstated() -> list[Any]:
    """Words of each meaning that can be doubted, behind a word that doubts, denies or dates them."""
    found = []
    for row in ROWS:
        concept = FREE.concepts[row["concept"]]
        if FREE.kinds[concept.kind].assertable and concept.kind != "impression":
            for lead in ("?", "no ", "previous "):
                words = next((w for w in concept.words if (p := parse_phrase(lead + w)) and p.assertion), None)
                if words:
                    found.append(pytest.param(concept, lead + words, id=f"{concept.code}-{lead.strip()}"))
    return found


@pytest.mark.parametrize("ear", ["right", "left"])
@pytest.mark.parametrize(("concept", "words"), _unstated())
def test_what_is_not_stated_gets_the_own_code_alone(concept: Concept, words: str, ear: str) -> None:
    coded, _ = code_visit(under(ear, concept.kind, words), LICENSED)
    (found,) = [term for _, term in terms_of(coded) if term.text == words]
    assert found.assertion not in ("present", None)
    assert [(c.system, c.code) for c in found.codings] == [(OWN, concept.code)]


def test_a_doubted_impression_is_as_sure_as_with_the_free_codes() -> None:
    """Its certainty travels beside the code, and not in it."""
    coded, _ = code_visit(under("left", "impression", "?keratosis obturans"), LICENSED)
    ((_, found),) = terms_of(coded)
    assert found.assertion == "suspected"
    assert [c.code for c in found.codings] == ["1088971000119100", "keratosis-obturans"]


def test_both_ears_only_where_one_reason_names_both() -> None:
    visit = Visit.model_validate(
        _base() | {"reasons": ["bilateral tinnitus", "tinnitus", "right tinnitus"], "cautions": ["bilateral deafness"]}
    )
    assert codes(visit, "bilateral tinnitus")[0] == (SCT, "4831000119102")
    assert codes(visit, "tinnitus")[0] == codes(visit, "right tinnitus")[0] == (SCT, "60862001")
    assert codes(visit, "bilateral deafness")[0] == (SCT, "15188001")
    ears = Visit.model_validate(_base() | {ear: {"symptoms": ["tinnitus"]} for ear in ("right", "left")})
    coded, _ = code_visit(ears, LICENSED)
    assert [term.codings[0].code for _, term in terms_of(coded)] == ["60862001", "60862001"]


def test_free_maps_give_no_licensed_code() -> None:
    given = {name for concept in FREE.concepts.values() for name in concept.codes}
    assert not given & (licensed() | sided())
    assert codes(under("right", "symptom", "otalgia"), "otalgia", FREE)[0] == (SCT, "16001004")


def test_the_edition_is_told_only_where_the_practice_names_it() -> None:
    edition = "http://snomed.info/sct/900000000000207008/version/20260501"
    named = load_term_maps(licensed=True, version=edition)
    for maps, told in ((LICENSED, None), (named, edition)):
        coded, _ = code_visit(under("right", "symptom", "otalgia"), maps)
        ((_, found),) = terms_of(coded)
        assert [c.version for c in found.codings] == [told, None]


def test_a_word_of_the_practice_gets_the_finer_code_of_its_meaning(tmp_path: Path) -> None:
    maps = load_term_maps(folder(tmp_path, "symptom,symptom-pain,,stabby,,our clinic,1,"), licensed=True)
    assert codes(under("left", "symptom", "stabby"), "stabby", maps)[0] == (SCT, "1010233001")


LUMP = "canal,our-lump,a lump,our lump,sct:300131008,our clinic,1,"


def test_a_licensed_code_of_the_practice_needs_the_licensed_set(tmp_path: Path) -> None:
    own = folder(tmp_path, LUMP)
    with pytest.raises(MappingError, match=r"sct:300131008 of our-lump is not free"):
        load_term_maps(own)
    maps = load_term_maps(own, licensed=True)
    assert codes(under("left", "canal", "our lump"), "our lump", maps) == [(SCT, "300131008")]


@pytest.mark.parametrize("code", ["1010233001", "95820000"])
def test_a_word_of_the_practice_cannot_bring_an_ear_along(tmp_path: Path, code: str) -> None:
    own = folder(tmp_path, f"symptom,our-pain,a pain,our pain,sct:{code},our clinic,1,")
    with pytest.raises(MappingError, match="names an ear by itself"):
        load_term_maps(own, licensed=True)


def test_a_row_for_a_meaning_that_is_gone_is_refused() -> None:
    from bridge.coding.finer import load_finer

    with pytest.raises(MappingError, match="is no meaning of the term maps"):
        load_finer(FREE.concepts.keys() - {"exostoses"})


def test_a_part_of_the_ear_has_the_code_of_each_ear() -> None:
    for row in load_csv(table_path("ear-sites.csv")):
        for ear in ("right", "left"):
            assert row[ear] in licensed()
            assert SIDE[row[ear].removeprefix("sct:")] == ear


def test_the_files_say_whose_the_codes_are() -> None:
    for path in (*table_path("terms-licensed").glob("*.csv"), table_path("codes", "snomed-licensed.csv")):
        head = [line for line in path.read_text(encoding="utf-8").splitlines() if line.startswith("#")]
        assert "SNOMED International" in " ".join(head), path.name
        assert list(csv.reader(path.read_text(encoding="utf-8").splitlines()[len(head) :]))
