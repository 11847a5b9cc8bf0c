"""Each visit counts once, in whichever forms it lies there: its record first, and of its versions the newest."""

from __future__ import annotations

import csv
import json
import shutil
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import CliRunner

from bridge.audit.shapes import Audited, Entry
from bridge.audited import audit, entries, met
from bridge.audited.counted import Counted
from bridge.audited_changes import changed
from bridge.audited_sample import sample
from bridge.cda import write_cda
from bridge.cli import main
from bridge.coding.edition import load_edition
from bridge.fhir.ndjson import dump_lines
from bridge.fhir.write_json import compact
from bridge.fhir.written import as_document
from bridge.hash_table import short_hash
from bridge.pipeline import Converter
from bridge.practice import load_practice
from bridge.read.visits import read_visits
from bridge.visit import Clinic, Visit
from tests.audit.test_pattern_cases import visit as recorded

DEMO = Path(__file__).parents[2] / "mappings" / "demo"
VISIT = DEMO / "visits" / "M26-0110.yaml"
OTHER = {"name": "Alder Hearing"}


@pytest.fixture(scope="module")
def converter() -> Converter:
    practice, issues = load_practice(DEMO)
    assert practice is not None
    return Converter(practice, DEMO, issues)


def record(folder: Path, **more: Any) -> Path:
    """A visit of the demo as a file of its own."""
    demo = yaml.safe_load(VISIT.read_text(encoding="utf-8"))
    made = json.loads(json.dumps({**demo, "number": "V1", **more}, default=lambda day: day.isoformat()))
    file = folder / f"{made['number']}-{made.get('version', 1)}.yaml"
    file.write_text(yaml.safe_dump(made), encoding="utf-8")
    return file


def bundles(converter: Converter, source: Path) -> dict[str, dict[str, Any]]:
    """What is made of the visit of a file, by kind."""
    reading = next(one for one in read_visits(source, None, converter.zone) if one.visit)
    made: dict[str, dict[str, Any]] = {}
    for kind in ("document", "transaction", "collection"):
        made |= converter.one(reading, kind).bundles  # type: ignore[arg-type]
    return made


def written(folder: Path, stem: str, bundle: dict[str, Any]) -> dict[str, Path]:
    """One bundle in every form."""
    forms = {
        "json": (f"{stem}.bundle.json", as_document(bundle, "x.json", "json").content),
        "xml": (f"{stem}.bundle.xml", as_document(bundle, "x.xml", "xml").content),
        "bundles": (f"{stem}.all.ndjson", compact(bundle)),
    }
    if bundle["type"] != "transaction":
        forms["lines"] = (f"{stem}.ndjson", dump_lines(bundle))
    if bundle["type"] == "document":
        forms["cda"] = (f"{stem}.cda.xml", write_cda(bundle))
    for name, content in forms.values():
        (folder / name).write_bytes(content)
    return {form: folder / name for form, (name, _) in forms.items()}


def told(converter: Converter, *sources: Path) -> Audited:
    return audit(sources, converter)


def numbers(found: Iterable[Entry]) -> list[tuple[str, int, str]]:
    return [(one.number, one.visit.version if one.visit else 0, one.source) for one in found]


def test_a_record_and_all_that_was_made_of_it_count_once(converter: Converter, tmp_path: Path) -> None:
    source = record(tmp_path)
    made = bundles(converter, source)
    assert set(made) == {"summary", "transaction", "collection"}
    (tmp_path / "a").mkdir()
    files = [path for kind, one in made.items() for path in written(tmp_path / "a", kind, one).values()]
    for sources in ([source, *files], [*files, source], [tmp_path]):
        assert numbers(entries(sources, converter)) == [("V1", 1, "visit")]
        found = told(converter, *sources)
        assert (found.records, found.left_out.known, found.left_out.earlier) == (1, len(files), 0)
        assert [one.rule for one in found.issues if one.rule in ("A193", "A194")] == ["A193"]


