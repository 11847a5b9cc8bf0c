"""Region packs: every region's documents conform, hold the headings that must stand, and come back as the visit.

The headings demanded here are written by hand from the published lists (outpatient letter: United Kingdom; consultation
and referral notes: United States), not read from the plans.
"""

from __future__ import annotations

import json
import os
import random
import shutil
from collections import Counter
from pathlib import Path
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import jsonschema_rs
import pytest

from bridge import data, regions
from bridge.build import Options, build_collection, build_document, build_transaction
from bridge.build.plan_of_sections import document_plan
from bridge.check import check_bundle
from bridge.check.demands import check_demands
from bridge.coding import code_visit, load_term_maps, regional
from bridge.data import load_csv, load_yaml, table_path
from bridge.fhir.own import coding, fixed, verified
from bridge.fhir.systems import OWN, systems
from bridge.fhir.tell.words import address, day, moment, worded
from bridge.issues import Severity
from bridge.number_systems import number_system
from bridge.practice.practice_yaml import read_settings
from bridge.receive import bundle_to_visits
from bridge.regions import region, region_names, region_of_language
from bridge.render.as_html import render
from bridge.visit import Visit
from tests import generate
from tests.referrals import raw

NAMESPACE = UUID("3d3b5a9c-52e5-4cf8-9a34-2b0c36a2f0aa")
ZONE = ZoneInfo("Europe/London")
REGIONS = region_names()
MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "60"))
"""Generated visits; `VISIT_BRIDGE_MANY=10000 python -m pytest tests/test_regions.py` runs the full count."""
Json = dict[str, Any]


def made(visit: Visit, name: str, kind: str = "summary", *, licensed: bool = False) -> Json:
    return build_document(visit, NAMESPACE, ZONE, kind, Options(name, licensed))


def codes(section: Json) -> set[str]:
    return {c["code"] for c in section["code"]["coding"]}


def test_the_three_regions_are_there() -> None:
    assert {"international", "uk", "us"} <= set(REGIONS)


@pytest.mark.parametrize("kind", ["region", "document"])
def test_tables_are_held_to_their_schema(kind: str) -> None:
    schema = json.loads(table_path("schemas", f"{kind}.schema.json").read_text(encoding="utf-8"))
    check = jsonschema_rs.validator_for(schema)
    paths = sorted(
        table_path("regions").glob("*.yaml") if kind == "region" else table_path("documents").glob("*/*.yaml")
    )
    assert len(paths) >= (3 if kind == "region" else 6)
    for path in paths:
        assert [str(e) for e in check.iter_errors(load_yaml(path))] == [], path
        assert path.stem == load_yaml(path)["name"]


@pytest.mark.parametrize("name", REGIONS)
def test_a_pack_names_only_what_is_there(name: str) -> None:
    pack = region(name)
    assert {*pack.client_numbers, pack.organisation, *pack.classifications} - {""} <= set(systems())
    sections = [
        s
        for kind in ("summary", "referral")
        for s in load_yaml(table_path("documents", name, f"{kind}.yaml"))["sections"]
    ]
    for section in sections:
        assert fixed("section", section["key"])
        assert all(coding(code) for code in [*section["codes"], *section.get("licensed", ())])
    free = {code for s in sections for code in s["codes"]}
    assert not {c for c in free if c.startswith("sct:")}, "headings of SNOMED CT want a licence"
    plans = [document_plan(name, kind) for kind in ("summary", "referral")]
    assert [s.asked["text"] for plan in plans for s in plan.sections if s.key == "sharing"] == [
        "The client was not asked."
    ] * 2


MANDATORY = {
    # outpatient letter: demographics, practice, attendance, allergies, clinical summary, person completing record
    ("uk", "summary"): {
        "patient-demographics", "gp-practice", "attendance-details", "allergies-and-adverse-reaction",
        "clinical-summary", "person-completing-record",
    },
    ("uk", "referral"): {
        "reason-for-referral", "patient-demographics", "gp-practice", "allergies-and-adverse-reaction",
    },
    # consultation note: history of present illness, allergies, problems, reason for visit, assessment and plan apart
    ("us", "summary"): {"10164-2", "48765-2", "11450-4", "29299-5", "51848-0", "18776-5"},
    # referral note: problems, allergies, medications, reason for referral, assessment and plan apart
    ("us", "referral"): {"11450-4", "48765-2", "10160-0", "42349-1", "51848-0", "18776-5"},
    ("international", "summary"): {"48765-2", "29545-1"},
    ("international", "referral"): {"42349-1", "48765-2", "10160-0"},
}  # fmt: skip
BARE = {
    "number": "V1", "start": "2026-05-03T10:00+01:00", "client": {"legal_name": {"family": "Rowe"}},
    "practitioners": [{"key": "PS", "no_register": True}],
}  # fmt: skip


