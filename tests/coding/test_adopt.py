"""What a practice answers for its words: taken over, or refused with every reason at once. Cases: adoptions.yaml."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import yaml

from bridge.coding import TermMaps, load_term_maps
from bridge.coding.adopt import Adoption, adopt
from bridge.coding.adopted_file import add_rows
from bridge.coding.answers_sheet import Answer
from bridge.errors import MappingError
from bridge.issues import Report, Where
from bridge.phrases.tables import Qualifier, ambiguous, qualifiers, sides
from bridge.words_asked import HEADINGS

TODAY = date(2026, 5, 20)
CASES = yaml.safe_load((Path(__file__).parent / "adoptions.yaml").read_text(encoding="utf-8"))
COLUMNS = {name: at for at, name in enumerate(HEADINGS, 1)}


@pytest.fixture(scope="module")
def maps() -> TermMaps:
    return load_term_maps()


def answer(kind: str = "wax-amount", word: str = "zoggy", means: str = "heavy", row: int = 2, **said: str) -> Answer:
    decision = {"why": "all of us write it so", "who": "PS", "when": "2026-05-03", **said}
    return Answer(Where("words.csv", row=row), COLUMNS, said.pop("field", ""), kind, word, means, **decision)


def rules_of(done: Adoption) -> list[str]:
    return [one.rule for one in done.issues]


@pytest.mark.parametrize("case", CASES["taken"], ids=lambda c: f"{c['kind']}: {c['word']} = {c['means']}")
def test_an_answer_is_taken(case: dict[str, Any], maps: TermMaps, tmp_path: Path) -> None:
    done = adopt([answer(case["kind"], case["word"], case["means"])], maps, TODAY)
    assert rules_of(done) == []
    (row,) = done.rows
    assert row["concept"] == case["concept"]
    assert (row["decided_by"], row["decided_on"], row["why"]) == ("PS", "2026-05-03", "all of us write it so")
    add_rows(tmp_path, done.rows)
    own = load_term_maps(tmp_path)
    hit = own.find(case["kind"], case["word"])
    assert hit is not None
    assert hit.code == case["concept"]
    assert hit.published == (not case["concept"].startswith("own-"))
    again = adopt([answer(case["kind"], case["word"], case["means"])], own, TODAY)
    assert (again.rows, again.known, again.issues) == ([], 1, [])


@pytest.mark.parametrize("case", CASES["refused"], ids=lambda c: f"{c['kind']}: {c['word']} = {c['means']}")
def test_an_answer_is_refused(case: dict[str, Any], maps: TermMaps) -> None:
    done = adopt([answer(case["kind"], case["word"], case["means"])], maps, TODAY)
    assert rules_of(done) == case["rules"]
    assert done.rows == []


@pytest.mark.parametrize("means", ["perforation", "own word"])
@pytest.mark.parametrize("form", ["{} przf", "przf {}", "{}", "przf {} zibbly"])
@pytest.mark.parametrize("side", [s.word for s in sides()] + [a.word for a in ambiguous() if a.about == "side"])
def test_no_finding_gets_a_side_in_its_word(maps: TermMaps, side: str, form: str, means: str) -> None:
    done = adopt([answer("drum", form.format(side), means)], maps, TODAY)
    assert "M123" in rules_of(done)
    assert done.rows == []


DENIES = [q for q in qualifiers("drum") if q.assertion in ("absent", "suspected")]


@pytest.mark.parametrize("means", ["perforation", "own word"])
@pytest.mark.parametrize("said", DENIES, ids=lambda q: f"{q.position} {q.words}")
def test_no_denial_and_no_doubt_becomes_a_finding(maps: TermMaps, said: Qualifier, means: str) -> None:
    word = f"przf {said.words}" if said.position == "after" else f"{said.words} przf"
    done = adopt([answer("drum", word, means)], maps, TODAY)
    assert "M124" in rules_of(done)
    assert done.rows == []


@pytest.mark.parametrize(
    ("said", "by", "rules"),
    [
        ({"why": ""}, "", ["M121"]),
        ({"who": ""}, "", ["M121"]),
        ({"who": ""}, "JB", []),
        ({"when": "03/05/2026"}, "", ["M121"]),
        ({"when": "03/05/2026", "why": "", "who": ""}, "", ["M121", "M121", "M121"]),
        ({"when": "2026-05-21"}, "", ["M121"]),
        ({"when": "23/04/2026"}, "", []),
        ({"when": ""}, "", []),
    ],
)
def test_who_why_and_when(said: dict[str, str], by: str, rules: list[str], maps: TermMaps) -> None:
    assert rules_of(adopt([answer(**said)], maps, TODAY, by)) == rules  # type: ignore[arg-type]


def test_what_every_row_lacks_is_told_once_with_its_rows(maps: TermMaps) -> None:
    done = adopt([answer(word=f"zogg{n}", why="", row=n) for n in (2, 3, 4)], maps, TODAY)
    (group,) = Report(done.issues).by_cause()
    assert [(one.rule, one.where.row, one.where.heading) for one in group] == [("M121", n, "Why") for n in (2, 3, 4)]


def test_what_is_empty_is_filled_from_the_command(maps: TermMaps) -> None:
    one = answer(who="", when="")
    assert adopt([one], maps, TODAY, "JB").rows[0]["decided_on"] == "2026-05-20"
    row = adopt([one], maps, TODAY, "JB", date(2026, 5, 4)).rows[0]
    assert (row["decided_by"], row["decided_on"]) == ("JB", "2026-05-04")


def test_two_rows_that_say_the_same_are_one(maps: TermMaps) -> None:
    done = adopt([answer(), answer(word="Zoggy", means="wax-heavy", row=3)], maps, TODAY)
    assert (len(done.rows), done.known, done.issues) == (1, 1, [])


def test_two_rows_that_say_otherwise_are_named(maps: TermMaps) -> None:
    done = adopt([answer(), answer(word="Zoggy", means="impacted", row=7)], maps, TODAY)
    (told,) = done.issues
    assert (told.rule, told.where.row, told.where.heading) == ("M122", 7, "Means")
    assert "row 2" in told.message


def test_a_conflict_names_the_meaning_that_stands(maps: TermMaps) -> None:
    (told,) = adopt([answer("wax-amount", "heavy", "impacted")], maps, TODAY).issues
    assert "wax-heavy" in told.message


def test_a_field_may_be_named_by_its_label(maps: TermMaps) -> None:
    one = replace(answer(kind=""), field="Amount of wax")
    assert adopt([one], maps, TODAY).rows[0]["kind"] == "wax-amount"
    (told,) = adopt([replace(one, field="Amount of waxx")], maps, TODAY).issues
    assert told.rule == "M126"
    assert "amount of wax" in told.message


def test_labels_of_fields_are_told_apart(maps: TermMaps) -> None:
    assert len({kind.label.casefold() for kind in maps.kinds.values()}) == len(maps.kinds)


def test_near_meanings_are_named_and_never_taken(maps: TermMaps) -> None:
    done = adopt([answer("drum", "przf", "perforashun")], maps, TODAY)
    assert "perforation" in done.issues[0].message
    assert done.rows == []


def test_everything_wrong_is_told_at_its_cell(maps: TermMaps) -> None:
    done = adopt([answer(means="hevy", why="", who="", when="soon"), answer(row=3)], maps, TODAY)
    places = [(one.rule, one.where.row, one.where.column, one.where.heading) for one in done.issues]
    assert set(places) == {
        ("M120", 2, 7, "Means"), ("M121", 2, 8, "Why"), ("M121", 2, 9, "Who"), ("M121", 2, 10, "When"),
    }  # fmt: skip


def test_rows_are_added_below_what_is_there(tmp_path: Path, maps: TermMaps) -> None:
    path = add_rows(tmp_path, adopt([answer()], maps, TODAY).rows)
    kept = path.read_text(encoding="utf-8").rstrip("\n") + "\n# our own note"
    path.write_text(kept, encoding="utf-8")
    add_rows(tmp_path, adopt([answer(word="zuggy", why="=cmd")], maps, TODAY).rows)
    text = path.read_text(encoding="utf-8")
    assert text.startswith(kept + "\n")
    assert text.endswith(",PS,2026-05-03,'=cmd\n")
    assert load_term_maps(tmp_path).find("wax-amount", "zuggy") is not None


def test_a_table_without_its_columns_is_left_alone(tmp_path: Path, maps: TermMaps) -> None:
    (tmp_path / "terms").mkdir()
    path = tmp_path / "terms" / "adopted.csv"
    path.write_text("kind,concept,label,words,codes,evidence,edition,note\n", encoding="utf-8")
    with pytest.raises(MappingError, match="decided_by"):
        add_rows(tmp_path, adopt([answer()], maps, TODAY).rows)
    assert path.read_text(encoding="utf-8").count("\n") == 1


def test_a_huge_answer_is_refused_at_once(maps: TermMaps) -> None:
    done = adopt([answer(word="zoggy " * 150, means="heavy " * 150)], maps, TODAY)
    assert rules_of(done) == ["M126", "M120"]
    assert all(len(one.message) < 300 for one in done.issues)