def test_of_documents_alone_the_whole_visit_goes_first(converter: Converter, tmp_path: Path) -> None:
    made = bundles(converter, record(tmp_path))
    files = [written(tmp_path, f"V1{name}", made[kind])["json"]
             for name, kind in (("", "summary"), (".transaction", "transaction"))]  # fmt: skip
    found = list(entries(files, converter))
    assert [one.where.file for one in found] == ["V1.transaction.bundle.json"]


@pytest.mark.parametrize("form", ["json", "xml", "lines", "bundles", "cda"])
@pytest.mark.parametrize("newer", ["record", "document"])
def test_the_newest_version_counts(newer: str, form: str, converter: Converter, tmp_path: Path) -> None:
    first = record(tmp_path)
    second = record(tmp_path, version=2, replaces=1, start="2026-05-06T10:20+01:00")
    old, new = (bundles(converter, path)["summary"] for path in (first, second))
    if newer == "record":
        sources = [written(tmp_path, "old", old)[form], first, second]
        expected = ("V1", 2, "visit")
    else:
        sources = [first, written(tmp_path, "new", new)[form]]
        expected = ("V1", 2, "ours")
    for order in (sources, sources[::-1]):
        assert numbers(entries(order, converter)) == [expected]
        found = told(converter, *order)
        assert found.left_out.earlier == len(sources) - 1
        assert "A194" in {one.rule for one in found.issues}


@pytest.mark.parametrize("version", ["2", '"2"', "02", '"02"', "+2", "2.0"])
def test_a_version_counts_however_it_is_written(version: str, converter: Converter, tmp_path: Path) -> None:
    first = record(tmp_path)
    second = tmp_path / "second.yaml"
    second.write_text(f"{first.read_text(encoding='utf-8')}\nversion: {version}\nreplaces: 1\n", encoding="utf-8")
    assert numbers(entries([first, second], converter)) == [("V1", 2, "visit")]


def test_the_newest_row_of_a_sheet_counts(converter: Converter) -> None:
    found = [one for one in entries([DEMO / "visits-2026.csv"], converter) if one.number == "M26-0101"]
    assert [one.visit.version for one in found if one.visit] == [2]


def test_one_number_of_two_clinics_is_two_visits(converter: Converter, tmp_path: Path) -> None:
    ours, folder = record(tmp_path), tmp_path / "theirs"
    folder.mkdir()
    theirs = record(folder, clinic=OTHER, version=2)
    files = written(folder, "theirs", bundles(converter, theirs)["collection"])
    assert numbers(entries([ours, files["json"]], converter)) == [("V1", 1, "visit"), ("V1", 2, "ours")]
    assert numbers(entries([ours, theirs, *files.values()], converter)) == [("V1", 1, "visit"), ("V1", 2, "visit")]


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ({"name": "Alder Hearing"}, {"name": "ALDER  hearing."}, True),
        ({"name": "Alder Hearing", "organisation_code": "Z1"}, {"name": "Alder", "organisation_code": "z1"}, True),
        ({"name": "Alder Hearing", "organisation_code": "Z1"}, {"name": "Alder Hearing"}, True),
        ({"name": "Alder", "organisation_code": "Z1"}, {"name": "Alder", "organisation_code": "Z2"}, False),
        ({"name": "Alder Hearing"}, {"name": "Birch Hearing"}, False),
        ({"name": "Alder Hearing"}, None, False),
    ],
)  # fmt: skip
def test_which_clinics_are_one(one: dict[str, str], other: dict[str, str] | None, same: bool) -> None:
    visits = [Visit.model_validate(recorded({"clinic": clinic} if clinic else {})) for clinic in (one, other)]
    for first, second in (visits, visits[::-1]):
        counted = Counted(Clinic(name="Millbrook Ear Care"))
        assert (counted.record(first), counted.document(second)) == (True, not same)


def test_one_number_on_two_days_is_two_visits(converter: Converter, tmp_path: Path) -> None:
    """Numbers that begin anew each year."""
    (tmp_path / "old").mkdir()
    old = record(tmp_path / "old", start="2025-05-06T10:15+01:00")
    files = written(tmp_path, "old", bundles(converter, old)["collection"])
    assert len(list(entries([record(tmp_path), *files.values()], converter))) == 2


