"""What stands of several visits: the newest answer, and nothing older forgotten."""

from __future__ import annotations

from typing import Any

import pytest

from tests.build.ips import guide
from tests.build.ips.some import CLIENT, OTITIS, WAX, first_code, listed, resources, section, summary, visit

PROBLEMS, PAST, ALLERGIES, MEDICINES = "11450-4", "11348-0", "48765-2", "10160-0"
PLAN, ALERTS, DEVICES, PROCEDURES = "18776-5", "104605-1", "46264-8", "47519-4"
LATEX = {"answer": None, "items": [{"term": "latex", "reaction": "rash"}]}
OWN = "urn:oid:2.25.315634712590341250083437118789586142799"
CLEARED = {
    "method": "suction",
    "outcome": {"text": "complete", "codings": [{"system": OWN, "code": "outcome-complete"}]},
}


def reason(code: str, *visits: Any) -> str:
    return first_code(section(summary(*visits), code).get("emptyReason"))


@pytest.mark.parametrize("code", [ALLERGIES, MEDICINES])
@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ((None,), "unavailable"),
        (("not asked",), "notasked"),
        (("none",), "nilknown"),
        (("none", None), "nilknown"),
        (("none", "not asked"), "nilknown"),
        (("not asked", "none"), "nilknown"),
        (("not asked", None), "notasked"),
    ],
)
def test_an_empty_list_says_why(code: str, said: tuple[str | None, ...], expected: str) -> None:
    field = "allergies" if code == ALLERGIES else "medicines"
    words = {"none": "none known" if code == ALLERGIES else "none"}
    visits = [visit(n, **{field: words.get(s, s)} if s else {}) for n, s in enumerate(said, start=1)]
    assert reason(code, *visits) == expected


def test_no_problem_recorded_is_not_no_problem() -> None:
    assert reason(PROBLEMS, visit(1)) == "unavailable"


def test_an_allergy_named_once_stays_beside_a_later_none() -> None:
    bundle = summary(visit(1, allergies=LATEX), visit(2, allergies="none known"))
    assert [a["code"]["text"] for a in listed(bundle, ALLERGIES)] == ["latex"]
    told = section(bundle, ALLERGIES)["text"]["div"]
    assert told.index("none known") < told.index("latex")


def test_a_standing_fact_told_alike_is_there_once_with_all_its_identifiers() -> None:
    fields: dict[str, Any] = {
        "allergies": LATEX,
        "cautions": [{"term": {"text": "diabetes", "assertion": "present"}}],
        "medicines": {"items": ["aspirin"]},
        "right": {
            "hearing_aid": {"style": "BTE"},
            "history": [{"term": {"text": "grommet", "assertion": "past"}, "date": "1998"}],
            "impressions": [{"term": OTITIS, "standing": True}],
        },
    }
    bundle = summary(visit(1, **fields), visit(2, **fields), visit(3, **fields))
    for code in (ALLERGIES, ALERTS, MEDICINES, DEVICES, PAST, PROBLEMS):
        (one,) = listed(bundle, code)
        assert [i["value"].partition("/")[0] for i in one["identifier"]] == ["V1", "V2", "V3"], code
        assert (
            "Visits of 10 January 2026 (V1), 10 February 2026 (V2) and 10 March 2026 (V3)"
            in (section(bundle, code)["text"]["div"])
        )


def test_what_differs_in_anything_stands_apart() -> None:
    bundle = summary(visit(1, allergies=LATEX), visit(2, allergies={"items": [{"term": "latex", "reaction": "hives"}]}))
    assert len(listed(bundle, ALLERGIES)) == 2
    both = {"hearing_aid": {"style": "BTE"}}
    changed_ears = summary(visit(1, right=both), visit(2, left=both))
    assert len({d["device"]["reference"] for d in listed(changed_ears, DEVICES)}) == 2
    assert len(listed(summary(visit(1, right=both, left=both)), DEVICES)) == 2


def test_what_was_thought_at_a_visit_is_of_that_visit() -> None:
    bundle = summary(*(visit(n, right={"impressions": [{"term": OTITIS}]}) for n in (1, 2)))
    assert len(listed(bundle, PROBLEMS)) == 2


