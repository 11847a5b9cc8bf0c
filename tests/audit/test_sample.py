"""The sample is random, repeatable and blind. What may not show is read from the raw demo records."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections import Counter
from functools import cache
from hashlib import sha256
from pathlib import Path

import openpyxl
import pytest

from bridge.audit.sample import Drawn, Thing, draw, key_of, read_key, written_key
from bridge.audit.shapes import Entry, Item
from bridge.audited import entries
from bridge.audited_sample import Sampled, choices_of, sample
from bridge.cli.audit.sample import _told
from bridge.coding import fold, load_term_maps
from bridge.errors import InputError
from bridge.marking.recoding_book import recoding_book
from bridge.pipeline import Converter
from bridge.practice import load_practice
from bridge.recoding import CANNOT_TELL, HEADINGS, LINES, MEANINGS, NONE_FITS, RecodingSheet

DEMO = Path(__file__).parents[2] / "mappings" / "demo"
SOURCES = [DEMO / "visits-2026.csv", DEMO / "ears-2026.csv"]


def converter() -> Converter:
    practice, issues = load_practice(DEMO)
    assert practice is not None
    return Converter(practice, DEMO, issues)


def read_anew(number: int, sources: list[Path]) -> Sampled:
    made = converter()
    return sample(entries(sources, made), made.maps, number, "may")


@cache
def met() -> tuple[Entry, ...]:
    return tuple(entries(SOURCES, converter()))


def sampled(number: int = 40, seed: str = "may") -> Sampled:
    return sample(met(), load_term_maps(), number, seed)


def things(count: int, who: str = "", kind: str = "wax-amount") -> list[Thing]:
    return [
        Thing(Entry(f"V{at}", "2026-05", who), Item("right.before.wax.amount", "wax.amount", "heavy"), kind)
        for at in range(count)
    ]


def numbers(drawn: Drawn) -> list[str]:
    return [thing.entry.number for thing in drawn.things]


def test_the_same_records_and_seed_give_the_same_bytes() -> None:
    one, two = read_anew(40, SOURCES), sampled()
    assert recoding_book(one.sheet) == recoding_book(two.sheet)
    assert written_key(one.key) == written_key(two.key)


def test_another_seed_draws_others_and_the_order_of_sources_changes_nothing() -> None:
    words = [(line.record, line.path) for line in sampled().key.lines]
    assert [(line.record, line.path) for line in read_anew(40, SOURCES[::-1]).key.lines] == words
    assert [(line.record, line.path) for line in sampled(seed="june").key.lines] != words


def test_the_ranks_are_those_that_the_docstring_promises() -> None:
    """SHA-256 of seed, number, version, path and words, worked here anew, so that no later Python may draw others."""
    ranks = {f"V{at}": sha256(f"s\0V{at}\0\0right.before.wax.amount\0heavy".encode()).digest() for at in range(50)}
    assert numbers(draw(things(50), 5, "s")) == sorted(ranks, key=ranks.__getitem__)[:5]


def test_every_thing_is_as_likely_as_any_other() -> None:
    """10 of 50 over 500 seeds: each is expected 100 times, with a standard deviation of 9."""
    counts = Counter(number for seed in range(500) for number in numbers(draw(things(50), 10, str(seed))))
    assert len(counts) == 50
    assert min(counts.values()) > 100 - 5 * 9
    assert max(counts.values()) < 100 + 5 * 9


def test_a_spread_sample_has_as_many_of_each_group_as_far_as_they_reach() -> None:
    drawn = draw([*things(100, "A"), *things(3, "B"), *things(50, "C")], 21, "s", "practitioner")
    assert Counter(thing.entry.practitioner for thing in drawn.things) == {"A": 9, "B": 3, "C": 9}
    assert drawn.groups == {"A": 100, "B": 3, "C": 50}
    assert [t.entry.practitioner for t in drawn.things] != sorted(t.entry.practitioner for t in drawn.things)


def test_a_spread_sample_stands_in_the_order_of_its_ranks_and_not_of_its_groups() -> None:
    def rank(thing: Thing) -> bytes:
        return sha256(f"s\0{thing.entry.number}\0\0{thing.item.path}\0{thing.item.text}".encode()).digest()

    drawn = draw([*things(40, "A"), *things(3, "B")], 12, "s", "practitioner")
    assert [rank(thing) for thing in drawn.things] == sorted(rank(thing) for thing in drawn.things)


def test_fewer_things_than_lines_are_all_drawn_once() -> None:
    drawn = draw(things(7), 40, "s")
    assert sorted(numbers(drawn)) == [f"V{at}" for at in range(7)]
    assert drawn.of == 7


def test_too_many_groups_are_told() -> None:
    many = [thing for at in range(600) for thing in things(1, f"P{at}")]
    drawn = draw(many, 10, "s", "practitioner")
    assert (drawn.too_many_groups, len(drawn.groups), len(drawn.things)) == (True, 501, 10)
    few, told = draw(many[:400], 10, "s", "practitioner"), "That is the most that are kept apart"
    for one, said in ((drawn, True), (few, False)):
        kinds = {thing.kind for thing in one.things}
        key = key_of(one, "s", "practitioner", dict.fromkeys(kinds, ()), dict.fromkeys(kinds, ("Field", False)))
        done = Sampled(RecodingSheet("", (), {}), key, one, 0)
        lines = " ".join(_told(done, 10, "practitioner", Path("a.xlsx"), Path("a.key.json")))
        assert (told in lines) is said


def cells(book: bytes) -> dict[str, list[list[str]]]:
    opened = openpyxl.load_workbook(io.BytesIO(book))
    return {
        sheet.title: [[str(c) if c is not None else "" for c in row] for row in sheet.iter_rows(values_only=True)]
        for sheet in opened
    }


def test_the_sheet_is_blind() -> None:
    """No code, no practitioner, no visit, no client: by the raw records, whose columns are known here by hand."""
    made = sampled(200)
    told = "\n".join(cell for rows in cells(recoding_book(made.sheet)).values() for row in rows for cell in row)
    raw = "\n".join(path.read_text(encoding="utf-8") for path in SOURCES)
    assert re.findall(r"M26-\d{4}", raw)
    assert not re.findall(r"M26-\d{4}", told)
    identifiers = set(re.findall(r"999[ -]?\d{3}[ -]?\d{4}", raw))
    assert identifiers
    assert not any(number in told for number in identifiers)
    assert not re.findall(r"\b\d{6,18}\b", told)
    assert not re.findall(r"\b(19|20)\d\d-\d\d-\d\d\b", told)
    names = {"Sandholt", "Bexwell"} | {line.practitioner for line in made.key.lines if line.practitioner}
    assert not any(re.search(rf"\b{re.escape(name)}\b", told) for name in names)
    with zipfile.ZipFile(io.BytesIO(recoding_book(made.sheet))) as packed:
        parts = b"".join(packed.read(name) for name in packed.namelist())
    assert b"M26-" not in parts
    assert not any(name.encode() in parts for name in names)
    answers = [row[4:] for row in cells(recoding_book(made.sheet))[LINES][1:]]
    assert len(answers) == 200
    assert not any(any(row) for row in answers)


def test_words_that_may_tell_who_somebody_is_are_never_drawn(tmp_path: Path) -> None:
    rows = list(csv.reader(SOURCES[0].read_text(encoding="utf-8").splitlines()))
    surname = rows[3][rows[0].index("Surname")]
    rows[3][rows[0].index("R wax")] = f"heavy says {surname}"
    changed = tmp_path / SOURCES[0].name
    with changed.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows(rows)
    made = read_anew(5_000, [changed])
    assert made.left_out > 0
    assert not any(surname in line.words for line in made.key.lines)


def test_the_workbook_runs_nothing_and_locks_nothing() -> None:
    item = Item("right.before.wax.amount", "wax.amount", "=HYPERLINK(1)", side="right")
    made = sample([Entry("V1", items=(item,))], load_term_maps(), 5, "s")
    assert made.left_out == 1  # nobody's names are known there, so only words of the trade go out
    book = recoding_book(sampled(20).sheet)
    with zipfile.ZipFile(io.BytesIO(book)) as packed:
        assert not any("vba" in name or "macro" in name.casefold() for name in packed.namelist())
        parts = b"".join(packed.read(name) for name in packed.namelist() if name.startswith("xl/worksheets/"))
    assert b"<f>" not in parts
    assert b"sheetProtection" not in parts


def test_each_line_offers_the_meanings_of_its_own_kind_and_two_ways_out() -> None:
    made = sampled(60)
    book = openpyxl.load_workbook(io.BytesIO(recoding_book(made.sheet)))
    lists = {}
    for validation in book[LINES].data_validations.dataValidation:
        if found := re.fullmatch(rf"'{MEANINGS}'!\$B\$(\d+):\$B\$(\d+)", validation.formula1):
            options = [book[MEANINGS].cell(row, 2).value for row in range(int(found[1]), int(found[2]) + 1)]
            lists.update({row: options for cells in validation.sqref.ranges for (row, _) in cells.cells})
    assert HEADINGS.index("Meaning") == 4
    for row, asked in enumerate(made.sheet.lines, 2):
        assert lists[row] == [*(c.shown for c in made.sheet.choices[asked.kind]), NONE_FITS, CANNOT_TELL]


def test_no_line_can_be_looked_up_among_the_usual_words() -> None:
    made = sampled(200)
    book = recoding_book(made.sheet)
    fields = {line.kind: line.field for line in made.sheet.lines}
    beside: dict[str, set[str]] = {}
    for field, _, words in cells(book)[MEANINGS][1:]:
        beside.setdefault(field, set()).update(fold(word) for word in words.split(", ") if word)
    assert sum(map(len, beside.values())) > 200, "other words are still shown"
    for line in made.sheet.lines:
        assert fold(line.words) not in beside[fields[line.kind]]
    maps = load_term_maps()
    usual = {word for choice in choices_of(maps, "drum") for word in choice.words}
    left = {word for choice in choices_of(maps, "drum", ["?perforation, left"]) for word in choice.words}
    assert "perforation" in usual - left


def test_no_two_choices_of_a_kind_look_the_same() -> None:
    maps = load_term_maps()
    for kind in maps.kinds:
        shown = [fold(choice.shown) for choice in choices_of(maps, kind)]
        assert len(shown) == len(set(shown)), kind
        assert not {fold(NONE_FITS), fold(CANNOT_TELL)}.intersection(shown)
        reachable = {c.code for c in maps.concepts.values() if c.kind in (kind, *maps.kinds[kind].also)}
        assert {choice.concept for choice in choices_of(maps, kind)} == reachable, kind


def test_a_code_of_one_ear_is_a_code_of_its_meaning() -> None:
    """By the licensed table itself: every code in a column of an ear is among those of its concept."""
    table = Path(__file__).parents[2] / "mappings" / "terms-licensed"
    rows = [row for path in table.glob("*.csv") for row in csv.DictReader(no_notes(path))]
    sided = {(row["concept"], code.partition(":")[2]) for row in rows for code in row["left"].split()}
    assert sided
    maps = load_term_maps(licensed=True)
    found = {(c.concept, code) for kind in maps.kinds for c in choices_of(maps, kind) for _, code in c.codes}
    assert sided <= found


def no_notes(path: Path) -> list[str]:
    return [line for line in path.read_text(encoding="utf-8").splitlines() if line and not line.startswith("#")]


def test_the_key_comes_back_and_a_changed_one_is_refused(tmp_path: Path) -> None:
    made = sampled(10)
    path = tmp_path / "again.key.json"
    path.write_bytes(written_key(made.key))
    assert read_key(path) == made.key
    text = path.read_text(encoding="utf-8")
    first = made.key.lines[0]
    for one, other in (
        (first.record, "M26-9999"),
        (f'"of": {made.key.of}', '"of": 1'),
        ('"seed": "may"', '"seed": "june"'),
    ):
        assert one in text
        path.write_text(text.replace(one, other, 1), encoding="utf-8")
        with pytest.raises(InputError, match="was changed"):
            read_key(path)


@pytest.mark.parametrize("content", ["", "[]", "{}", "[" * 100_000, '{"what": "else"}', "\udcff", '{"lines": 5}'])
def test_what_is_no_key_is_refused(content: str, tmp_path: Path) -> None:
    path = tmp_path / "x.key.json"
    path.write_bytes(content.encode("utf-8", "surrogateescape"))
    with pytest.raises(InputError, match="no key of a re-coding sheet"):
        read_key(path)