STRANGER = {"number": "C-9", "legal_name": {"family": "Quill", "given": ["Ada"]}, "birth_date": "1970-01-02"}


@pytest.mark.parametrize("version", [1, 9])
def test_one_number_of_two_clients_is_two_visits(version: int, converter: Converter, tmp_path: Path) -> None:
    """Also where the document of the other says that it is a later version."""
    ours, folder = record(tmp_path), tmp_path / "other"
    folder.mkdir()
    more = {"version": version, "replaces": version - 1} if version > 1 else {}
    other = record(folder, client=STRANGER, **more)
    file = written(folder, "other", bundles(converter, other)["summary"])["json"]
    assert numbers(entries([ours, file], converter)) == [("V1", 1, "visit"), ("V1", version, "ours")]
    assert numbers(entries([ours, other], converter)) == [("V1", 1, "visit"), ("V1", version, "visit")]


@pytest.mark.parametrize("kept", ["legal_name", "number", "nhs_number"])
def test_a_correction_may_change_all_but_one_thing_of_the_client(
    kept: str, converter: Converter, tmp_path: Path
) -> None:
    first = record(tmp_path)
    told = yaml.safe_load(first.read_text(encoding="utf-8"))["client"]
    second = record(tmp_path, version=2, replaces=1, client={**STRANGER, kept: told[kept]})
    assert numbers(entries([first, second], converter)) == [("V1", 2, "visit")]


def test_a_document_that_names_no_clinic_is_not_taken_for_ours(converter: Converter, tmp_path: Path) -> None:
    source = record(tmp_path)
    made = bundles(converter, source)["collection"]
    for entry in made["entry"]:
        entry["resource"].pop("serviceProvider", None)
        if entry["resource"]["resourceType"] == "Organization":
            entry["resource"].pop("name", None)
    file = written(tmp_path, "changed", made)["json"]
    assert len(list(entries([source, file], converter))) == 2


@pytest.mark.parametrize(
    ("type", "change"),
    [
        ("Encounter", {"serviceProvider": {}}),
        ("Encounter", {"period": {"start": "2020-01-01"}}),
        ("Patient", {"name": [{"family": "Quill", "given": 5}, 7]}),
        ("Organization", {"identifier": [5]}),
        ("Organization", {"name": {}}),
    ],
)
def test_a_whole_record_that_does_not_fit_the_visits_counts(
    type: str, change: dict[str, Any], converter: Converter, tmp_path: Path
) -> None:
    done = CliRunner().invoke(main, ["demo", str(tmp_path / "demo"), "--quiet"])
    assert done.exit_code in (0, 1), done.output
    summary = next((tmp_path / "demo" / "summaries").glob("*.json"))
    data = json.loads(summary.read_text(encoding="utf-8"))
    for entry in data["entry"]:
        if entry["resource"]["resourceType"] == type:
            entry["resource"].update(change)
    summary.write_bytes(compact(data))
    records = tmp_path / "demo" / "records"
    assert told(converter, records, summary).records == 32


def test_a_whole_record_of_visits_that_count_is_none_of_its_own(converter: Converter, tmp_path: Path) -> None:
    done = CliRunner().invoke(main, ["demo", str(tmp_path / "demo"), "--quiet"])
    assert done.exit_code in (0, 1), done.output
    summary = next((tmp_path / "demo" / "summaries").glob("*.json"))
    assert [one.source for one in entries([summary], converter)] == ["bundle"]
    found = told(converter, tmp_path / "demo")
    alone = told(converter, tmp_path / "demo" / "records")
    assert found.records == alone.records == 31
    assert found.left_out.known > 90
    assert [(p.pattern, p.records) for p in found.patterns] == [(p.pattern, p.records) for p in alone.patterns]
    assert found.terms == alone.terms


