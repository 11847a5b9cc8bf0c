"""Visits of another clinic among our records: read, checked and handed over as theirs, never as ours.

What is expected is what the receiving clinic must be able to rely on: who saw the client, where, and that nobody here
is told to have done it, though both clinics call somebody PS and number a doctor's practice AG.
"""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from click.testing import CliRunner

from bridge.audited import entries
from bridge.build.context import Context
from bridge.cli import main
from bridge.fhir.ids import Ids
from bridge.fhir.write_json import dumps
from bridge.layout import load_layout
from bridge.pipeline import Converter
from bridge.practice import Practice, load_practice
from bridge.read.ledger import Ledger
from bridge.read.visits import read_visits
from bridge.receive import bundle_to_visits
from bridge.same_clinic import NOT_NAMED, of_another, same_clinic
from bridge.shapes import Json, Reading
from bridge.taken_over import arrived
from bridge.visit import Clinic, Visit
from bridge.whole_record import hand_over
from tests.remake import ROOT

DEMO = ROOT / "mappings/demo"
ZONE = ZoneInfo("Europe/London")
ELSEWHERE = {"name": "Alder Hearing", "phone": "01632 960900"}
THEIR_PS = {"key": "PS", "name": {"given": ["Quilla"], "family": "Arden"}, "role": "Audiologist", "no_register": True}
CLIENT = {"number": "C-1", "legal_name": {"given": ["Ada"], "family": "Quill"}, "birth_date": "1950-03-04"}


def practice() -> Practice:
    found, _ = load_practice(DEMO)
    assert found is not None
    return found


def visit(number: str, **fields: Any) -> Visit:
    plain = {
        "number": number,
        "client": CLIENT,
        "start": f"2026-0{number[-1]}-10T10:00+00:00",
        "practitioners": ["PS"],
        "family_doctor": {"key": "AG"},
        "sharing": {"status": "given", "scope": ["whole record"]},
        "right": {"before": {"wax": "heavy"}, "work": [{"method": "microsuction", "outcome": "complete"}]},
        "approved": {"by": "PS", "at": f"2026-0{number[-1]}-10T11:00+00:00"},
    }
    return Visit.model_validate({**plain, **fields})


def theirs(number: str, **fields: Any) -> Visit:
    doctor = {"key": "AG", "practice": "Ash Grove Surgery"}
    said = {"clinic": ELSEWHERE, "practitioners": [THEIR_PS], "family_doctor": doctor, **fields}
    return visit(number, **said)


def prepared(one: Visit) -> tuple[Visit, list[str]]:
    made, issues = Converter(practice(), DEMO).prepare(one)
    return made, [i.rule for i in issues if i.rule[0] == "R"]


def resources(bundle: Json, type: str) -> list[Json]:
    return [e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == type]


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        ({"name": "Alder  HEARING"}, {"name": "alder hearing"}, True),
        ({"name": "Alder Hearing"}, {"name": "Alder Ears"}, False),
        ({"name": "Old name", "organisation_code": "Z1"}, {"name": "New name", "organisation_code": "z1"}, True),
        ({"name": "Alder", "organisation_code": "Z1"}, {"name": "Alder", "organisation_code": "Z2"}, False),
        ({"name": NOT_NAMED.name}, {"name": NOT_NAMED.name}, None),
        (None, {"name": "Alder"}, None),
    ],
)
def test_whether_two_clinics_are_one(one: Json | None, other: Json, expected: bool | None) -> None:
    said = Clinic.model_validate(one) if one else None
    assert same_clinic(said, Clinic.model_validate(other)) is expected


def test_a_clinic_that_nobody_names_is_another_one() -> None:
    assert of_another(NOT_NAMED, practice().clinic)
    assert of_another(NOT_NAMED, None)
    assert not of_another(None, practice().clinic), "a record that names none is the practice's own"


def test_nothing_of_ours_goes_into_their_visit() -> None:
    given = theirs("A1")
    made, told = prepared(given)
    assert told == ["R352"]
    assert (made.clinic, made.practitioners, made.family_doctor) == (
        given.clinic,
        given.practitioners,
        given.family_doctor,
    )


