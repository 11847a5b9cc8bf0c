"""What goes into the audit one by one comes out counted: rates, groups, terms, agreement, bounds, hostile bundles."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any

import pytest
import yaml

from bridge.audit import Tally, terms
from bridge.audit import tally as tallies
from bridge.audit.shapes import Audited, Entry, Item, Rate
from bridge.audited import audit, bounded, bundles, entries
from bridge.data import table_path
from bridge.fhir.written import as_document
from bridge.issues import Where, issue
from bridge.pipeline import Converter
from bridge.visit.base import Coding
from tests.audit.seeder.sheets import write_sheet
from tests.audit.test_patterns import converter as made

SNOMED = "http://snomed.info/sct"


@pytest.fixture(scope="module")
def converter(tmp_path_factory: pytest.TempPathFactory) -> Converter:
    return made(tmp_path_factory.mktemp("practice"))


def item(text: str, code: str = "", side: Any = "", **more: Any) -> Item:
    codings = (Coding(system=SNOMED, code=code),) if code else ()
    return Item("right.x", "x", text, codings, side=side, **more)


def entry(number: str, *items: Item, who: str = "", month: str = "", rules: tuple[str, ...] = ()) -> Entry:
    issues = tuple(issue(rule, "Something.", Where(path="right.x")) for rule in rules)
    return Entry(number, month, who, items=items, issues=issues, where=Where(file="f.csv"), source="visit")


def test_rates_by_hand() -> None:
    tally = Tally()
    tally.enter(entry("1", item("a", "18070006", "right"), item("b", side="unknown"), who="PS", month="2026-01"))
    tally.enter(entry("2", item("a", "18070006", "left"), who="JB", month="2026-02", rules=("C122", "C121")))
    tally.enter(entry("3", item("a", "71388002"), item("drops", due=False), who="PS", month="2026-01"))
    told = tally.audited()
    assert told.records == 3
    assert (told.first_month, told.last_month) == ("2026-01", "2026-02")
    assert (told.completeness, told.text_only) == (Rate(3, 4), Rate(1, 4))
    assert (told.sided, told.unspecific, told.retired) == (Rate(2, 3), Rate(1, 3), Rate(0, 3))
    assert told.conflicts == Rate(1, 3)
    people = {group.name: group for group in told.practitioners}
    assert (people["PS"].records, people["PS"].coded, people["PS"].conflicts) == (2, Rate(2, 3), Rate(0, 2))
    assert (people["JB"].records, people["JB"].conflicts) == (1, Rate(1, 1))
    assert [(month.name, month.records) for month in told.months] == [("2026-01", 2), ("2026-02", 1)]


def test_a_record_shows_a_pattern_once_whatever_it_says() -> None:
    tally = Tally()
    tally.enter(entry("1", rules=("C121", "C122", "C122")))
    found = next(one for one in tally.audited().patterns if one.pattern == "I02")
    assert found.records == Rate(1, 1)
    assert len(found.evidence) == 3


def test_entropy_and_consistency_by_hand() -> None:
    """Three uses of one code and one of another: 0.75, and 2 - 0.75 * log2(3) bits."""
    tally = Tally()
    for number, code in enumerate(("18070006", "18070006", "18070006", "3135009")):
        tally.enter(entry(str(number), item("plug", code)))
    told = tally.audited()
    assert told.consistency == pytest.approx(0.75)
    assert told.entropy == pytest.approx(0.8112781244591328)
    assert [(use.code, use.count) for use in told.terms[0].codes] == [("18070006", 3), ("3135009", 1)]


def test_agreement_by_hand() -> None:
    """Two coders, four words, three coded alike. po 3/4, pe (2*3 + 2*1)/16 = 1/2: kappa 1/2."""
    tally = Tally()
    for who, codes in (("A", "1122"), ("B", "1121")):
        for word, code in zip("klmn", codes, strict=True):
            tally.enter(entry(f"{who}{word}", item(word, f"1807000{code}"), who=who))
    whole, pair = tally.audited().agreement
    assert (whole.coders, whole.things) == (("A", "B"), 4)
    assert (whole.percent, whole.kappa) == (0.75, 0.5)
    assert pair.percent == 0.75
    assert whole.alpha == pytest.approx(1 - (2 / 8) / (2 * 5 * 3 / (8 * 7)))


def test_evidence_and_worst_are_bounded() -> None:
    tally = Tally(evidence=5)
    for number in range(300):
        tally.enter(entry(str(number), rules=("C121",) * (1 + (number == 200))))
    told = tally.audited()
    found = next(one for one in told.patterns if one.pattern == "I02")
    assert (found.records, len(found.evidence)) == (Rate(300, 300), 5)
    assert len(told.worst) == 10
    assert told.worst[0].number == "200"
    assert [one.number for one in told.worst[1:]] == [str(n) for n in range(9)]


def test_rare_words_are_let_go_and_that_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(terms, "MOST_TERMS", 50)
    tally = Tally()
    for number in range(200):
        tally.enter(entry(str(number), item("usual", "18070006"), item(f"word {number}", "18070006")))
    told = tally.audited()
    assert told.completeness == Rate(400, 400)
    assert (told.terms[0].text, told.terms[0].count) == ("usual", 200)
    assert len(told.terms) <= 50
    assert "A190" in {one.rule for one in told.issues}


def test_too_many_practitioners_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tallies, "MOST_GROUPS", 3)
    tally = Tally()
    for number in range(5):
        tally.enter(entry(str(number), who=f"P{number}"))
    told = tally.audited()
    assert len(told.practitioners) == 3
    assert told.records == 5
    assert "A191" in {one.rule for one in told.issues}


def test_a_part_of_a_large_bundle_is_told(
    monkeypatch: pytest.MonkeyPatch, converter: Converter, tmp_path: Path
) -> None:
    monkeypatch.setattr(bundles, "MOST_RESOURCES", 3)
    file = tmp_path / "large.json"
    one = {"resource": {"resourceType": "Condition", "code": {"text": "crust"}}}
    file.write_text(json.dumps({"resourceType": "Bundle", "type": "collection", "entry": [one] * 5}))
    told = audit([file], converter)
    assert "A192" in {found.rule for found in told.issues}
    assert told.completeness == Rate(0, 3)


def collection() -> dict[str, Any]:
    condition = {
        "resourceType": "Condition", "id": "c", "subject": {"reference": "Patient/p"},
        "code": {"coding": [{"system": SNOMED, "code": "3135009"}], "text": "otitis externa"},
    }  # fmt: skip
    return {"resourceType": "Bundle", "type": "collection", "entry": [{"resource": condition}]}


def test_json_xml_and_ndjson_are_one(converter: Converter, tmp_path: Path) -> None:
    bundle = collection()
    files = {
        "a.json": json.dumps(bundle).encode(),
        "a.xml": as_document(bundle, "a.xml", "xml").content,
        "a.ndjson": (json.dumps(bundle) + "\n").encode() * 2,
        "lines.ndjson": (json.dumps(bundle["entry"][0]["resource"]) + "\n").encode(),
    }
    for name, content in files.items():
        file = tmp_path / name
        file.write_bytes(content)
        told = list(entries([file], converter))
        assert len(told) == (2 if name == "a.ndjson" else 1), name
        for one in told:
            assert [(i.kind, i.text, i.side) for i in one.items] == [("Condition.code", "otitis externa", "unknown")], (
                name
            )


def test_a_bundle_of_several_visits_is_taken_apart(converter: Converter, tmp_path: Path) -> None:
    def visit(name: str) -> list[dict[str, Any]]:
        encounter = {"resourceType": "Encounter", "id": name, "period": {"start": f"2026-0{name[-1]}-01"}}
        about = {"encounter": {"reference": f"Encounter/{name}"}, "code": {"text": f"crust {name}"}}
        return [encounter, {"resourceType": "Condition", "id": f"c{name}", **about}]

    resources = [*visit("e1"), *visit("e2")]
    bundle = {"resourceType": "Bundle", "type": "searchset", "entry": [{"resource": one} for one in resources]}
    file = tmp_path / "many.json"
    file.write_text(json.dumps(bundle))
    told = list(entries([file], converter))
    assert [(one.month, [i.text for i in one.items]) for one in told] == [
        ("2026-01", ["crust e1"]), ("2026-02", ["crust e2"]),
    ]  # fmt: skip


STRANGE: tuple[Any, ...] = (None, 0, -1, True, "", "x" * 300, [], {}, [[]], [{}], [None], {"coding": 5}, {"text": []})


def mutants(value: Any, random: Random) -> Iterator[Any]:
    """The value with one of its leaves or branches replaced by something strange."""
    for strange in STRANGE:
        yield from _with(value, strange, random)


def _with(value: Any, strange: Any, random: Random) -> Iterator[Any]:
    if isinstance(value, dict):
        for key in value:
            yield {**value, key: strange}
            yield from ({**value, key: inner} for inner in _with(value[key], strange, random))
    elif isinstance(value, list):
        for at, one in enumerate(value):
            yield [*value[:at], strange, *value[at + 1 :]]
            yield from ([*value[:at], inner, *value[at + 1 :]] for inner in _with(one, strange, random))


def test_bundles_of_any_shape_are_read_without_a_fault(converter: Converter, tmp_path: Path) -> None:
    bundle = collection()
    bundle["entry"][0]["resource"] |= {
        "bodySite": [{"coding": [{"system": SNOMED, "code": "89644007"}]}], "note": [{"text": "a note"}],
        "clinicalStatus": {"coding": [{"code": "active"}]}, "encounter": {"reference": "Encounter/e"},
    }  # fmt: skip
    encounter = {
        "resourceType": "Encounter",
        "id": "e",
        "period": {"start": "2026-05-04"},
        "identifier": [{"value": "7"}],
    }
    act = {
        "resourceType": "Procedure",
        "status": "completed",
        "code": {"text": "irrigation"},
        "performedDateTime": "2026",
    }
    bundle["entry"] += [{"resource": encounter}, {"resource": act | {"encounter": {"reference": "Encounter/e"}}}]
    made = [one for one in mutants(bundle, Random(1)) if isinstance(one.get("resourceType"), str)]
    file = tmp_path / "strange.ndjson"
    file.write_text("".join(json.dumps({"resourceType": "Bundle"} | one) + "\n" for one in [bundle, *made]))
    told = audit([file], converter)
    assert told.records > 500


def test_nothing_of_a_client_is_kept(converter: Converter, tmp_path: Path) -> None:
    from tests.audit.test_patterns import seed

    sources, _ = seed(tmp_path, 300, 30)
    said, given = repr(audit(sources, converter)), "".join(path.read_text(encoding="utf-8") for path in sources)
    for word in ("Tennick", "Pellworm", "Sluice Lane", "C-0000", "999000", "07700"):
        assert (word in given, word in said) == (True, False), word


def test_a_practitioner_is_one_whether_named_or_by_initials(converter: Converter, tmp_path: Path) -> None:
    from tests.audit.test_pattern_cases import visit as recorded

    for nth, who in enumerate(("PS", "Petra Sandholt", "Ms Petra Sandholt")):
        one = recorded({"practitioners": [who], "number": f"V{nth}"})
        (tmp_path / f"{nth}.yaml").write_text(yaml.safe_dump(one), encoding="utf-8")
    assert {one.practitioner for one in entries([tmp_path], converter)} == {"PS"}


def test_the_same_records_in_two_files_count_once(converter: Converter, tmp_path: Path) -> None:
    """Those that can be read; of others nobody can tell."""
    write_sheet(tmp_path / "visits-a.csv", 60, seed=3, each=1000)
    (tmp_path / "visits-b.csv").write_bytes((tmp_path / "visits-a.csv").read_bytes())
    read = [one.number for one in entries([tmp_path], converter) if one.visit]
    assert len(read) == len(set(read)) > 50


def test_a_copied_note_is_found_until_many_visits_later(
    monkeypatch: pytest.MonkeyPatch, converter: Converter, tmp_path: Path
) -> None:
    write_sheet(tmp_path / "visits-a.csv", 120, seed=3, each=20)
    far = [one for one in entries([tmp_path], converter) if {i.rule for i in one.issues} & {"C580", "C581"}]
    monkeypatch.setattr(bounded, "MOST_VISITS", 5)
    near = [one for one in entries([tmp_path], converter) if {i.rule for i in one.issues} & {"C580", "C581"}]
    assert len(far) == 2
    assert near == []


def test_bundles_of_ours_show_what_their_records_show(converter: Converter, tmp_path: Path) -> None:
    source, folder = table_path("demo", "visits-2026.csv"), tmp_path / "bundles"
    folder.mkdir()
    for conversion in converter.convert(source, None, "collection"):
        for bundle in conversion.bundles.values():
            document = as_document(bundle, "x.json", "json")
            (folder / f"{conversion.where.row}.json").write_bytes(document.content)
    sent, recorded = audit([folder], converter), audit([source], converter)
    assert sent.records > 5
    assert shown(sent) <= shown(recorded)
    assert {one.name for one in sent.practitioners} == {"PS", "JB"}


def shown(audited: Audited) -> set[str]:
    return {one.pattern for one in audited.patterns if one.records.count}