def test_several_visits_of_ours_in_one_bundle_are_known_one_by_one(converter: Converter, tmp_path: Path) -> None:
    parts = [record(tmp_path, number=f"V{n}") for n in (1, 2, 3)]
    entries_ = [e for path in parts for e in bundles(converter, path)["collection"]["entry"]]
    together = {
        "resourceType": "Bundle",
        "type": "collection",
        "entry": list({e["fullUrl"]: e for e in entries_}.values()),
    }
    file = tmp_path / "together.json"
    file.write_bytes(compact(together))
    assert numbers(entries([file], converter)) == [(f"V{n}", 1, "ours") for n in (1, 2, 3)]
    assert numbers(entries([parts[1], file], converter)) == [
        ("V2", 1, "visit"), ("V1", 1, "ours"), ("V3", 1, "ours"),
    ]  # fmt: skip


def test_sample_and_changes_take_each_visit_once_too(converter: Converter, tmp_path: Path) -> None:
    source = record(tmp_path)
    files = written(tmp_path, "V1", bundles(converter, source)["summary"])
    sources = [source, *files.values()]
    assert (
        sample(entries(sources, converter), converter.maps, 50, "s").drawn.of
        == sample(entries([source], converter), converter.maps, 50, "s").drawn.of
    )
    shipped = load_edition("shipped")
    found = changed(converter, shipped, shipped, sources)
    assert found.records["same"] == sum(found.records.values()) == 1
    assert "A193" in {one.rule for one in found.issues}


def test_json_says_how_many_were_left_out(tmp_path: Path) -> None:
    for name in ("practice.yaml", "doctors.csv"):
        shutil.copy(DEMO / name, tmp_path)
    shutil.copy(DEMO / "visits-2026.csv", tmp_path)
    arguments = ["audit", "run", str(tmp_path), "--practice", str(tmp_path), "--json", "--fail-on", "never"]
    done = CliRunner().invoke(main, arguments)
    assert json.loads(done.stdout)["left_out"] == {"known": 0, "earlier": 1}


def test_more_visits_than_there_is_room_for_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(met, "_SLOTS", 128)
    counted = Counted(Clinic(name="Millbrook Ear Care"))
    for nth in range(300):
        counted.record(Visit.model_validate(recorded({"number": f"V{nth}"})))
    assert [one.rule for one in counted.told()] == ["A195"]


@pytest.mark.parametrize("version", ["2", "02"])
def test_a_corrected_visit_of_two_rows_counts_in_its_newest_version(
    version: str, converter: Converter, tmp_path: Path
) -> None:
    heading, *rows = csv.reader((DEMO / "ears-2026.csv").read_text(encoding="utf-8-sig").splitlines())
    number = heading.index("Visit no")
    first = [row for row in rows if row[number] == rows[0][number]]
    assert len(first) == 2
    sheet = tmp_path / "ears-2026.csv"
    with sheet.open("w", encoding="utf-8", newline="") as stream:
        written = [[*heading, "Version"], *([*row, ""] for row in rows), *([*row, version] for row in first)]
        csv.writer(stream).writerows(written)
    found = [one for one in entries([sheet], converter) if one.number == rows[0][number]]
    assert [(one.visit.version, bool(one.visit.right), bool(one.visit.left)) for one in found if one.visit] == [
        (2, True, True)
    ]


def test_four_hundred_thousand_are_remembered_exactly() -> None:
    remembered = met.Met()
    assert all(remembered.add(short_hash(str(nth))) for nth in range(400_000))
    assert not remembered.forgotten
    assert not any(remembered.add(short_hash(str(nth))) for nth in range(0, 400_000, 97))
    assert short_hash("another") not in remembered


def test_figures_say_what_was_left_out(tmp_path: Path) -> None:
    for name in ("practice.yaml", "doctors.csv", "visits-2026.csv"):
        shutil.copy(DEMO / name, tmp_path)
    to = tmp_path / "out" / "figures.json"
    arguments = ["audit", "figures", str(tmp_path), "--practice", str(tmp_path), "--to", str(to)]
    done = CliRunner().invoke(main, arguments)
    assert done.exit_code == 0, done.output
    assert json.loads(to.read_text(encoding="utf-8"))["records"] == 8
    assert "A194 1 record or document of earlier versions left out" in " ".join(done.stderr.split())