def test_wax_that_a_later_visit_cleared_is_past() -> None:
    early = visit(1, right={"impressions": [{"term": WAX}]}, left={"impressions": [{"term": WAX}]})
    late = visit(2, right={"impressions": [{"term": WAX}], "work": [CLEARED]})
    (left,) = listed(summary(early, late), PROBLEMS)
    assert "left" in left["bodySite"][0]["text"]
    over = listed(summary(early, late), PAST)
    assert {(first_code(c["clinicalStatus"]), c["abatementDateTime"]) for c in over} == {
        ("resolved", "2026-02-10T10:00:00+00:00")
    }
    assert len(over) == 2


def test_wax_that_came_back_is_present() -> None:
    cleared = visit(1, right={"impressions": [{"term": WAX}], "work": [CLEARED]})
    back = visit(2, right={"impressions": [{"term": WAX}]})
    bundle = summary(cleared, back)
    assert [c["identifier"][0]["value"] for c in listed(bundle, PROBLEMS)] == ["V2/right/impression/0"]
    assert [c["identifier"][0]["value"] for c in listed(bundle, PAST)] == ["V1/right/impression/0"]


@pytest.mark.parametrize("later", ["absent", "past"])
def test_a_problem_that_a_later_visit_denies_is_past_and_as_sure_as_before(later: str) -> None:
    suspected = visit(1, right={"impressions": [{"term": {**OTITIS, "assertion": "suspected"}}]})
    now = visit(2, right={"impressions": [{"term": {**OTITIS, "assertion": later}}]})
    bundle = summary(suspected, now)
    assert listed(bundle, PROBLEMS) == []
    first = next(c for c in listed(bundle, PAST) if c["identifier"][0]["value"].startswith("V1"))
    assert first_code(first["verificationStatus"]) == "provisional"
    assert first_code(first["clinicalStatus"]) == "inactive"


def test_a_suspicion_is_a_problem_that_is_not_sure() -> None:
    suspected = visit(1, right={"impressions": [{"term": {**OTITIS, "assertion": "suspected"}}]})
    (one,) = listed(summary(suspected), PROBLEMS)
    assert first_code(one["verificationStatus"]) == "provisional"


def test_a_medicine_off_the_newest_list_is_not_told_as_taken() -> None:
    bundle = summary(visit(1, medicines={"items": ["aspirin", "statin"]}), visit(2, medicines={"items": ["statin"]}))
    told = {m["medicationCodeableConcept"]["text"]: m["status"] for m in listed(bundle, MEDICINES)}
    assert told == {"aspirin": "unknown", "statin": "active"}
    silent = summary(visit(1, medicines={"items": ["aspirin"]}), visit(2, medicines="not asked"), visit(3))
    assert [m["status"] for m in listed(silent, MEDICINES)] == ["active"]


def test_a_newer_list_without_medicines_leaves_the_older_one_as_not_known() -> None:
    bundle = summary(visit(1, medicines={"items": ["aspirin"]}), visit(2, medicines="none"))
    assert [m["status"] for m in listed(bundle, MEDICINES)] == ["unknown"]
    assert "Asked; none." in section(bundle, MEDICINES)["text"]["div"]


@pytest.mark.parametrize(
    ("said", "ear", "alerts"), [("absent", None, 0), ("suspected", None, 1), ("absent", "right", 1)]
)
def test_a_caution_that_a_later_visit_denies_is_no_alert(said: str, ear: str | None, alerts: int) -> None:
    diabetes = {"text": "diabetes", "assertion": "present"}
    denied = {"term": {**diabetes, "assertion": said}, "ear": ear}
    bundle = summary(visit(1, cautions=[{"term": diabetes}]), visit(2, cautions=[denied]))
    assert len(listed(bundle, ALERTS)) == alerts
    assert guide.faults(bundle) == []
    assert len(resources(bundle, "Flag")) == 1
    assert len(listed(summary(visit(1, cautions=[denied]), visit(2, cautions=[{"term": diabetes}])), ALERTS)) == 1


def test_a_later_word_on_the_hearing_aid_of_that_ear_counts() -> None:
    worn = visit(1, right={"hearing_aid": {"style": "BTE"}}, left={"hearing_aid": {"style": "BTE"}})
    bundle = summary(
        worn, visit(2, right={"hearing_aid": {"style": "BTE", "uses": False}}), visit(3, left={"note": "x"})
    )
    assert [(d["bodySite"]["text"], d["status"]) for d in listed(bundle, DEVICES)] == [
        ("right ear", "completed"),
        ("left ear", "active"),
        ("right ear", "stopped"),
    ]


