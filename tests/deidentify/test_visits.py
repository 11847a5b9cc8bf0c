"""Nothing of who it was about comes out: markers in every field that can hold words, in generated visits."""

from __future__ import annotations

import json
import random
from collections.abc import Callable, Iterator
from datetime import date
from functools import cache
from itertools import count
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from bridge.coding import TermMaps, code_visit, load_term_maps
from bridge.deidentified import Deidentified, deidentified, written
from bridge.deidentify import GONE, Wishes
from bridge.deidentify.wishes import Purpose
from bridge.read.visits import read_visits
from bridge.visit import Visit, terms_of
from tests import generate
from tests.deidentify.kinds import TYPES
from tests.fields import pattern, recorded

KEY = b"\x07" * 32


@cache
def maps() -> TermMaps:
    return load_term_maps()


@cache
def made(seed: int, number: int, fill: float) -> tuple[Visit, ...]:
    chance = random.Random(seed)
    return tuple(generate.visit(chance, fill) for _ in range(number))


def visits(seed: int, number: int = 4, fill: float = 0.6) -> list[Visit]:
    return [*made(seed, number, fill)]


def run(given: list[Visit], purpose: Purpose = "teaching", key: bytes = KEY, **wishes: Any) -> Deidentified:
    return deidentified(given, key, Wishes(purpose, **wishes), maps())


def contents(result: Deidentified, purpose: Purpose = "teaching") -> Iterator[bytes]:
    for form in ("yaml", "ndjson"):
        for piece in written(result, form, None, KEY, Wishes(purpose)):  # type: ignore[arg-type]
            yield piece.name.encode()
            yield piece.content


def marked(visit: Visit, mark: Callable[[], str], chance: random.Random) -> Visit:
    """The visit with a marker for all words that are not of a closed list, codes and their systems among them."""
    data = json.loads(visit.model_dump_json())
    for path, of in recorded(visit):
        steps = [int(s) if s.isdigit() else s for s in path.replace("[", ".").replace("]", "").split(".")]
        node: Any = data
        for step in steps[:-1]:
            node = node[step]
        held = node[steps[-1]]
        if isinstance(held, dict) and "text" in held:
            held["text"] = mark()
            held["codings"] = [_strange(coding, mark, chance) for coding in held["codings"]]
        elif of is str and not TYPES[pattern(path)][1] and path != "source_sha256":
            node[steps[-1]] = mark()
    return Visit.model_validate(data)


def _strange(coding: dict[str, Any], mark: Callable[[], str], chance: random.Random) -> dict[str, Any]:
    """A code of a clinic's own system, one of a known system with a name for a code, and a telling display."""
    return chance.choice(
        [
            {"system": f"https://{mark()}.example.org", "code": mark()},
            {"system": coding["system"], "code": mark()},
            {**coding, "display": mark(), "version": mark()},
        ]
    )


@pytest.mark.parametrize("purpose", ["teaching", "audit"])
@pytest.mark.parametrize("seed", range(10))
def test_no_word_of_a_record_comes_out(seed: int, purpose: Purpose) -> None:
    numbers = count()
    chance = random.Random(seed)
    given = [marked(visit, lambda: f"Quillon{next(numbers)}x", chance) for visit in visits(seed)]
    assert sum(visit.model_dump_json().count("Quillon") for visit in given) > 100
    result = run(given, purpose)
    assert len(result.visits) == len(given)
    for content in contents(result, purpose):
        assert b"Quillon" not in content
    assert "Quillon" not in str(result.issues)


@pytest.mark.parametrize("seed", range(10))
def test_what_comes_out_is_read_again_as_the_same_visits(seed: int, tmp_path: Path) -> None:
    result = run(visits(seed))
    for form in ("yaml", "ndjson"):
        for piece in written(result, form, None, KEY, Wishes("teaching")):  # type: ignore[arg-type]
            path = tmp_path / form / piece.name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(piece.content)
    again = [
        reading.visit
        for path in sorted((tmp_path / "yaml/visits").iterdir())
        for reading in read_visits(path, None, ZoneInfo("UTC"))
    ]
    lines = [reading.visit for reading in read_visits(tmp_path / "ndjson/visits.ndjson", None, ZoneInfo("UTC"))]
    for found in (again, lines):
        assert [v and v.model_copy(update={"source_sha256": None}) for v in found] == result.visits