@pytest.mark.parametrize("who", [[], [{"key": "received 7"}], ["XY"]])
def test_whoever_they_name_or_not_is_no_fault_of_ours(who: list[Any]) -> None:
    made, told = prepared(theirs("A1", practitioners=who, approved=None))
    assert told == ["R352"]
    assert [p.key for p in made.practitioners] == [p if isinstance(p, str) else p["key"] for p in who]


def test_a_bare_key_of_our_own_is_told_and_not_taken_for_our_colleague() -> None:
    made, told = prepared(theirs("A1", practitioners=["PS"]))
    assert told == ["R351"]
    assert made.practitioners[0].name is None


def test_no_letter_of_theirs_is_due_here() -> None:
    converter = Converter(practice(), DEMO)
    unsaid = converter.one(Reading(theirs("A1", sharing=None), []))
    assert (unsaid.state, unsaid.bundles) == ("no letter due", {})
    assert {i.rule for i in unsaid.issues}.isdisjoint({"D110", "D114", "D101"})
    assert converter.one(Reading(theirs("A1"), [])).bundles == {}
    assert list(converter.one(Reading(visit("B2"), [])).bundles) == ["summary"]


def test_people_and_places_of_both_stay_apart_in_a_summary(tmp_path: Path) -> None:
    for one in (theirs("A1"), visit("B2")):
        said = one.model_dump(mode="json", exclude_none=True, exclude_defaults=True)
        (tmp_path / f"{one.number}.yaml").write_text(json.dumps(said), "utf-8")
    out = tmp_path / "out"
    said = CliRunner().invoke(
        main,
        ["handover", "C-1", str(tmp_path), "--plain", "--unsigned", "--to", str(out), "--practice", str(DEMO)],
    )
    assert said.exit_code == 0, said.output
    parcel = out / "C-1-handover"
    bundle = json.loads((parcel / "record/C-1.ips.bundle.json").read_bytes())
    lines = [json.loads(line) for line in (parcel / "visits.ndjson").read_text("utf-8").splitlines()]
    for found in (bundle, {"entry": [{"fullUrl": f"{r['resourceType']}/{r['id']}", "resource": r} for r in lines]}):
        by_url = {e["fullUrl"]: e["resource"] for e in found["entry"]}
        seen = {}
        for role in resources(found, "PractitionerRole"):
            who = by_url[role["practitioner"]["reference"]]["name"][0]["family"]
            seen[who] = by_url[role["organization"]["reference"]]["name"]
        assert seen == {"Arden": "Alder Hearing", "Sandholt": "Millbrook Ear Care"}
        where = {
            e["identifier"][0]["value"]: by_url[e["serviceProvider"]["reference"]]["name"]
            for e in resources(found, "Encounter")
        }
        assert where == {"A1": "Alder Hearing", "B2": "Millbrook Ear Care"}
        done = {
            by_url[p["encounter"]["reference"]]["identifier"][0]["value"]: by_url[
                p["performer"][0]["actor"]["reference"]
            ]["name"][0]["family"]
            for p in resources(found, "Procedure")
        }
        assert done == {"A1": "Arden", "B2": "Sandholt"}
        names = {o["name"] for o in resources(found, "Organization")}
        assert {"Alder Hearing", "Millbrook Ear Care", "Aldersby Green Practice"} <= names
    (composition,) = resources(bundle, "Composition")
    by_url = {e["fullUrl"]: e["resource"] for e in bundle["entry"]}
    assert by_url[composition["custodian"]["reference"]]["name"] == "Millbrook Ear Care"
    (attester,) = composition["attester"]
    assert by_url[attester["party"]["reference"]]["name"][0]["family"] == "Sandholt"
    assert [p.name for p in (parcel / "letters").iterdir()] == ["B2.pdf"], "their letters are theirs"
    back, issues = bundle_to_visits(json.loads((parcel / "visits/A1.bundle.json").read_bytes()))
    assert not issues
    assert back[0].clinic == Clinic.model_validate(ELSEWHERE)
    assert [(p.key, p.name and p.name.family) for p in back[0].practitioners] == [("PS", "Arden")]
    assert back[0].approved is not None
    assert back[0].approved.by == "PS"


