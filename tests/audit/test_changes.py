"""Two editions over the same records: what a word becomes stands in tests/cases/A23*.yaml, with editions by hand."""

from __future__ import annotations

import csv
import json
import shutil
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import CliRunner, Result

from bridge.audit.changes import STATES, Changed
from bridge.audited_changes import changed
from bridge.cli import main
from bridge.coding.edition import Edition, load_edition
from bridge.errors import BridgeError
from bridge.pipeline import Converter
from bridge.practice import load_practice

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "mappings" / "demo"
CASES = ROOT / "tests" / "cases"
STATE_RULES = ("A230", "A231", "A232", "A233", "A234", "A235")
COLUMNS = ("kind", "concept", "label", "words", "codes", "evidence", "edition", "note")
KINDS = """\
kind,label,assertable,open,fields,also
wax-amount,amount of wax,no,no,wax.amount,
impression,impression,yes,no,impressions.term,
"""


def edition(folder: Path, rows: list[list[str]], banned: list[str] = (), withdrawn: list[list[str]] = ()) -> Edition:  # type: ignore[assignment]
    (folder / "terms").mkdir(parents=True)
    (folder / "terms" / "kinds.csv").write_text(KINDS, encoding="utf-8")
    with (folder / "terms" / "some.csv").open("w", encoding="utf-8", newline="") as stream:
        table = csv.writer(stream)
        table.writerow(COLUMNS)
        for kind, concept, words, codes, *note in rows:
            table.writerow([kind, concept, concept, words, codes, "made for a test", "x", *(note or [""])])
    with (folder / "not-for-writing.csv").open("w", encoding="utf-8", newline="") as stream:
        table = csv.writer(stream)
        table.writerow(["code", "about"])
        table.writerows([code, "any"] for code in banned)
    with (folder / "terms-withdrawn.csv").open("w", encoding="utf-8", newline="") as stream:
        table = csv.writer(stream)
        table.writerow(["kind", "word", "concept", "code", "since", "why"])
        table.writerows(withdrawn)
    return load_edition(str(folder))


def record(folder: Path, number: str = "V1", *, both_ears: bool = False, **fields: str) -> Path:
    ear: dict[str, Any] = {}
    if "wax" in fields:
        ear["before"] = {"wax": {"amount": fields["wax"]}}
    if "impression" in fields:
        ear["impressions"] = [fields["impression"]]
    visit = {
        "number": number,
        "client": {"number": "C1", "legal_name": {"family": "Ashdown", "given": ["Mira"]}, "birth_date": "1960-05-01"},
        "start": "2026-05-03T10:15+01:00",
        "right": ear,
        **({"left": deepcopy(ear)} if both_ears else {}),
    }
    path = folder / f"{number}.yaml"
    path.write_text(yaml.safe_dump(visit), encoding="utf-8")
    return path


def compared(old: Edition | None, new: Edition, *sources: Path) -> Changed:
    practice, issues = load_practice(DEMO)
    assert practice is not None
    return changed(Converter(practice, DEMO, issues), old, new, sources)


def of_case(case: dict[str, Any], folder: Path) -> Changed:
    shutil.rmtree(folder, ignore_errors=True)
    old = edition(folder / "old", case["old"])
    new = edition(folder / "new", case["new"], case.get("banned", []), case.get("withdrawn", []))
    words = {name: case[name] for name in ("wax", "impression") if name in case}
    return compared(old, new, record(folder, **words))


@pytest.mark.parametrize("code", STATE_RULES)
def test_cases(code: str, tmp_path: Path) -> None:
    cases = yaml.safe_load((CASES / f"{code}.yaml").read_text(encoding="utf-8"))
    for case in cases["passes"]:
        assert code not in {i.rule for i in of_case(case, tmp_path / "c").issues}, case
    for case in cases["fails"]:
        found = of_case(case, tmp_path / "c")
        assert {i.rule for i in found.issues} == {code}, (case, found.issues)
        assert sum(found.records.values()) == 1
        assert found.records["same"] == 0


