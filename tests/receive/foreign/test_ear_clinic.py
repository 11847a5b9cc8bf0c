"""A clinic's bundle written by hand in another style than ours, and what a person reads out of it.

References are relative, absolute with a version, and by identifier; the side stands in an extension, in a code of
part of one ear, in a LOINC code; a medicine is contained; a modifier, a second client
and a mother's disorder are traps.
"""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest

from bridge.receive.foreign import Foreign, read_foreign
from bridge.received_visits import visit_content
from bridge.visit import Visit

BUNDLE = json.loads((Path(__file__).parent / "ear_clinic.json").read_text(encoding="utf-8"))
Json = dict[str, Any]


def read(**changes: Json) -> Foreign:
    """The bundle read with elements of resources (by id) set to something else; None takes one away."""
    bundle = copy.deepcopy(BUNDLE)
    for entry in bundle["entry"]:
        for key, value in changes.get(entry["resource"]["id"].replace("-", "_"), {}).items():
            entry["resource"][key] = value
            if value is None:
                del entry["resource"][key]
    return read_foreign(bundle)


def visit(**changes: Json) -> Visit:
    foreign = read(**changes)
    assert len(foreign.visits) == 1
    return foreign.visits[0]


def test_who_when_and_where() -> None:
    read = visit()
    assert (read.number, read.start, read.end) == ("HV-2026-88", "2026-03-04T10:00+00:00", "2026-03-04T10:40+00:00")
    client = read.client
    assert (client.legal_name.family, client.legal_name.given) == ("Marjoram", ("Odette", "Q"))
    assert (client.nhs_number, client.nhs_number_status, client.number) == ("9990000018", "01", None)
    assert [(i.value, i.assigner) for i in client.identifiers] == [("CH-0017", "Harbour Ear Rooms")]
    assert client.phones == ("01632 960017",)
    assert client.address
    assert client.address.city == "Harbourton"
    assert read.clinic
    assert read.clinic.name == "Harbour Ear Rooms"
    assert read.family_doctor
    assert read.family_doctor.organisation_code == "Z99999"
    assert [p.registrations[0].number for p in read.practitioners] == ["99A9999E"]


def test_each_fact_is_on_its_ear_at_its_stage_with_its_own_codes() -> None:
    read = visit()
    assert read.left
    assert read.right
    work = read.left.work[0]
    assert work.method.text == "suction clearance"
    assert [(c.code, c.version) for c in work.method.codings] == [
        ("385904005", "http://snomed.info/sct/900000000000207008"),
        ("SUC2", None),
    ]
    assert read.left.before
    assert read.left.before.canal
    assert read.left.before.canal.findings[0].term.text == "flaky rim"
    assert read.left.after
    assert read.left.after.drum
    assert read.left.after.drum.findings[0].term.codings[0].code == "TM-SC"
    assert read.right.impressions[0].term.assertion == "suspected"
    assert not read.right.work
    assert [t.frequency for t in read.right.hearing_before.thresholds] == [500]  # type: ignore[union-attr]


def test_what_is_not_the_clients_or_not_sure_is_in_no_visit() -> None:
    told = visit().model_dump_json()
    assert [word for word in ("cholesteatoma", "otosclerosis", "small hole", "Basil") if word in told] == []
    assert {"X152", "X156", "X159"} <= {i.rule for i in read().issues}


@pytest.mark.parametrize("words", ["0", "n", "(n)", "-", "0/5"])
def test_a_sign_for_no_is_no_finding(words: str) -> None:
    found = read(before={"valueCodeableConcept": {"text": words}})
    assert [r["id"] for r in found.kept if r["id"] == "before"] == ["before"]
    left = found.visits[0].left
    assert left
    assert left.before is None or left.before.canal is None