def test_two_clinics_that_nobody_named_are_not_made_one() -> None:
    """Both call somebody PS, and nobody can know whether that is one person."""
    unnamed = NOT_NAMED.model_dump(exclude_defaults=True)
    other = {**THEIR_PS, "name": {"family": "Brede"}}
    visits = [theirs("A1", clinic=unnamed), theirs("A2", clinic=unnamed, practitioners=[other])]
    contexts = [Context(v, Ids(practice().namespace), ZONE, own=practice().clinic) for v in visits]
    assert len({context.practitioner_id("PS") for context in contexts}) == 2
    assert len({context.clinic_id for context in contexts}) == 2
    named = [Context(v, Ids(practice().namespace), ZONE, own=practice().clinic) for v in (theirs("A1"), theirs("A2"))]
    assert len({context.practitioner_id("PS") for context in named}) == 1


def test_a_summary_of_their_visits_alone_is_kept_by_us(tmp_path: Path) -> None:
    said = theirs("A1").model_dump(mode="json", exclude_none=True, exclude_defaults=True)
    (tmp_path / "A1.yaml").write_text(json.dumps(said), "utf-8")
    run = ["handover", "C-1", str(tmp_path), "--plain", "--unsigned", "--to", str(tmp_path / "out")]
    told = CliRunner().invoke(main, [*run, "--practice", str(DEMO)])
    assert told.exit_code == 0, told.output
    bundle = json.loads((tmp_path / "out/C-1-handover/record/C-1.ips.bundle.json").read_bytes())
    (composition,) = resources(bundle, "Composition")
    by_url = {e["fullUrl"]: e["resource"] for e in bundle["entry"]}
    assert by_url[composition["custodian"]["reference"]]["name"] == "Millbrook Ear Care"
    assert "attester" not in composition


@pytest.mark.parametrize("clinic", [ELSEWHERE, NOT_NAMED.model_dump(exclude_defaults=True)])
@pytest.mark.parametrize(
    "named",
    [
        {"approved": None},
        {},
        {"approved": None, "right": {"work": [{"method": "microsuction", "practitioner": "QA"}]}},
    ],
    ids=["nobody", "at the approval", "at the work"],
)
def test_nobody_here_knows_who_saw_the_client_there(tmp_path: Path, clinic: dict[str, str], named: Any) -> None:
    """So it keeps no hand-over back: neither that nobody is named, nor that somebody is named by a key alone."""
    one = theirs("A1", clinic=clinic, practitioners=[], **named)
    for kept in (one, visit("B2")):
        said = kept.model_dump(mode="json", exclude_none=True, exclude_defaults=True)
        (tmp_path / f"{kept.number}.yaml").write_text(json.dumps(said), "utf-8")
    run = ["handover", "C-1", str(tmp_path), "--plain", "--unsigned", "--to", str(tmp_path / "out")]
    told = CliRunner().invoke(main, [*run, "--practice", str(DEMO)])
    assert told.exit_code == 0, told.output
    assert (tmp_path / "out/C-1-handover/visits/A1.bundle.json").is_file()


def test_the_only_person_at_the_work_alone_comes_back_from_the_document() -> None:
    one = visit(
        "A1", practitioners=[], approved=None, right={"work": [{"method": "microsuction", "practitioner": "PS"}]}
    )
    converter = Converter(practice(), DEMO)
    made, _ = converter.prepare(one)
    _, found = converter.build(made, "collection")
    assert [p.key for p in made.practitioners] == ["PS"]
    assert "D112" not in [i.rule for i in found]


def test_what_they_were_allowed_allows_us_nothing_and_what_was_refused_stands() -> None:
    own = practice().clinic
    asked = hand_over([theirs("A1")], own)
    assert asked is not None
    assert asked.rule == "D163"
    refused = hand_over([theirs("A1", sharing={"status": "refused"})], own)
    assert refused is not None
    assert refused.rule == "D162"
    assert hand_over([theirs("A1", sharing={"status": "refused"}), visit("B2")], own) is None


def test_a_document_that_names_no_clinic_is_never_our_own_work() -> None:
    converter = Converter(practice(), DEMO)
    made, _ = converter.prepare(visit("B2"))
    bundle, _ = converter.build(made, "collection")
    text = json.dumps(bundle, default=str)
    data = json.loads(text)
    (clinic,) = (e for e in data["entry"] if e["resource"].get("name") == "Millbrook Ear Care")
    data["entry"].remove(clinic)
    for entry in data["entry"]:
        for key in ("serviceProvider", "managingOrganization", "organization"):
            if entry["resource"].get(key) in ({"reference": clinic["fullUrl"]}, [{"reference": clinic["fullUrl"]}]):
                del entry["resource"][key]
    document = arrived(data, "b.json", [])
    assert document.visits
    assert all(of_another(v.clinic, practice().clinic) for v in document.visits)