@pytest.mark.parametrize(("name", "kind"), list(MANDATORY))
def test_headings_that_must_stand_do_so_even_when_nothing_is_recorded(name: str, kind: str) -> None:
    composition = made(Visit.model_validate(BARE), name, kind)["entry"][0]["resource"]
    found = Counter(code for section in composition["section"] for code in codes(section))
    assert {code: found[code] for code in MANDATORY[name, kind]} == dict.fromkeys(MANDATORY[name, kind], 1)
    for section in composition["section"]:
        assert section["title"]
        assert section["text"]["div"]
        assert bool(section.get("entry")) != ("emptyReason" in section)


@pytest.mark.parametrize("name", REGIONS)
def test_no_heading_of_another_country(name: str) -> None:
    visit = Visit.model_validate(raw())
    for kind in ("summary", "referral"):
        composition = made(visit, name, kind)["entry"][0]["resource"]
        used = {c["system"] for s in composition["section"] for c in s["code"]["coding"]} - {OWN}
        assert (systems()["uk-headings"] in used) == (name == "uk")
        assert systems()["sct"] not in used
    types = {"uk": "34108-1", "us": "11488-4", "international": "34108-1"}
    assert made(visit, name)["entry"][0]["resource"]["type"]["coding"][0]["code"] == types[name]


def test_headings_of_snomed_under_licence_in_the_united_kingdom_alone() -> None:
    visit = Visit.model_validate(raw())
    for name in REGIONS:
        composition = made(visit, name, licensed=True)["entry"][0]["resource"]
        used = Counter(
            c["code"] for s in composition["section"] for c in s["code"]["coding"] if c["system"].endswith("/sct")
        )
        assert bool(used) == (name == "uk")
        assert all(times == 1 for times in used.values())
    uk = made(visit, "uk", licensed=True)["entry"][0]["resource"]
    assert uk["type"]["coding"][0]["code"] == "823681000000100"


@pytest.mark.parametrize("name", REGIONS)
def test_visits_of_any_kind_conform_and_come_back(name: str) -> None:
    options = Options(name)
    for seed in range(MANY):
        visit = generate.visit(random.Random(seed), fill=0.3 + 0.6 * (seed % 7) / 7)
        bundles = [
            build_document(visit, NAMESPACE, ZONE, options=options),
            build_collection(visit, NAMESPACE, ZONE, options=options),
            *([build_document(visit, NAMESPACE, ZONE, "referral", options)] if visit.referral else []),
        ]
        for bundle in (*bundles, build_transaction(visit, NAMESPACE, ZONE, options=options)):
            errors = [i for i in check_bundle(bundle) if i.severity >= Severity.error and i.rule != "V103"]
            assert errors == [], f"seed {seed}"  # V103: the generator's moments are in no order
            assert bundle_to_visits(bundle) == ([visit], []), f"seed {seed}"


@pytest.mark.parametrize("name", REGIONS)
def test_what_is_claimed_is_what_the_pack_says(name: str) -> None:
    visit = Visit.model_validate(raw())
    bundle = made(visit, name)
    claims = {bundle["resourceType"]: bundle.get("meta", {}).get("profile", [])}
    claims |= {e["resource"]["resourceType"]: e["resource"].get("meta", {}).get("profile", []) for e in bundle["entry"]}
    for type, found in claims.items():
        assert found == ([region(name).profiles[type]] if type in region(name).profiles else []), type
    assert bool([c for c in claims.values() if c]) == (name == "uk")


def test_days_times_and_addresses_are_worded_as_there() -> None:
    postal = {"line": ["1 Quay"], "city": "Aldersby", "state": "MA", "postalCode": "01999"}
    said = {}
    for name in REGIONS:
        with worded(region(name).wording):
            said[name] = (
                day("2026-11-26"),
                day("2026-11"),
                day("2026"),
                moment("2026-11-26T14:05:00Z"),
                address(postal),
            )
    assert said["uk"][:4] == ("26 November 2026", "November 2026", "2026", "26 November 2026, 14:05")
    assert said["us"] == (
        "November 26, 2026", "November 2026", "2026", "November 26, 2026, 2:05 pm", "1 Quay, Aldersby, MA 01999",
    )  # fmt: skip
    assert said["international"][:2] == ("26 November 2026", "November 2026")
    with worded(region("us").wording):
        assert [moment(f"2026-11-26T{t}:00Z")[19:] for t in ("00:05", "11:59", "12:00", "23:59")] == [
            "12:05 am", "11:59 am", "12:00 pm", "11:59 pm",
        ]  # fmt: skip