def test_standing_facts_in_no_visit_are_counted_for_each_client() -> None:
    told = [(i.where.path, i.message) for i in read().issues if i.rule == "X159"]
    mine, other = "Bundle.entry[0].resource", "Bundle.entry[1].resource"
    problems = "1 of type Condition (problems and diagnoses)"
    assert [path for path, message in told if problems in message] == [mine, other]
    assert [path for path, _ in told].count(other) == 1
    nobodys = read(c_other={"subject": None}).issues
    assert [i.where.path for i in nobodys if i.rule == "X159" and "of whom it is not clear" in i.message] == ["Bundle"]


def test_allergies_and_medicines_of_the_visit() -> None:
    read = visit()
    assert read.medicines
    assert read.medicines.items[0].name.text == "warfarin 3 mg tablets"
    assert read.allergies
    assert read.allergies.items[0].reaction == "hives"
    assert visit(m={"status": "completed"}).medicines is None
    assert visit(m={"status": None}).medicines is None
    resolved = {
        "coding": [{"system": "http://terminology.hl7.org/CodeSystem/allergyintolerance-clinical", "code": "resolved"}]
    }
    assert visit(a={"clinicalStatus": resolved}).allergies is None
    latex = {"coding": [{"system": "http://snomed.info/sct", "code": "716186003", "display": "No known allergy"}]}
    assert visit(a={"code": latex}).allergies.answer == "none known"  # type: ignore[union-attr]
    assert visit(a={"code": {"text": "no known latex allergy"}}).allergies is None


@pytest.mark.parametrize(
    "encounter",
    [
        {"status": "planned"}, {"status": "cancelled"}, {"status": "entered-in-error"}, {"status": None},
        {"class": {"system": "http://terminology.hl7.org/CodeSystem/v3-ActCode", "code": "IMP"}}, {"class": None},
        {"period": {"end": "2026-03-04"}}, {"period": {"start": "2026"}}, {"period": {"start": "2026-02-30"}},
        {"modifierExtension": [{"url": "http://records.example.org/x", "valueBoolean": True}]},
        {"subject": {"reference": "Patient/nobody"}}, {"_status": {"extension": []}},
    ],
)  # fmt: skip
def test_an_encounter_that_is_no_visit_makes_none(encounter: Json) -> None:
    foreign = read(e_1=encounter)
    assert foreign.visits == []
    assert {"X151", "X155"} & {i.rule for i in foreign.issues}
    assert len(foreign.kept) == len(BUNDLE["entry"])


@pytest.mark.parametrize(
    "patient",
    [
        {"name": None},
        {"active": False},
        {"link": [{"other": {"reference": "Patient/p-18"}, "type": "replaced-by"}]},
        {"modifierExtension": [{"url": "http://records.example.org/x", "valueBoolean": True}]},
    ],
)
def test_a_client_in_doubt_has_no_visit(patient: Json) -> None:
    assert read(p_17=patient).visits == []


def test_a_visit_can_be_kept_as_a_file_and_read_again() -> None:
    found = visit()
    assert visit_content(found)[0] is not None


def test_an_encounter_without_a_number_takes_the_id_it_has() -> None:
    assert visit(e_1={"identifier": None}).number == "e-1"


def test_death_is_told() -> None:
    assert "X160" in {i.rule for i in read(p_17={"deceasedDateTime": "2026-04-01"}).issues}
    assert "X160" not in {i.rule for i in read(p_17={"deceasedBoolean": False}).issues}


def test_messages_hold_nothing_of_the_client() -> None:
    told = " ".join(i.message + i.where.path for i in read(e_1={"status": "planned"}).issues + read().issues)
    assert [
        word for word in ("Marjoram", "Odette", "9990000018", "HV-2026", "warfarin", "cholesteatoma") if word in told
    ] == []


def test_no_known_allergy_counts_only_where_nothing_else_is_told() -> None:
    bundle = copy.deepcopy(BUNDLE)
    allergy = next(e["resource"] for e in bundle["entry"] if e["resource"]["id"] == "a")
    none = {**allergy, "id": "none", "code": {"coding": [{"system": "http://snomed.info/sct", "code": "716186003"}]}}
    bundle["entry"].append({"resource": none})
    assert [a.term.text for a in read_foreign(bundle).visits[0].allergies.items] == ["ciprofloxacin"]  # type: ignore[union-attr]
    allergy["clinicalStatus"] = {"coding": [{"system": "http://example.org", "code": "active"}]}
    assert read_foreign(bundle).visits[0].allergies is None