def test_received_files_beside_our_own_are_checked_converted_and_handed_on(tmp_path: Path) -> None:
    """Through the commands, with a bundle of another system whose practitioner has neither role nor register."""
    shutil.copytree(DEMO, tmp_path / "practice")
    bundle = {
        "resourceType": "Bundle",
        "type": "collection",
        "entry": [
            {"fullUrl": f"urn:uuid:0000000{n}-0000-4000-8000-000000000000", "resource": r}
            for n, r in enumerate(
                (
                    {
                        "resourceType": "Patient",
                        "name": [{"family": "Quill", "given": ["Ada"]}],
                        "birthDate": "1950-03-04",
                    },
                    {"resourceType": "Practitioner", "id": "ps", "name": [{"family": "Arden"}]},
                    {
                        "resourceType": "Encounter",
                        "id": "e1",
                        "status": "finished",
                        "class": {"system": "http://terminology.hl7.org/CodeSystem/v3-ActCode", "code": "AMB"},
                        "subject": {"reference": "urn:uuid:00000000-0000-4000-8000-000000000000"},
                        "participant": [{"individual": {"reference": "urn:uuid:00000001-0000-4000-8000-000000000000"}}],
                        "period": {"start": "2026-01-10T10:00:00+00:00"},
                    },
                    {"resourceType": "Basic", "code": {"text": "something else"}},
                )
            )
        ],
    }
    (tmp_path / "their.json").write_text(json.dumps(bundle), "utf-8")
    place = ["--practice", str(tmp_path / "practice")]
    records = str(tmp_path / "in")
    took = CliRunner().invoke(main, ["receive", str(tmp_path / "their.json"), "--to", records, *place])
    assert took.exit_code == 0, took.output
    checked = CliRunner().invoke(main, ["check", records, *place, "--json"])
    assert checked.exit_code == 0, checked.output
    assert "R352" in checked.output
    assert not [r for r in ("R330", "R334", "D110") if r in checked.output]
    made = CliRunner().invoke(main, ["convert", records, "--to", str(tmp_path / "letters"), *place])
    assert made.exit_code == 0, made.output
    assert not list((tmp_path / "letters").glob("*.json"))
    (file,) = Path(records).glob("*.yaml")
    assert NOT_NAMED.name in file.read_text("utf-8")
    number = "client-" + Ids(practice().namespace).client(visit("X1", client={**CLIENT, "number": None}).client)
    own = visit("B2", client={**CLIENT, "number": None}).model_dump(
        mode="json", exclude_none=True, exclude_defaults=True
    )
    (Path(records) / "B2.yaml").write_text(json.dumps(own), "utf-8")
    out = tmp_path / "out"
    told = CliRunner().invoke(main, ["handover", number, records, "--plain", "--unsigned", "--to", str(out), *place])
    assert told.exit_code == 0, told.output
    handed = {p.relative_to(out / f"{number}-handover").as_posix() for p in out.rglob("*") if p.is_file()}
    assert {"visits/e1.bundle.json", "visits/B2.bundle.json", "kept/e1.kept.json", "kept/e1.account.json"} <= handed


@pytest.mark.parametrize("column", [True, False])
def test_a_row_says_whose_visit_it_is_or_is_not_written(tmp_path: Path, column: bool) -> None:
    place = tmp_path / "practice"
    shutil.copytree(DEMO, place)
    layout = (ROOT / "mappings/layouts/one-row-per-visit.yaml").read_text("utf-8")
    assert "Clinic: {to: clinic.name, optional: yes}" in layout
    own = layout if column else layout.replace("  Clinic: {to: clinic.name, optional: yes}\n", "")
    (place / "layouts").mkdir()
    (place / "layouts/own.yaml").write_text(own, "utf-8")
    converter = Converter(practice(), DEMO)
    for one in (theirs("A1"), visit("B2", client={**CLIENT, "number": "C-2"})):
        bundle, issues = converter.build(converter.prepare(one)[0], "collection")
        assert not issues
        (tmp_path / f"{one.number}.bundle.json").write_bytes(dumps(bundle))
    run = ["receive", *map(str, tmp_path.glob("*.bundle.json")), "--as", "csv", "--to", str(tmp_path / "in")]
    said = CliRunner().invoke(main, [*run, "--practice", str(place), "--json"])
    told = [i for i in json.loads(said.output)["issues"] if i["rule"] == "X181"]
    assert bool(told) != column, said.output
    readings = list(read_visits(tmp_path / "in-rows.csv", load_layout(place / "layouts/own.yaml"), ZONE, Ledger()))
    read = {r.visit.number: r.visit for r in readings if r.visit}
    assert set(read) == ({"A1", "B2"} if column else {"B2"})
    whose = {number: of_another(one.clinic, practice().clinic) for number, one in read.items()}
    assert whose == {number: number == "A1" for number in read}