def test_a_later_plan_takes_the_place_of_an_earlier_one() -> None:
    bundle = summary(visit(1, follow_up="in two weeks"), visit(2, follow_up="in a year"), visit(3))
    first, second = sorted(listed(bundle, PLAN), key=lambda p: p["identifier"][0]["value"])
    assert (first["status"], second["status"]) == ("completed", "active")
    assert second["replaces"] == [{"reference": f"urn:uuid:{first['id']}"}]


def test_work_that_was_not_done_is_no_procedure_of_the_history() -> None:
    outcome = {"text": "not attempted", "codings": [{"system": OWN, "code": "outcome-not-attempted"}]}
    none = {"method": "suction", "outcome": outcome}
    bundle = summary(visit(1, right={"work": [none, CLEARED]}))
    assert [p["status"] for p in resources(bundle, "Procedure")] == ["not-done", "completed"]
    assert [p["status"] for p in listed(bundle, PROCEDURES)] == ["completed"]
    absent = resources(bundle, "Procedure")[0]["_performedDateTime"]["extension"]
    assert [e["valueCode"] for e in absent] == ["not-applicable"]


def test_the_client_is_one_with_the_newest_facts() -> None:
    old = {**CLIENT, "phones": ["01632 960001"], "address": {"city": "Oldtown"}, "legal_name": {"family": "Penn"}}
    new = {**CLIENT, "phones": ["01632 960002"], "former_names": [{"family": "Penn"}]}
    (patient,) = resources(summary(visit(2, client=new), visit(1, client=old)), "Patient")
    assert [t["value"] for t in patient["telecom"]] == ["01632 960002"]
    assert patient["address"][0]["city"] == "Oldtown"
    assert [(n["use"], n["family"]) for n in patient["name"]] == [("official", "Quill"), ("old", "Penn")]


def test_whom_a_visit_means_is_read_from_that_visit() -> None:
    mother = {"name": {"family": "Quill", "given": ["Eve"]}, "relationship": "mother", "accompanied": True}
    agreed = {"status": "given by guardian", "given_by": "mother"}
    bundle = summary(visit(1, consent=agreed), visit(2, consent=agreed, client={**CLIENT, "guardians": [mother]}))
    (person,) = resources(bundle, "RelatedPerson")
    url = {"reference": f"urn:uuid:{person['id']}"}
    treatment = [c for c in resources(bundle, "Consent") if first_code(c["scope"]) == "treatment"]
    assert [c.get("performer", [{}])[0].get("reference") for c in treatment] == [None, url["reference"]]
    came = [any("RelatedPerson" in str(p) or url["reference"] in str(p) for p in e.get("participant", ()))
            for e in resources(bundle, "Encounter")]  # fmt: skip
    assert came == [False, True]


def test_a_name_that_was_the_legal_one_is_not_forgotten() -> None:
    was = {**CLIENT, "legal_name": {"family": "Quill"}, "former_names": [{"family": "Penn"}]}
    now = {**CLIENT, "legal_name": {"family": "Penn"}}
    (patient,) = resources(summary(visit(1, client=was), visit(2, client=now)), "Patient")
    assert [(n["use"], n["family"]) for n in patient["name"]] == [("official", "Penn"), ("old", "Quill")]


def test_the_clinic_is_told_as_it_is_now() -> None:
    before = visit(1, clinic={"name": "The old clinic", "phone": "01632 960001"})
    (clinic,) = resources(summary(before, visit(2)), "Organization")
    assert (clinic["name"], clinic["telecom"][0]["value"]) == ("The invented clinic", "01632 960001")


def test_dates_tell_which_visit_is_the_newest_not_numbers() -> None:
    first = visit(1, number="Z1", medicines={"items": ["aspirin"]})
    second = visit(2, number="A1", medicines={"items": ["statin"]})
    told = listed(summary(first, second), MEDICINES)
    assert {m["medicationCodeableConcept"]["text"]: m["status"] for m in told} == {
        "aspirin": "unknown",
        "statin": "active",
    }