@pytest.mark.parametrize("seed", range(10))
def test_what_is_no_word_stays(seed: int) -> None:
    """Numbers, answers of closed lists and known words of the trade are those of the record."""
    given = visits(seed)
    result = run(given)
    by_number = {_number(visit): visit for visit in result.visits}
    for before in given:
        after = by_number[_number(run([before]).visits[0])]
        for path, term in terms_of(before):
            kind = maps().kind_of(path)
            if kind and maps().find(kind.name, term.text) and " " not in term.text:
                assert dict(terms_of(after))[path] == term
        kept = {path for path, _ in recorded(after)}
        for path, of in recorded(before):
            if of in (int, bool) and not path.startswith(("client.", "practitioners")):
                assert path in kept


def _number(visit: Visit) -> tuple[str, int]:
    return visit.number, visit.version


def test_the_same_client_has_the_same_pseudonym_and_another_key_another() -> None:
    base = visits(1, 1)[0]
    three = [
        base.model_copy(update={"number": f"V{n}", "client": base.client.model_copy(update={"number": client})})
        for n, client in enumerate(("7", "7", "8"))
    ]
    found = {v.number: v.client.number for v in run(three).visits}
    assert len(found) == 3
    assert sorted(list(found.values()).count(who) for who in set(found.values())) == [1, 2]
    assert run(three).visits == run(three[::-1]).visits
    other = {v.client.number for v in run(three, key=b"\x08" * 32).visits}
    audit = {v.client.number for v in run(three, "audit").visits}
    assert not set(found.values()) & other
    assert not set(found.values()) & audit


def test_all_dates_of_a_client_move_alike() -> None:
    """Oracle: days between two dates, by datetime, over every pair of dates of two visits of one client."""
    for seed in range(8):
        pair = visits(seed, 2, 0.7)
        client = pair[0].client.model_copy(update={"number": "7", "birth_date": "1950-02-03"})
        given = [v.model_copy(update={"number": f"V{n}", "client": client}) for n, v in enumerate(pair)]
        after = {run([v]).visits[0].number: v for v in given}
        shifts = set()
        for now in run(given).visits:
            before = dict(_days(after[now.number]))
            for path, day in _days(now):
                shifts.add((before[path] - day).days)
        assert len(shifts) <= 1
        assert all(shift > 0 and shift % 7 == 0 for shift in shifts)


def _days(visit: Visit) -> Iterator[tuple[str, date]]:
    for path, _ in recorded(visit):
        if not TYPES[pattern(path)][1] or path == "client.birth_date":
            continue
        node: Any = visit.model_dump()
        for step in path.replace("[", ".").replace("]", "").split("."):
            node = node[int(step)] if step.isdigit() else node[step]
        if len(node) == 10:
            yield path, date.fromisoformat(node)


def _born(year: str | None, start: str) -> Visit:
    base = visits(3, 1, 0.2)[0]
    client = base.client.model_copy(update={"birth_date": year, "number": "9"})
    return base.model_copy(
        update={"client": client, "start": start, "end": None, "recorded_at": start, "number": start}
    )


def test_the_birth_date_is_a_year_and_over_89_none() -> None:
    (young,) = run([_born("1950-06-07", "2026-11-03T10:15+00:00")], "audit", dates="year").visits
    assert young.client.birth_date == "1950"
    assert young.start == "2026"
    for born, start in (("1936-12-31", "2026-11-03"), ("1930", "2026-01-01"), ("1925-01", "2026-01-01")):
        result = run([_born(born, start)])
        assert result.visits[0].client.birth_date is None
        assert "D246" in {found.rule for found in result.issues}
    (at_89,) = run([_born("1937-01-01", "2026-11-03")], "audit", dates="year").visits
    assert at_89.client.birth_date == "1937"