@pytest.mark.parametrize(("name", "wanted", "not_wanted"), [
    ("us", "May 26, 2026", "26 May 2026"),
    ("uk", "26 May 2026", "May 26, 2026"),
    ("international", "26 May 2026", "NHS"),
])  # fmt: skip
def test_a_letter_is_worded_by_its_own_region_throughout(name: str, wanted: str, not_wanted: str) -> None:
    bundle = made(Visit.model_validate(raw()), name)
    page = render(bundle).content.decode()
    assert wanted in page
    assert not_wanted not in page
    narratives = " ".join(e["resource"]["text"]["div"] for e in bundle["entry"])
    assert wanted in narratives
    assert not_wanted not in narratives
    assert ("NHS number" in page) == (name == "uk")


def test_a_district_is_the_state_in_the_united_states() -> None:
    changes = {"client": {**raw()["client"], "address": {"city": "Aldersby", "district": "MA", "postcode": "01999"}}}
    visit = Visit.model_validate({**raw(), **changes})
    for name, element in (("us", "state"), ("uk", "district")):
        bundle = made(visit, name)
        (patient,) = (e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == "Patient")
        assert patient["address"][0][element] == "MA"
        assert bundle_to_visits(bundle)[0] == [visit]


def test_codes_of_organisations_stand_under_the_register_of_the_country() -> None:
    visit = Visit.model_validate({**raw(), "clinic": {"name": "Clinic", "organisation_code": "1234567893"}})
    for name, known in (("uk", "ods-organization"), ("us", "us-npi"), ("international", None)):
        (clinic,) = (
            e["resource"] for e in made(visit, name)["entry"] if e["resource"].get("name") == "Clinic"
        )  # fmt: skip
        (number,) = (i for i in clinic["identifier"] if i["value"] == "1234567893")
        assert number.get("system") == (systems()[known] if known else None)


def coded(impression: str, name: str) -> tuple[Visit, list[str]]:
    record = {**raw(), "right": {"before": {"drum": "normal"}, "impressions": [impression]}}
    visit, _ = code_visit(Visit.model_validate(record), load_term_maps())
    visit, issues = regional(visit, region(name))
    return visit, [i.rule for i in issues]


def test_a_suspicion_goes_out_in_words_in_the_united_kingdom() -> None:
    visit, told = coded("?otitis externa", "uk")
    assert told == ["D151"]
    bundle = made(visit, "uk")
    (condition,) = (e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == "Condition")
    assert {c["system"] for c in condition["code"]["coding"]} == {OWN}
    assert condition["code"]["text"] == "?otitis externa"
    headings = {s["title"]: s for s in bundle["entry"][0]["resource"]["section"]}
    assert "Diagnoses" not in headings
    assert "Otitis externa" in headings["Problems and issues"]["text"]["div"].replace("otitis", "Otitis")
    for name in ("us", "international"):
        visit, told = coded("?otitis externa", name)
        assert told == []
        assert "http://snomed.info/sct" in {c.system for c in visit.right.impressions[0].term.codings}  # type: ignore[union-attr]


def test_a_confirmed_impression_has_the_classification_of_its_country() -> None:
    found = {name: coded("impacted wax", name)[0].right for name in REGIONS}
    mine = {
        name: {c.system.rpartition("/")[2]: c.code for c in record.impressions[0].term.codings if "icd" in c.system}
        for name, record in found.items()
        if record
    }
    assert mine == {"uk": {}, "us": {"icd-10-cm": "H61.21"}, "international": {"icd-10": "H61.2"}}


def test_classifications_stand_in_the_tables_of_codes_with_their_side() -> None:
    impressions = {row["concept"] for row in load_csv(table_path("terms", "impression.csv"))}
    rows = list(load_csv(table_path("classifications.csv")))
    side = {
        f"{r['system']}:{r['code']}": r["laterality"] for p in table_path("codes").glob("icd*.csv") for r in load_csv(p)
    }
    used = set()
    for row in rows:
        assert row["concept"] in impressions
        for ear in ("right", "left"):
            name = f"{row['system']}:{row[ear]}"
            assert name in verified()
            assert side[name] == ("none" if row["right"] == row["left"] else ear)
            used.add(name)
    assert used == set(side)
    assert Counter((r["system"], r["concept"]) for r in rows).most_common(1)[0][1] == 1