@pytest.mark.parametrize(
    "change",
    [
        {"method": {"text": "bone conduction"}},
        {"code": {"text": "bone conduction audiogram"}},
        {"note": [{"text": "masked on the other side"}]},
        {"status": "preliminary"},
        {"effectiveDateTime": "2025-03-04T10:02:00+00:00"},
    ],
)
def test_thresholds_taken_in_another_way_are_kept(change: Json) -> None:
    found = visit(audio=change)
    assert found.right is not None
    assert found.right.hearing_before is None


def test_a_level_on_another_scale_is_no_hearing_threshold() -> None:
    """The code dB of UCUM is that of dB SPL too, which is another number (ISO 389-1): the unit in words tells it."""
    bundle = copy.deepcopy(BUNDLE)
    audio = next(e["resource"] for e in bundle["entry"] if e["resource"]["id"] == "audio")
    for part in (audio, *audio["component"]):
        if "valueQuantity" in part:
            part["valueQuantity"] |= {"unit": "dB SPL", "code": "dB"}
    right = read_foreign(bundle).visits[0].right
    assert right is not None
    assert right.hearing_before is None


def test_a_threshold_above_what_was_tried_is_no_threshold() -> None:
    found = visit(audio={"effectiveDateTime": "2026-03-04T10:02:00+00:00"}).model_dump()
    assert [t["level"] for t in found["right"]["hearing_before"]["thresholds"]] == [20]
    assert [t["level"] for t in found["left"]["hearing_before"]["thresholds"]] == [35]


def test_what_was_seen_beside_work_of_no_known_ear_waits_for_its_time() -> None:
    """The procedure may have been on the right ear, so that "before" is no longer sure there."""
    found = visit(w_1={"bodySite": None})
    assert found.left is not None
    assert found.right is not None
    assert found.left.before is not None  # its time says so
    assert found.right.hearing_before is None


def added(resource: Json) -> Visit:
    """The visit of the bundle with one more resource of it."""
    bundle = copy.deepcopy(BUNDLE)
    subject = {"subject": {"reference": "Patient/p-17"}, "encounter": {"reference": "Encounter/e-1"}}
    bundle["entry"].append({"resource": {"id": "more", **subject, **resource}})
    return read_foreign(bundle).visits[0]


INSTRUCTION = {"system": "http://terminology.hl7.org/CodeSystem/communication-category", "code": "instruction"}
COMMUNICATION = {
    "resourceType": "Communication",
    "status": "completed",
    "category": [{"coding": [INSTRUCTION]}],
    "payload": [{"contentString": "Keep the ear dry for a week."}],
}


def test_an_instruction_is_advice() -> None:
    assert [a.term.text for a in added(COMMUNICATION).advice] == ["Keep the ear dry for a week."]
    changes: list[Json] = [
        {"status": "not-done"}, {"status": "entered-in-error"}, {"category": [{"text": "instruction"}]},
        {"sender": {"reference": "Patient/p-17"}}, {"payload": [{"contentString": "a"}, {"contentString": "b"}]},
        {"encounter": {"reference": "Encounter/e-9"}}, {"topic": {"text": "none"}},
    ]  # fmt: skip
    for change in changes:
        assert added({**COMMUNICATION, **change}).advice == ()


REFERRAL = {
    "resourceType": "ServiceRequest",
    "status": "active",
    "intent": "order",
    "priority": "urgent",
    "code": {"coding": [{"system": "http://snomed.info/sct", "code": "308456006"}], "text": "hearing clinic"},
    "reasonCode": [{"text": "one-sided loss"}],
    "bodySite": [{"coding": [{"system": "http://snomed.info/sct", "code": "25577004"}]}],
}