def test_a_record_is_what_asks_most_for_a_look_among_its_words(tmp_path: Path) -> None:
    old = edition(tmp_path / "old", [["wax-amount", "wax-seen", "full", ""], ["impression", "a", "blocked", ""]])
    new = edition(tmp_path / "new", [["wax-amount", "wax-heavy", "full", ""], ["impression", "b", "blocked", ""]])
    both = record(tmp_path, "V1", wax="full", impression="blocked")
    one = record(tmp_path, "V2", wax="full")
    none = record(tmp_path, "V3", wax="odd")
    found = compared(old, new, both, one, none)
    assert {state: count for state, count in found.records.items() if count} == {"same": 1, "finer": 1, "different": 1}
    assert {state: count for state, count in found.uses.items() if count} == {"same": 1, "finer": 2, "different": 1}
    assert found.numbers == {"different": ("V1",), "finer": ("V2",)}
    assert [(t.words, t.state, t.uses, t.records) for t in found.terms] == [
        ("blocked", "different", 1, 1),
        ("full", "finer", 2, 2),
    ]
    assert list(found.records) == list(STATES)


def test_one_record_is_counted_once_however_often_it_uses_words(tmp_path: Path) -> None:
    old = edition(tmp_path / "old", [["wax-amount", "wax-seen", "full", ""]])
    new = edition(tmp_path / "new", [["wax-amount", "wax-heavy", "full", ""]])
    found = compared(old, new, record(tmp_path, both_ears=True, wax="full"), record(tmp_path, "V2", wax="full"))
    assert [(term.uses, term.records) for term in found.terms] == [(3, 2)]
    assert "3 times in 2 records" in found.issues[0].message


def test_an_edition_beside_itself_changes_nothing() -> None:
    found = compared(load_edition("shipped"), load_edition(str(ROOT / "mappings")), DEMO / "visits-2026.csv")
    assert found.records["same"] == sum(found.records.values()) > 5
    assert found.uses["same"] == sum(found.uses.values()) > 100
    assert {one.rule for one in found.issues} == {"A194"}  # M26-0101 stands there in two versions


def test_words_of_a_client_are_counted_and_not_shown(tmp_path: Path) -> None:
    words = "heavy Ashdown"
    old = edition(tmp_path / "old", [["wax-amount", "wax-heavy", f"heavy|{words}", ""]])
    new = edition(tmp_path / "new", [["wax-amount", "wax-heavy", "heavy", ""]])
    found = compared(old, new, record(tmp_path, wax=words))
    assert found.uses["no longer coded"] == 1
    assert found.terms[0].words == ""
    assert "ashdown" not in str(found).casefold()


def test_a_practice_folder_lies_over_what_is_shipped(tmp_path: Path) -> None:
    own = tmp_path / "practice"
    (own / "terms").mkdir(parents=True)
    row = "wax-amount,wax-occluding,filling the canal,chocka,,decided by the practice,2026-05-03,"
    (own / "terms" / "adopted.csv").write_text(f"{','.join(COLUMNS)}\n{row}\n", encoding="utf-8")
    found = compared(load_edition("shipped"), load_edition(str(own)), record(tmp_path, wax="chocka"))
    assert [(t.words, t.state) for t in found.terms] == [("chocka", "coded now")]


@pytest.mark.parametrize(
    ("file", "text"),
    [
        ("kinds.csv", "kind,label\nwax-amount,x\n"),
        ("kinds.csv", KINDS.replace("impressions.term,", "impressions.term,nothing")),
        ("some.csv", "kind,concept\nwax-amount,x\n"),
        ("some.csv", f"{','.join(COLUMNS)}\nnothing,a,a,w,,e,x,\n"),
        ("some.csv", f"{','.join(COLUMNS)}\nwax-amount,a,a,w,,e,x,\nwax-amount,b,b,w,,e,x,\n"),
        ("some.csv", f"{','.join(COLUMNS)}\nwax-amount,a,a,w,nowhere:1,e,x,\n"),
    ],
)
def test_a_table_that_breaks_its_form_is_refused(file: str, text: str, tmp_path: Path) -> None:
    edition(tmp_path / "old", [])
    (tmp_path / "old" / "terms" / file).write_text(text, encoding="utf-8")
    with pytest.raises(BridgeError):
        compared(load_edition(str(tmp_path / "old")), load_edition("shipped"), record(tmp_path, wax="w"))