def test_a_code_of_a_classification_on_the_other_ear_is_found() -> None:
    visit, _ = coded("impacted wax", "us")
    bundle = made(visit, "us")
    (condition,) = (e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == "Condition")
    (code,) = (c for c in condition["code"]["coding"] if c["system"].endswith("icd-10-cm"))
    code["code"] = "H61.22"
    assert "C101" in {i.rule for i in check_bundle(bundle)}
    table = {row["code"]: row["laterality"] for row in load_csv(table_path("laterality-icd-10-cm.csv"))}
    for row in load_csv(table_path("codes", "icd-10-cm.csv")):
        assert table.get(row["code"], "none") == row["laterality"]


def test_demands_are_told_where_they_are_not_met() -> None:
    visit = Visit.model_validate({**raw(), "practitioners": [{"key": "PS"}]})
    told = {i.where.path for i in check_demands(visit, region("uk"))}
    assert told == {
        "client.address", "family_doctor.organisation_code", "practitioners[0].role", "practitioners[0].registrations",
    }  # fmt: skip
    numbered = {**raw()["client"], "address": {"city": "Aldersby"}, "nhs_number": "9990000018"}
    for status, wanted in (("01", set()), ("02", {"client.nhs_number_status"}), (None, {"client.nhs_number_status"})):
        client = {**numbered, "nhs_number_status": status} if status else numbered
        visit = Visit.model_validate({**raw(), "client": client, "family_doctor": "none"})
        assert {i.where.path for i in check_demands(visit, region("uk"))} == wanted
        assert {i.where.path for i in check_demands(visit, region("us"))} == set()
    whole = {**raw(), "family_doctor": {"practice": "Surgery", "organisation_code": "Z99902"}}
    whole["client"] = {**whole["client"], "address": {"city": "Aldersby"}, "language": "the one from home"}
    assert [i.rule for i in check_demands(Visit.model_validate(whole), region("uk"))] == ["D152"]


def test_numbers_of_every_register_by_their_own_rule() -> None:
    npi = number_system("http://hl7.org/fhir/sid/us-npi")
    assert npi is not None
    assert not npi.fails("1234567893")  # the worked example of the standard
    assert [d for d in "0123456789" if not npi.fails(f"123456789{d}")] == ["3"]
    assert npi.misshapen("3234567893")
    nhs = number_system("https://fhir.nhs.uk/Id/nhs-number")
    assert nhs is not None
    assert [d for d in "0123456789" if not nhs.fails(f"999000001{d}")] == ["8"]
    assert nhs.fails("1111111111")  # passes the sum and is refused
    assert not any(not nhs.fails(f"100000001{d}") for d in "0123456789")  # the check would be 10: never issued


def test_a_document_shows_which_pack_it_was_written_by() -> None:
    for name in REGIONS:
        assert (
            region_of_language(made(Visit.model_validate(BARE), name)["entry"][0]["resource"]["language"]).name == name
        )
    assert region_of_language("de").name == "international"


def us_problems(resource: Json) -> list[str]:
    """What US Core 9.0.0 asks for beyond R4, as far as every record can hold it; written by hand from its profiles."""
    type, found = resource["resourceType"], list[str]()

    def must(*names: str) -> None:
        found.extend(f"{type}.{name}" for name in names if not any(resource.get(n) for n in name.split("|")))

    match type:
        case "Patient":
            must("identifier", "name")
            found += ["Patient.identifier.system"] * (
                not all(i.get("system") and i.get("value") for i in resource["identifier"])
            )
        case "Condition":
            must("category", "code", "subject")
        case "Procedure":
            must("code", "subject")
            if resource["status"] in ("completed", "in-progress") and "encounter" in resource:  # else long ago, undated
                must("performedDateTime|performedPeriod")
        case "Observation":
            must("category", "subject", "code")
            quantity = resource.get("valueQuantity")
            if quantity and quantity.get("code") and quantity["system"] != "http://unitsofmeasure.org":
                found.append("Observation.valueQuantity.system")
            if not (resource.get("component") or resource.get("hasMember")) and not any(
                k.startswith("value") for k in resource
            ):
                must("dataAbsentReason")
        case "Practitioner":
            must("identifier")
        case "Organization":
            must("active")
        case "Encounter":
            must("type", "subject", "class", "status")
        case "AllergyIntolerance" | "ServiceRequest":
            must("code")
    return found