def test_a_referral_needs_its_place_its_reason_and_how_fast() -> None:
    found = added(REFERRAL).referral
    assert found is not None
    assert (found.to.text, found.urgency, found.ear, found.reason) == (
        "hearing clinic",
        "urgent",
        "right",
        "one-sided loss",
    )
    changes: list[Json] = [
        {"priority": "asap"}, {"priority": None}, {"doNotPerform": True}, {"status": "revoked"}, {"intent": "proposal"},
        {"reasonCode": []}, {"code": {"text": "hearing clinic"}},
    ]  # fmt: skip
    for change in changes:
        assert added({k: v for k, v in {**REFERRAL, **change}.items() if v is not None}).referral is None


def document() -> Json:
    """The same as a document about its one encounter, whose resources name no encounter."""
    bundle = {**copy.deepcopy(BUNDLE), "type": "document"}
    entries = [e for e in bundle["entry"] if e["resource"]["id"] not in ("p-18", "c-other", "c-turned")]
    for entry in entries:
        for key in ("encounter", "context"):
            entry["resource"].pop(key, None)
    head = {"resourceType": "Composition", "id": "doc", "status": "final", "subject": {"reference": "Patient/p-17"}}
    return {**bundle, "entry": [{"resource": head}, *entries]}


def test_a_document_about_one_encounter_needs_no_reference_to_it() -> None:
    found = read_foreign(document()).visits[0]
    assert found.left is not None
    assert found.right is not None
    assert found.left.work[0].method.text == "suction clearance"
    assert found.right.impressions[0].term.text == "swimmer's canal"
    assert found.allergies is not None
    assert found.medicines is not None
    assert found.right.hearing_before is None  # nobody says when it was measured


def test_with_a_second_encounter_nothing_is_given_to_either_by_guess() -> None:
    bundle = document()
    encounter = copy.deepcopy(next(e for e in bundle["entry"] if e["resource"]["resourceType"] == "Encounter"))
    encounter["fullUrl"] = "http://records.example.org/fhir/Encounter/e-2"
    encounter["resource"].update({"id": "e-2", "identifier": [{"value": "HV-2"}]})
    bundle["entry"].append(encounter)
    visits = read_foreign(bundle).visits
    assert len(visits) == 2
    assert [v for v in visits if v.left or v.right or v.allergies or v.medicines] == []


@pytest.mark.parametrize("code", ["10157-6", "11348-0"])
def test_a_section_of_the_past_or_of_the_family_is_heeded(code: str) -> None:
    bundle = document()
    right = next(e["resource"] for e in bundle["entry"] if e["resource"]["id"] == "c-right")
    right["verificationStatus"]["coding"][0]["code"] = "confirmed"
    entry = {"reference": "Condition/c-right"}
    coding = [{"system": "http://loinc.org", "code": code}]
    bundle["entry"][0]["resource"]["section"] = [{"section": [{"code": {"coding": coding}, "entry": [entry]}]}]
    right_ear = read_foreign(bundle).visits[0].right
    if code == "10157-6":
        assert right_ear is None
    else:
        assert right_ear is not None
        assert right_ear.impressions == ()
        assert right_ear.history[0].term.assertion == "past"


def test_what_was_taken_off_a_list_is_in_no_visit() -> None:
    bundle = copy.deepcopy(BUNDLE)
    entry = {"item": {"reference": "Condition/c-right"}, "deleted": True}
    listed = {"resourceType": "List", "status": "current", "mode": "changes", "entry": [entry]}
    bundle["entry"].append({"resource": listed})
    assert not (right := read_foreign(bundle).visits[0].right) or right.impressions == ()