def test_only_the_newest_consent_to_share_is_in_force() -> None:
    refused = visit(1, sharing={"status": "refused", "reason": "private"})
    bundle = summary(refused, visit(2))
    sharing = [c for c in resources(bundle, "Consent") if first_code(c["scope"]) == "patient-privacy"]
    assert [first_code(c["policyRule"]) for c in sharing] == ["OPTIN"]
    assert "private" in str(bundle)


def test_whoever_saw_the_client_writes_it_the_newest_first() -> None:
    by = {"approved": {"by": "PS", "at": "2026-02-11"}, "practitioners": [{"key": "PS", "name": {"family": "Ash"}}]}
    bundle = summary(visit(1), visit(2, **by))
    composition = bundle["entry"][0]["resource"]
    by_url = {e["fullUrl"]: e["resource"] for e in bundle["entry"]}
    authors = [by_url[a["reference"]] for a in composition["author"]]
    assert [a["identifier"][0]["value"] for a in authors] == ["role/PS", "role/JM", "device/visit-bridge"]
    assert [(by_url[a["party"]["reference"]]["name"][0]["family"], a["time"]) for a in composition["attester"]] == [
        ("Ash", "2026-02-11"),
        ("Moss", "2026-01-10T12:00:00+00:00"),
    ]


def test_drafts_make_a_draft() -> None:
    done, draft = visit(1), visit(2, approved=None)
    assert summary(done)["entry"][0]["resource"]["status"] == "final"
    bundle = summary(done, draft)
    assert bundle["entry"][0]["resource"]["status"] == "preliminary"
    assert "attester" in summary(done)["entry"][0]["resource"]
    assert "attester" not in bundle["entry"][0]["resource"]
    assert bundle["identifier"]["value"].endswith("/draft")
    assert "V2, not approved yet" in str(bundle["entry"][0]["resource"]["section"])


def test_the_newest_version_of_a_visit_counts() -> None:
    bundle = summary(visit(1, note="first words"), visit(1, version=2, replaces=1, note="second words"))
    assert "first words" not in str(bundle)
    assert "second words" in str(bundle)
    assert summary(visit(1))["identifier"] != bundle["identifier"]


def test_instants_come_from_the_record() -> None:
    assert summary(visit(1), visit(3), visit(2))["timestamp"] == "2026-03-10T12:00:00+00:00"


GROVE = {"key": "AG", "practice": "Ash Grove Surgery"}
GREEN = {"key": "GR", "practice": "Aldersby Green Practice"}


@pytest.mark.parametrize(
    ("said", "named"),
    [
        ([GROVE, "unknown"], "Ash Grove Surgery"),
        ([GROVE, GREEN, "unknown", None], "Aldersby Green Practice"),
        ([GROVE, "unknown", "unknown"], "Ash Grove Surgery"),
        ([GROVE, "none", "unknown"], None),
        ([GROVE, "none"], None),
        ([GROVE, "abroad"], None),
        (["unknown"], None),
        ([None, "unknown"], None),
    ],
)
def test_a_family_doctor_not_known_any_more_is_told_beside_that(said: list[Any], named: str | None) -> None:
    """That the client did not know takes back nothing; that they have none does."""
    visits = [visit(n, family_doctor=doctor) for n, doctor in enumerate(said, start=1)]
    bundle = summary(*visits)
    by_url = {e["fullUrl"]: e["resource"] for e in bundle["entry"]}
    (patient,) = (r for r in by_url.values() if r["resourceType"] == "Patient")
    first, *rest = patient["generalPractitioner"]
    assert first["identifier"]["value"].endswith(next(s for s in reversed(said) if s))
    assert [by_url[r["reference"]]["name"] for r in rest] == ([named] if named else [])
    if named:
        month = 1 + max(n for n, doctor in enumerate(said) if isinstance(doctor, dict))
        assert rest[0]["display"] == f"Named at the visit of 10 {['January', 'February'][month - 1]} 2026"


def test_the_newest_family_doctor_stands_alone() -> None:
    bundle = summary(visit(1, family_doctor=GROVE), visit(2, family_doctor=GREEN))
    (patient,) = (e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == "Patient")
    (only,) = patient["generalPractitioner"]
    assert "display" not in only