def test_shapes_of_the_united_states_are_followed() -> None:
    met = Counter[str]()
    for seed in range(MANY):
        visit = generate.visit(random.Random(seed), fill=0.3 + 0.6 * (seed % 7) / 7)
        for entry in made(visit, "us")["entry"]:
            met[entry["resource"]["resourceType"]] += 1
            assert us_problems(entry["resource"]) == [], f"seed {seed}"
    assert min(met[t] for t in ("Patient", "Condition", "Procedure", "Observation", "Encounter", "ServiceRequest")) > 15


def test_what_is_claimed_holds() -> None:
    """Every kind of visit, in every form and code set, against UK Core as it was published."""
    for seed in range(MANY):
        visit = generate.visit(random.Random(seed), fill=0.3 + 0.6 * (seed % 7) / 7)
        options = Options("uk", licensed=bool(seed % 2))
        for bundle in (
            build_document(visit, NAMESPACE, ZONE, "referral" if visit.referral else "summary", options),
            build_collection(visit, NAMESPACE, ZONE, options=options),
            build_transaction(visit, NAMESPACE, ZONE, options=options),
        ):
            told = [i for i in check_bundle(bundle) if i.rule.startswith("P")]
            assert told == [], f"seed {seed}"


def test_a_claim_that_does_not_hold_is_found() -> None:
    client = {**raw()["client"], "nhs_number": "9990000018", "nhs_number_status": "01"}
    bundle = made(Visit.model_validate({**raw(), "client": client}), "uk")
    place, patient = next(
        (n, e["resource"]) for n, e in enumerate(bundle["entry"]) if e["resource"]["resourceType"] == "Patient"
    )
    patient["identifier"].append({"system": systems()["nhs-number"], "value": "9990000026"})
    errors = [i for i in check_bundle(bundle) if i.severity >= Severity.error]
    assert {i.rule[0] for i in errors} == {"P"}
    assert all((i.where.path or "").startswith(f"Bundle.entry[{place}].resource") for i in errors)
    assert any("nhsNumber" in i.message for i in errors)


def test_a_code_outside_of_an_extensible_set_is_told_unless_it_is_known_to_fit() -> None:
    claim = {"profile": [region("uk").profiles["Consent"]]}
    consent = {
        "resourceType": "Consent", "meta": claim, "status": "active", "patient": {"display": "somebody"},
        "scope": {"coding": [{"system": systems()["consentscope"], "code": "patient-privacy"}]},
        "category": [{"coding": [{"system": "http://loinc.org", "code": "59284-0"}]}],
    }  # fmt: skip
    for code, told in (("OPTIN", []), ("OPTOUT", []), ("IMPLIED", ["P121"])):
        policy = {"coding": [{"system": systems()["v3-ActCode"], "code": code}]}
        found = check_bundle({**consent, "policyRule": policy})
        assert [i.rule for i in found if i.rule == "P121"] == told


def test_another_region_is_data_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A country that nobody has: its pack and plans are copied and changed, and letters follow them."""
    tables = tmp_path / "mappings"
    tables.mkdir()
    for path in table_path("regions").parent.iterdir():
        if path.name in ("regions", "documents"):
            shutil.copytree(path, tables / path.name)
        else:
            (tables / path.name).symlink_to(path)
    pack = (tables / "regions/us.yaml").read_text(encoding="utf-8")
    for old, new in (
        ("name: us", "name: atlantis"),
        ("language: en-US", "language: en-AU"),
        ('day: "{month} {day}, {year}"', 'day: "{year} {month} {day}"'),
    ):
        assert old in pack
        pack = pack.replace(old, new, 1)
    (tables / "regions/atlantis.yaml").write_text(pack, encoding="utf-8")
    shutil.copytree(tables / "documents/us", tables / "documents/atlantis")
    monkeypatch.setattr(data, "mappings_root", lambda: tables)
    caches = (region, region_names, regions._by_place)
    for cached in caches:
        cached.cache_clear()
    try:
        visit = Visit.model_validate(raw())
        bundle = made(visit, "atlantis")
        assert bundle["entry"][0]["resource"]["language"] == "en-AU"
        assert "2026 May 26" in render(bundle).content.decode()
        assert bundle_to_visits(bundle) == ([visit], [])
        assert [i for i in check_bundle(bundle) if i.severity >= Severity.error] == []
        assert "your emergency number" in render(made(visit, "atlantis", "client")).content.decode()
        text = table_path("demo", "practice.yaml").read_text(encoding="utf-8")
        practice, _ = read_settings(text.replace("region: uk", "region: atlantis").encode())
        assert practice is not None
        assert practice.region == "atlantis"
    finally:
        monkeypatch.undo()
        for cached in caches:
            cached.cache_clear()
