"""The trade's words, from the cell to the coded visit, against tables of cases that were written apart from the maps.

`words/*.csv`: what people of the trade write, and what it means. `words/refused.csv`: what could be read in two ways or
wrongly, and `words/sentences.csv`: cells of several statements; both with what becomes of each.
"""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path

import pytest

from bridge.coding import TermMaps, load_term_maps
from bridge.data import load_csv
from bridge.issues import Severity, rules
from tests.coding.words_told import Told, told

FOLDER = Path(__file__).parent / "words"
ASKED = ("refused", "sentences")
KNOWN = [row for path in sorted(FOLDER.glob("*.csv")) if path.stem not in ASKED for row in load_csv(path)]
REFUSED = [row for name in ASKED for row in load_csv(FOLDER / f"{name}.csv")]


@pytest.fixture(scope="module")
def maps() -> TermMaps:
    return load_term_maps()


def by_field(rows: list[dict[str, str]]) -> dict[str, list[dict[str, str]]]:
    found: dict[str, list[dict[str, str]]] = defaultdict(list)
    for row in rows:
        found[row["field"]].append(row)
    return found


def test_the_tables_are_as_large_as_they_are_said_to_be() -> None:
    assert len({(row["kind"], row["written"]) for row in KNOWN}) == len(KNOWN) >= 1500
    assert len({row["written"].casefold() for row in KNOWN}) >= 1300
    assert len({(row["field"], row["written"]) for row in REFUSED}) == len(REFUSED) >= 400
    assert len([row for row in KNOWN if row["amount"]]) >= 30
    assert {row["assertion"] for row in KNOWN} == {"", "absent", "suspected", "past"}


@pytest.mark.parametrize(("field", "rows"), by_field(KNOWN).items())
def test_what_the_trade_writes_is_known(field: str, rows: list[dict[str, str]], maps: TermMaps, tmp_path: Path) -> None:
    wrong = []
    for row, cell in zip(rows, told(tmp_path, maps, field, [row["written"] for row in rows]), strict=True):
        meant = [(fact.concept, fact.assertion, fact.amount) for fact in cell.facts]
        stated = row["assertion"] or ("present" if maps.kinds[row["kind"]].assertable else "")
        told_of = [rule for rule in cell.rules if rules()[rule].severity >= Severity.warning and rule != "M111"]
        if meant != [(row["concept"], stated, row["amount"])] or told_of or cell.notes:
            wrong.append((row["written"], row["concept"], cell))
    assert wrong == []


def kept(cell: Told) -> str:
    if not cell.read:
        return "refused"
    facts = [" ".join(filter(None, (f.ear, f.concept or "words", f.assertion))) for f in cell.facts]
    facts += [f"answer {answer}" for answer in cell.answers] + (["note"] if cell.notes else [])
    return " + ".join(facts) or "seen"


@pytest.mark.parametrize(("field", "rows"), by_field(REFUSED).items())
def test_what_could_be_read_wrongly_is_not(
    field: str, rows: list[dict[str, str]], maps: TermMaps, tmp_path: Path
) -> None:
    wrong = []
    for row, cell in zip(rows, told(tmp_path, maps, field, [row["written"] for row in rows]), strict=True):
        if (kept(cell), " ".join(cell.rules)) != (row["kept"], row["rules"]):
            wrong.append((row["written"], kept(cell), cell.rules))
        if "note" in row["kept"] and cell.facts == ():
            assert all(note.endswith(row["written"]) for note in cell.notes)
        if "words" in row["kept"].split() and " + " not in row["kept"]:
            assert cell.facts[0].text in row["written"]
    assert wrong == []
