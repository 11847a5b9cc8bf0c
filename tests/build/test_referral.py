"""The referral's ServiceRequest and its document: priority, last moment, ears, receiver, and the same visit again."""

from __future__ import annotations

import random
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from bridge.build import build_document
from bridge.check import check_bundle
from bridge.fhir.ids import Ids
from bridge.issues import Severity
from bridge.receive import bundle_to_visits
from bridge.referral_tables import last_moment
from tests import generate
from tests.referrals import visit

Json = dict[str, Any]
NAMESPACE = UUID(int=5)
LONDON = ZoneInfo("Europe/London")


def document(kind: str = "referral", **changes: Any) -> Json:
    return build_document(visit(**changes), NAMESPACE, LONDON, kind)


def of_type(bundle: Json, type: str) -> list[Json]:
    return [e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == type]


def order(bundle: Json) -> Json:
    return next(r for r in of_type(bundle, "ServiceRequest") if r["intent"] == "order")


@pytest.mark.parametrize(
    ("start", "urgency", "end"),
    [
        ("2026-05-26T11:30+01:00", "immediate", "2026-05-27T11:30+01:00"),
        ("2026-05-26T11:30:00+01:00", "immediate", "2026-05-27T11:30:00+01:00"),
        ("2026-05-26T11:30+01:00", "urgent", "2026-06-09"),
        ("2026-05-26", "immediate", ""),  # counted from a day, 24 hours could become 48
        ("2026-12-25", "urgent", "2027-01-08"),
        ("2026-10-24T11:30+01:00", "immediate", "2026-10-25T10:30+00:00"),  # 24 hours, over the end of summer time
        ("2026-03-28T11:30+00:00", "immediate", "2026-03-29T12:30+01:00"),
        ("2026-05-26", "routine", ""),
        ("2026-05", "urgent", ""),
    ],
)
def test_the_last_moment_that_an_urgency_means(start: str, urgency: str, end: str) -> None:
    """NICE NG98 1.1.2: within 24 hours, within 2 weeks."""
    assert last_moment(start, urgency, LONDON) == end


@pytest.mark.parametrize(
    ("urgency", "by", "priority", "end"),
    [
        ("immediate", None, "stat", "2026-05-27T11:30:00+01:00"),
        ("urgent", None, "urgent", "2026-06-09"),
        ("routine", None, "routine", None),
        ("urgent", "2026-06-05", "urgent", "2026-06-05"),
        ("routine", "2026-08", "routine", "2026-08"),
        ("immediate", "2026-05-27T11:30+01:00", "stat", "2026-05-27T11:30:00+01:00"),
    ],
)
def test_priority_and_deadline(urgency: str, by: str | None, priority: str, end: str | None) -> None:
    changes: Json = {"referral__urgency": urgency, **({"referral__by": by} if by else {})}
    made = visit(**changes)
    found = order(document(**changes))
    assert (found["priority"], found.get("occurrencePeriod", {}).get("end")) == (priority, end)
    for kind in ("summary", "referral"):
        (back,), issues = bundle_to_visits(document(kind, **changes))
        assert (back, issues) == (made, [])
        assert back.referral is not None
        assert back.referral.by == by


def test_without_a_time_of_day_24_hours_stay_words() -> None:
    bundle = document(start="2026-05-26")
    assert "occurrencePeriod" not in order(bundle)
    assert "within 24 hours" in [d["text"] for d in order(bundle)["orderDetail"]]
    (back,), issues = bundle_to_visits(bundle)
    assert (back, issues) == (visit(start="2026-05-26"), [])


@pytest.mark.parametrize(
    ("ear", "sites"),
    [("left", ["left ear"]), ("right", ["right ear"]), ("both", ["right ear", "left ear"]), ("neither", [])],
)
def test_what_is_known_of_its_ears_is_named(ear: str, sites: list[str]) -> None:
    bundle = document(referral__ear=ear, right__impressions=["wax"], left__impressions=["otitis externa"])
    found = order(bundle)
    assert [s["text"] for s in found.get("bodySite", [])] == sites
    by_url = {e["fullUrl"]: e["resource"] for e in bundle["entry"]}
    named = {id(by_url[s["reference"]]) for s in found["supportingInfo"]}
    wanted = {"right": ("25577004",), "left": ("89644007",), "both": ("25577004", "89644007")}.get(ear)
    for resource in by_url.values():
        if resource["resourceType"] in ("Observation", "Condition"):
            site = resource.get("bodySite", {})
            codes = [c["code"] for s in (site if isinstance(site, list) else [site]) for c in s.get("coding", [])]
            mine = bool(set(wanted) & set(codes)) if wanted else "encounter-diagnosis" in str(resource.get("category"))
            assert (id(resource) in named) == mine, resource["code"]
    (back,), _ = bundle_to_visits(bundle)
    assert back.referral is not None
    assert back.referral.ear == ear