@pytest.mark.parametrize(
    ("change", "number"),
    [
        ([("9990000018", {})], "9990000018"),
        ([("999 000 0018", {})], "9990000018"),
        ([("9990000018", {}), ("9990000026", {})], None),
        ([("9990000018", {"use": "old"}), ("9990000026", {})], "9990000026"),
        ([("9990000018", {"period": {"end": "2020"}}), ("9990000026", {})], "9990000026"),
        ([("99900000", {})], None),
    ],
)
def test_one_number_in_use_or_none(change: list[tuple[str, Json]], number: str | None) -> None:
    numbers = [{"system": "https://fhir.nhs.uk/Id/nhs-number", "value": value, **more} for value, more in change]
    assert (
        visit(
            p_17={"identifier": [*numbers, {"system": "http://records.example.org/chart", "value": "CH-0017"}]}
        ).client.nhs_number
        == number
    )


def test_who_referred_did_not_do_the_work() -> None:
    referrer = {
        "type": [{"coding": [{"system": "http://terminology.hl7.org/CodeSystem/v3-ParticipationType", "code": "REF"}]}],
        "individual": {"reference": "Practitioner/d-1"},
    }
    assert visit(e_1={"participant": [referrer]}).practitioners == ()


def test_words_that_name_the_other_ear_are_no_note() -> None:
    amount = {
        "resourceType": "Observation",
        "status": "final",
        "code": {"coding": [{"system": "http://loinc.org", "code": "32428-5"}]},
        "bodySite": {"coding": [{"system": "http://snomed.info/sct", "code": "71471005"}]},
        "effectiveDateTime": "2026-03-04T10:05:00+00:00",
        "valueString": "wax on the right",
    }
    assert "wax on the right" not in added(amount).model_dump_json()
    assert "wax all over" in added({**amount, "valueString": "wax all over"}).model_dump_json()


@pytest.mark.parametrize(
    ("name", "change", "words"),
    [
        ("c-right", {}, "swimmer's canal (active, provisional)"),
        ("c-turned", {}, "cholesteatoma (confirmed, modified in a way that nobody here can read)"),
        ("m", {"status": "not-taken"}, "warfarin 3 mg tablets (not-taken)"),
        ("w-1", {"status": "entered-in-error"}, "suction clearance (entered-in-error)"),
        ("c-right", {"code": {"coding": [{"code": "x"}]}}, ""),
    ],
)
def test_the_account_says_what_and_in_which_state(name: str, change: Json, words: str) -> None:
    lines = read(**{name.replace("-", "_"): change}).account
    place = next(n for n, e in enumerate(BUNDLE["entry"]) if e["resource"]["id"] == name)
    assert [line.what for line in lines if line.path == f"Bundle.entry[{place}].resource"] == [words]


def test_of_two_versions_under_one_address_neither_is_in_a_visit() -> None:
    bundle = copy.deepcopy(BUNDLE)
    entry = next(e for e in bundle["entry"] if e["resource"]["id"] == "c-right")
    other = copy.deepcopy(entry)
    other["resource"]["verificationStatus"]["coding"][0]["code"] = "refuted"
    bundle["entry"].append(other)
    assert "swimmer" not in read_foreign(bundle).visits[0].model_dump_json()


def test_a_client_inside_a_resource_is_not_the_client_of_the_bundle() -> None:
    inside = [{"resourceType": "Patient", "id": "who", "name": [{"family": "Marjoram"}]}]
    found = read(c_right={"contained": inside, "subject": {"reference": "#who"}})
    assert "swimmer" not in found.visits[0].model_dump_json()
    assert ("X155", "Bundle.entry[11].resource") in {(i.rule, i.where.path) for i in found.issues}


def test_the_same_id_on_another_server_is_another_client() -> None:
    found = read(c_right={"subject": {"reference": "http://elsewhere.example.org/fhir/Patient/p-17"}})
    assert "swimmer" not in found.visits[0].model_dump_json()


def test_a_fact_that_names_another_encounter_is_not_of_this_visit() -> None:
    """Neither one that is in the bundle nor one that is not, even in a document about one encounter."""
    bundle = document()
    right = next(e["resource"] for e in bundle["entry"] if e["resource"]["id"] == "c-right")
    right["encounter"] = {"reference": "Encounter/elsewhere"}
    assert "swimmer" not in read_foreign(bundle).visits[0].model_dump_json()
