"""A practice's own terms: a slip in a concept's name is told, never taken for a meaning of its own."""

from pathlib import Path

import pytest

from bridge.coding import load_term_maps
from bridge.errors import MappingError

HEAD = "kind,concept,label,words,codes,evidence,edition,note\n"


def own(folder: Path, row: str) -> Path:
    (folder / "terms").mkdir()
    (folder / "terms" / "ours.csv").write_text(HEAD + row + "\n", encoding="utf-8")
    return folder


def test_a_word_for_a_known_meaning_is_taken(tmp_path: Path) -> None:
    maps = load_term_maps(own(tmp_path, "wax-amount,wax-heavy,,packed solid,,our clinic,2026-11,"))
    found = maps.find("wax-amount", "Packed solid")
    assert found is not None
    assert found.code == "wax-heavy"


def test_a_mistyped_meaning_is_told_with_the_nearest(tmp_path: Path) -> None:
    with pytest.raises(MappingError, match=r"no concept wax-hevy.*wax-heavy"):
        load_term_maps(own(tmp_path, "wax-amount,wax-hevy,,packed solid,,our clinic,2026-11,"))


def test_a_meaning_of_ones_own_needs_a_label(tmp_path: Path) -> None:
    maps = load_term_maps(own(tmp_path, "wax-amount,our-wax,packed solid,packed solid,,our clinic,2026-11,"))
    assert maps.find("wax-amount", "packed solid") is not None