def test_over_89_at_one_visit_is_no_birth_year_at_any() -> None:
    result = run([_born("1930-01-01", "2019-05-03"), _born("1930-01-01", "2026-05-03")])
    assert [visit.client.birth_date for visit in result.visits] == [None, None]


def test_years_alone() -> None:
    for seed in range(10):
        for visit in run(visits(seed), "audit", dates="year").visits:
            for path, _ in recorded(visit):
                if TYPES[pattern(path)][1]:
                    node: Any = visit.model_dump()
                    for step in path.replace("[", ".").replace("]", "").split("."):
                        node = node[int(step)] if step.isdigit() else node[step]
                    assert len(node) == 4


@pytest.mark.parametrize(
    ("text", "stays"),
    [
        ("perforation", True),
        ("?perforation", True),
        ("no perforation", True),
        ("old perforation", True),
        ("perforation, says Dr Quillon", False),
        ("perforation (Quillon)", False),
        ("Quillon perforation", False),
        ("perforation 07700 900123", False),
        ("clarty", False),
    ],
)
def test_words_of_the_tables_stay_and_no_others(text: str, stays: bool) -> None:
    data = {
        "number": "V1",
        "client": {"legal_name": {"family": "Sample"}},
        "start": "2026-01-01",
        "right": {"before": {"drum": [text]}},
    }
    visit = code_visit(Visit.model_validate(data), maps())[0]
    (found,) = [term for path, term in terms_of(run([visit]).visits[0]) if path == "right.before.drum.findings[0].term"]
    assert found.text == (text if stays else GONE)


def test_a_name_that_is_a_word_of_the_trade_stays_a_word_of_the_trade() -> None:
    """Brown wax of a client called Brown: the colour is what the table knows."""
    data = {
        "number": "V1",
        "client": {"legal_name": {"family": "Brown"}},
        "start": "2026-01-01",
        "right": {"before": {"wax": {"amount": "heavy", "colour": ["brown"]}}, "note": "Mr Brown came by bus"},
    }
    visit = code_visit(Visit.model_validate(data), maps())[0]
    (after,) = run([visit]).visits
    assert dict(terms_of(after))["right.before.wax.colour[0]"].text == "brown"
    assert after.right is not None
    assert after.right.note is None
    assert after.client.legal_name.family == after.client.number


def test_small_cells_are_counted_over_clients() -> None:
    """Six visits of one client are one client: by hand, 1 of 1 with fewer than 5."""
    base = _born("1950", "2026-01-01")
    six = [base.model_copy(update={"number": f"V{n}"}) for n in range(6)]
    (ages, *_) = run(six).cells
    assert (ages.all, ages.small, ages.least, ages.clients) == (1, 1, 1, 1)
    five = [
        base.model_copy(update={"number": f"V{n}", "client": base.client.model_copy(update={"number": str(n)})})
        for n in range(5)
    ]
    assert all(cells.what != ("age band", "sex") for cells in run(five, "audit", dates="year").cells)
    (ages, *_) = run(five, "audit", dates="year", small=6).cells
    assert (ages.all, ages.small, ages.least, ages.clients) == (1, 1, 5, 5)


def test_a_date_before_all_calendars_is_told_and_nothing_else_lost() -> None:
    result = run([_born("1950", "0001-01-01"), _born("1950", "2026-01-01")])
    assert len(result.visits) == 1
    assert [found.rule for found in result.issues if found.rule == "D244"] == ["D244"]


def test_a_record_given_twice_is_written_once_and_another_of_its_number_told() -> None:
    first = _born("1950", "2026-01-01")
    other = first.model_copy(update={"attendance": "did not attend"})
    same = run([first, first])
    assert (len(same.visits), [i for i in same.issues if i.rule == "D247"]) == (1, [])
    differing = run([first, other])
    assert differing.visits == run([first]).visits
    assert [i.rule for i in differing.issues if i.rule == "D247"] == ["D247"]
    newer = other.model_copy(update={"version": first.version + 1, "replaces": first.version})
    assert [v.version for v in run([newer, first]).visits] == [first.version, first.version + 1]