def test_reason_question_and_receiver_stand_where_they_belong() -> None:
    bundle = document()
    found = order(bundle)
    assert found["reasonCode"] == [{"text": "Hearing lost since yesterday, drum normal."}]
    assert found["note"] == [{"text": "Please see him today."}]
    assert "183544005" in [c["code"] for c in found["code"]["coding"]]
    service = next(r for r in of_type(bundle, "Organization") if r["name"] == "Overby ear clinic")
    assert found["performer"] == [{"reference": f"urn:uuid:{service['id']}", "display": "Overby ear clinic"}]


@pytest.mark.parametrize(("to", "performers"), [("GP", ["Hill Surgery"]), ("audiology", [])])
def test_without_a_named_service_only_the_family_doctor_is_known(to: str, performers: list[str]) -> None:
    bundle = document(referral__to=to, referral__recipient=None)
    assert [p["display"] for p in order(bundle).get("performer", [])] == performers
    (back,), issues = bundle_to_visits(bundle)
    assert issues == []
    assert back.referral is not None
    assert back.referral.recipient is None


def test_the_document_is_a_referral_note_of_its_own() -> None:
    """LOINC 57133-1, 42349-1: c80-doc-typecodes and doc-section-codes of FHIR R4 4.0.1."""
    summary, referral = document("summary"), document()
    composition = of_type(referral, "Composition")[0]
    assert [c["code"] for c in composition["type"]["coding"]] == ["57133-1"]
    assert "42349-1" in [c["code"] for c in composition["section"][0]["code"]["coding"]]
    assert referral["identifier"]["value"] == "referral/M26-0201/1/draft"
    apart = [("Bundle", "id"), ("Composition", "id"), ("Provenance", "id")]
    for type, key in apart:
        one, other = ([b] if type == "Bundle" else of_type(b, type) for b in (summary, referral))
        assert one[0][key] != other[0][key]
    shared = {r["id"]: r for r in (e["resource"] for e in summary["entry"]) if r["resourceType"] not in dict(apart)}
    for resource in (e["resource"] for e in referral["entry"]):
        if resource["resourceType"] not in dict(apart):
            assert shared[resource["id"]] == resource, "one id, one content"


def test_a_correction_replaces_the_letter_of_its_kind() -> None:
    change = {"version": 2, "replaces": 1, "approved": {"by": "PS", "at": "2026-05-27T09:00+01:00"}}
    (relation,) = of_type(document(**change), "Composition")[0]["relatesTo"]
    assert relation["targetIdentifier"]["value"] == "referral/M26-0201/1"


@pytest.mark.parametrize(
    ("sharing", "lines"),
    [
        (["visit summary", "referral"], ["Overby ear clinic (ENT)", "Hill Surgery (family doctor)"]),
        (["referral"], ["Overby ear clinic (ENT)", "none is made"]),
        (["visit summary"], ["none is made", "Hill Surgery (family doctor)"]),
    ],
)
@pytest.mark.parametrize("kind", ["summary", "referral"])
def test_each_letter_says_who_gets_which(kind: str, sharing: list[str], lines: list[str]) -> None:
    bundle = document(kind, sharing={"status": "given", "scope": sharing})
    told = next(s for s in of_type(bundle, "Composition")[0]["section"] if s["title"] == "Who gets which letter")
    for letter, line in zip(("Referral letter: ", "Visit summary: "), lines, strict=True):
        assert f"<li>{letter}{line}" in told["text"]["div"]


@pytest.mark.parametrize("seed", range(40))
def test_generated_visits_conform_and_come_back(seed: int) -> None:
    made = generate.visit(random.Random(seed), fill=0.7)
    bundle = build_document(made, NAMESPACE, LONDON, "referral")
    assert [i for i in check_bundle(bundle) if i.severity >= Severity.error] == []
    visits, issues = bundle_to_visits(bundle)
    assert issues == []
    assert visits == [made]


def test_identifiers_tell_the_kinds_apart() -> None:
    ids = Ids(NAMESPACE)
    made = {ids.issue_identifier(visit(), kind, 1)["value"] for kind in ("summary", "referral")}
    assert made == {"summary/M26-0201/1", "referral/M26-0201/1"}