@pytest.mark.parametrize("known", ["under another number", "contradicted"])
def test_what_came_along_goes_with_the_client_under_our_number_or_nowhere(tmp_path: Path, known: str) -> None:
    """Two hand-overs on end; the letters of the first clinic are in the second, or were never taken over."""
    there, here = tmp_path / "there", tmp_path / "here"
    shutil.copytree(DEMO, there)
    shutil.copytree(DEMO, here)
    settings = (here / "practice.yaml").read_text("utf-8").replace("name: Millbrook Ear Care", "name: Alder Hearing")
    (here / "practice.yaml").write_text(settings, "utf-8")
    run = [
        "handover",
        "C-1001",
        str(there / "visits-2026.csv"),
        "--plain",
        "--unsigned",
        "--to",
        str(tmp_path / "first"),
    ]
    assert CliRunner().invoke(main, [*run, "--practice", str(there)]).exit_code == 0
    born = "1952-06-14" if known == "under another number" else "1991-01-01"
    client = {"number": "B77", "nhs_number": "9995260182", "birth_date": born}
    client["legal_name"] = {"family": "Tennick", "given": ["Harold"]}
    own = visit("B8", client=client).model_dump(mode="json", exclude_none=True, exclude_defaults=True)
    (tmp_path / "B8.yaml").write_text(json.dumps(own), "utf-8")
    records = [str(tmp_path / "B8.yaml"), str(tmp_path / "in")]
    parcel = str(tmp_path / "first/C-1001-handover")
    took = CliRunner().invoke(
        main, ["receive", parcel, "--unsigned", "--to", records[1], "--into", records[0], "--practice", str(here)]
    )
    came = [p.name for p in (tmp_path / "in").rglob("*.pdf")]
    if known == "contradicted":
        assert ("X171" in took.output, came) == (True, []), took.output
        return
    assert sorted(came) == ["M26-0101-v2.pdf", "M26-0101.pdf"], took.output
    again = ["handover", "B77", *records, "--plain", "--unsigned", "--to", str(tmp_path / "second")]
    told = CliRunner().invoke(main, [*again, "--practice", str(here)])
    assert told.exit_code == 0, told.output
    second = tmp_path / "second/B77-handover"
    assert sorted(p.name for p in (second / "earlier").rglob("*.pdf")) == ["M26-0101-v2.pdf", "M26-0101.pdf"]
    assert not list(second.rglob("visits.json")), "a list of this place is of no use elsewhere"
    assert [p.name for p in (second / "letters").iterdir()] == ["B8.pdf"]


def test_an_audit_tells_their_people_from_ours_under_one_key(tmp_path: Path) -> None:
    converter = Converter(practice(), DEMO)
    records, documents = tmp_path / "records", tmp_path / "documents"
    records.mkdir()
    documents.mkdir()
    for one in (theirs("A1"), visit("B2")):
        said = one.model_dump(mode="json", exclude_none=True, exclude_defaults=True)
        (records / f"{one.number}.yaml").write_text(json.dumps(said), "utf-8")
        bundle, _ = converter.build(converter.prepare(one)[0], "collection")
        (documents / f"{one.number}.bundle.json").write_bytes(dumps(bundle))
    apart = [entry for folder in (records, documents) for entry in entries([folder], converter)]
    found = {(entry.number, entry.source): entry.practitioner for entry in apart}
    assert found == {
        ("A1", "visit"): "PS (Alder Hearing)",
        ("A1", "ours"): "PS (Alder Hearing)",
        ("B2", "visit"): "PS",
        ("B2", "ours"): "PS",
    }