def test_a_folder_without_term_maps_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BridgeError, match="holds no term maps"):
        load_edition(str(tmp_path))


def demo_bundles(*numbers: str) -> list[Path]:
    return [path for number in numbers for path in sorted((ROOT / "demo_bundles").glob(f"{number}.bundle.json"))]


def test_documents_read_again_as_they_were_sent() -> None:
    """Suspected impressions among them, which the region sends in words only (M26-0105, M26-0110)."""
    sources = demo_bundles("M26-0101", "M26-0105", "M26-0110")
    assert len(sources) == 3
    found = compared(None, load_edition("shipped"), *sources)
    assert found.records["same"] == 3
    assert found.uses["same"] == sum(found.uses.values()) > 30


def test_what_was_sent_with_a_code_that_is_banned_now_is_named(tmp_path: Path) -> None:
    """Wax of M26-0101 went out as 271739002, by the bundle itself."""
    source = demo_bundles("M26-0101")[0]
    assert '"271739002"' in source.read_text(encoding="utf-8")
    shutil.copytree(ROOT / "mappings" / "terms", tmp_path / "new" / "terms")
    wax = tmp_path / "new" / "terms" / "wax.csv"
    wax.write_text(wax.read_text(encoding="utf-8").replace("sct:271739002", ""), encoding="utf-8")
    (tmp_path / "new" / "not-for-writing.csv").write_text("code,about\n271739002,any\n", encoding="utf-8")
    found = compared(None, load_edition(str(tmp_path / "new")), source)
    assert found.records["was wrong"] == 1
    assert found.numbers["was wrong"] == ("M26-0101",)
    assert {term.kind for term in found.terms} == {"wax-amount"}
    assert found.terms[0].places[0].file == source.name


def test_records_are_not_held_against_what_was_sent(tmp_path: Path) -> None:
    with pytest.raises(BridgeError, match="holds records"):
        compared(None, load_edition("shipped"), record(tmp_path, wax="heavy"))


def test_a_document_of_another_maker_is_in_no_count(tmp_path: Path) -> None:
    foreign = tmp_path / "foreign.json"
    foreign.write_text('{"resourceType": "Bundle", "type": "collection", "entry": []}', encoding="utf-8")
    found = compared(None, load_edition("shipped"), foreign)
    assert found.unread == 1
    assert not sum(found.records.values())


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(main, ["audit", "changes", *map(str, words), "--practice", str(DEMO)])


def test_the_command_tells_text_json_and_csv(tmp_path: Path) -> None:
    edition(tmp_path / "old", [["wax-amount", "wax-heavy", "full", "sct:1910005"]])
    edition(tmp_path / "new", [["wax-amount", "wax-heavy", "full", ""]], ["1910005"])
    source = record(tmp_path, wax="full")
    text = run(tmp_path / "old", tmp_path / "new", source)
    assert text.exit_code == 1  # A235 is an error
    assert "were wrong        1" in text.output
    assert "Nothing is sent again because a mapping changed" in text.output
    assert "V1" in text.output
    assert run(tmp_path / "new", tmp_path / "new", source).exit_code == 0
    target = tmp_path / "changes.csv"
    data = json.loads(run(tmp_path / "old", tmp_path / "new", source, "--json", "--csv", target).stdout)
    assert data["changes"]["summary"] == {"the same": 0, "finer": 0, "different": 0, "were wrong": 1}
    assert data["changes"]["terms"][0]["words"] == "full"
    assert data["changes"]["sent_again"] == "nothing"
    rows = list(csv.DictReader(target.read_text(encoding="utf-8-sig").splitlines()))
    assert [(row["state"], row["words"], row["old"]) for row in rows] == [
        ("was wrong", "full", "wax-heavy (sct:1910005)")
    ]
    assert run(tmp_path / "old", tmp_path / "new", source, "--csv", target).exit_code == 2
