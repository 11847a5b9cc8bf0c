"""A practice's own words over the shipped ones."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.coding import load_term_maps, suggest
from bridge.errors import MappingError
from bridge.fhir.systems import SCT

HEAD = "kind,concept,label,words,codes,evidence,edition,note\n"


def folder(tmp_path: Path, *rows: str, head: str = HEAD) -> Path:
    (tmp_path / "terms").mkdir()
    (tmp_path / "terms" / "own.csv").write_text(head + "".join(f"{row}\n" for row in rows), encoding="utf-8")
    return tmp_path


def test_own_words_get_a_known_meaning(tmp_path: Path) -> None:
    maps = load_term_maps(folder(tmp_path, "wax-amount,wax-heavy,,Packed Solid|chocker,,our clinic,1,"))
    found = maps.find("wax-amount", "packed solid")
    assert found is not None
    assert found is maps.find("wax-amount", "+++")
    assert load_term_maps().find("wax-amount", "packed solid") is None


def test_own_words_win_over_shipped_ones(tmp_path: Path) -> None:
    maps = load_term_maps(folder(tmp_path, "wax-amount,wax-heavy,,full,,our clinic,1,"))
    shipped = load_term_maps().find("wax-amount", "full")
    mine = maps.find("wax-amount", "full")
    assert shipped is not None
    assert mine is not None
    assert (shipped.code, mine.code) == ("wax-occluding", "wax-heavy")


def test_a_meaning_of_ones_own_has_no_code_of_the_published_system(tmp_path: Path) -> None:
    maps = load_term_maps(folder(tmp_path, "contents,our-glitter,glitter,glitter,sct:75441006,our clinic,1,"))
    found = maps.find("contents", "glitter")
    assert found is not None
    assert [(c.system, c.code) for c in found.codings] == [(SCT, "75441006")]
    assert found.own_coding == ()


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        (["canal,our-x,x,xx,sct:123456,our clinic,1,"], "sct:123456"),
        (["nothing,our-x,x,xx,,our clinic,1,"], "no kind nothing"),
        (["wax-amount,wax-heavy,,xx,sct:18070006,our clinic,1,"], "other codes"),
        (["wax-amount,wax-heavy,,xx,,us,1,", "wax-amount,wax-small,,XX,,us,1,"], "two concepts"),
        (["wax-amount,wax-heavy,,xx|,,us,1,"], "empty word"),
    ],
)
def test_a_broken_row_is_told(tmp_path: Path, rows: list[str], told: str) -> None:
    with pytest.raises(MappingError) as error:
        load_term_maps(folder(tmp_path, *rows))
    assert told in error.value.message


def test_a_missing_column_is_told(tmp_path: Path) -> None:
    with pytest.raises(MappingError, match="lacks the column evidence"):
        load_term_maps(folder(tmp_path, "a,b,c,d,e", head="kind,concept,label,words,codes\n"))


def test_near_words_are_named_and_short_ones_never() -> None:
    maps = load_term_maps()
    assert "perforation" in suggest("drum", "perforration", maps) + suggest("drum", "perforasion", maps)
    assert suggest("wax-amount", "was", maps) == []
    assert suggest("no such kind", "perforation", maps) == []


@pytest.mark.parametrize(("kind", "text"), [("drum", "perfect"), ("finding-amount", "ligh"), ("symptom", "pian")])
def test_what_is_not_near_enough_is_not_named(kind: str, text: str) -> None:
    assert suggest(kind, text, load_term_maps()) == []
