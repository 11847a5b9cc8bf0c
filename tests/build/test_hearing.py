"""Hearing tests, hearing aids, pictures and the referral as R4. Expected shapes are written by hand from R4's pages."""

from __future__ import annotations

import json
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from bridge.build import Options, build_document
from tests.care_visits import document, resources, visit

Json = dict[str, Any]
LOINC = "http://loinc.org"


def coded(observation: Json, system: str) -> list[str]:
    return [c["code"] for c in observation["code"]["coding"] if c["system"] == system]


def of_kind(bundle: Json, kind: str) -> list[Json]:
    return [o for o in resources(bundle, "Observation") if kind in {c["code"] for c in o["code"]["coding"]}]


def thresholds(*items: Json) -> tuple[Json, list[Json]]:
    bundle = document(visit(right={"hearing_before": {"thresholds": items}}))
    return bundle, of_kind(bundle, "hearing-threshold")


def test_a_threshold_has_its_code_and_unit() -> None:
    _, (made,) = thresholds({"frequency": 1000, "level": "45"})
    assert coded(made, LOINC) == ["89017-8"]
    quantity = made["valueQuantity"]
    assert (quantity["unit"], quantity["system"], quantity["code"]) == ("dB HL", "http://unitsofmeasure.org", "dB")
    assert str(quantity["value"]) == "45"
    assert made["bodySite"]["coding"][0]["code"] == "25577004"


@pytest.mark.parametrize(
    "item", [{"frequency": 125, "level": "30"}, {"frequency": 500, "level": "20", "conduction": "bone"}]
)
def test_what_has_no_code_says_all_in_components(item: Json) -> None:
    _, (made,) = thresholds(item)
    assert coded(made, LOINC) == []
    told = json.dumps(made["component"], default=str)
    assert str(item["frequency"]) in told
    assert f"conduction-{item.get('conduction', 'air')}" in told


def test_no_response_is_never_a_level() -> None:
    _, (made,) = thresholds({"frequency": 4000, "level": "110", "no_response": True})
    assert "valueQuantity" not in made
    assert made["dataAbsentReason"]["coding"][0]["code"] == "unknown"
    assert "no response" in made["text"]["div"]
    assert "could not be seen" not in made["text"]["div"]
    tried = [c["valueQuantity"] for c in made["component"] if c["code"]["coding"][0]["code"] == "level-tried"]
    assert [(str(q["value"]), q["unit"], q["code"]) for q in tried] == [("110", "dB HL", "dB")]


def test_an_audiogram_groups_the_thresholds_of_its_conduction() -> None:
    items = ({"frequency": f, "level": "20", "conduction": c} for f, c in ((500, "air"), (500, "bone"), (1000, "air")))
    bundle, made = thresholds(*items)
    by_air, by_bone = of_kind(bundle, "audiogram-air"), of_kind(bundle, "audiogram-bone")
    ids = [f"urn:uuid:{o['id']}" for o in made]
    assert [m["reference"] for m in by_air[0]["hasMember"]] == [ids[0], ids[2]]
    assert [m["reference"] for m in by_bone[0]["hasMember"]] == [ids[1]]
    assert coded(by_air[0], LOINC) == ["89015-2"]
    assert coded(by_bone[0], LOINC) == []


def test_weber_is_of_no_ear() -> None:
    (made,) = of_kind(document(visit(weber="left")), "weber")
    assert "bodySite" not in made
    assert "left ear" in made["text"]["div"]


def aid(**fields: Any) -> Json:
    return document(visit(left={"hearing_aid": fields}))


@pytest.mark.parametrize(
    ("fields", "status", "word"),
    [
        ({}, "active", "in use"),
        ({"style": "BTE"}, "active", "in use"),
        ({"style": "BTE", "uses": False}, "stopped", "not in use"),
    ],
)
def test_an_aid_is_a_device_in_one_ear(fields: Json, status: str, word: str) -> None:
    bundle = aid(**fields)
    (use,) = resources(bundle, "DeviceUseStatement")
    (device,) = (d for d in resources(bundle, "Device") if "patient" in d)
    assert use["status"] == status
    assert use["device"]["reference"] == f"urn:uuid:{device['id']}"
    assert use["bodySite"]["coding"][0]["code"] == "89644007"
    assert f", {word}" in use["text"]["div"]


@pytest.mark.parametrize(
    "fields",
    [
        {"uses": False},
        {"style": {"text": "none", "codings": [{"system": "urn:oid:2.25.315634712590341250083437118789586142799",
                                                "code": "aid-none"}]}},
        {"style": "no hearing aid"},
        {"style": "?BTE"},
        {"style": {"text": "BTE", "assertion": "past"}},
    ],
)  # fmt: skip
def test_no_device_is_made_up(fields: Json) -> None:
    bundle = aid(**fields)
    assert resources(bundle, "DeviceUseStatement") == []
    assert [d for d in resources(bundle, "Device") if "patient" in d] == []
    assert len(of_kind(bundle, "hearing-aid-none")) == 1


def test_a_picture_is_named_and_not_sent() -> None:
    (media,) = resources(document(visit(right={"images": [{"file": "0042.jpg", "stage": "before"}]})), "Media")
    assert media["content"] == {"title": "0042.jpg"}
    assert media["status"] == "completed"


REFERRAL = {
    "to": "ENT",
    "urgency": "immediate",
    "reason": "sudden loss",
    "question": "please see today",
    "ear": "right",
}


@pytest.mark.parametrize(("urgency", "priority"), [("immediate", "stat"), ("urgent", "urgent"), ("routine", "routine")])
def test_how_fast_is_the_priority(urgency: str, priority: str) -> None:
    (order,) = resources(document(visit(referral={**REFERRAL, "urgency": urgency})), "ServiceRequest")
    assert (order["intent"], order["priority"]) == ("order", priority)


def section(bundle: Json, title: str) -> str:
    composition = bundle["entry"][0]["resource"]
    return next((s["text"]["div"] for s in composition["section"] if s["title"] == title), "")


def test_an_immediate_referral_says_that_a_letter_is_not_enough() -> None:
    alone = section(document(visit(referral=REFERRAL)), "Referral made")
    assert "letter alone is not enough" in alone
    assert "No call is recorded." in alone
    told = {**REFERRAL, "told_by": "phone", "told_at": "2026-11-03T10:45+00:00"}
    assert "How the receiver was told: phone, 3 November 2026, 10:45" in section(
        document(visit(referral=told)), "Referral made"
    )
    routine = section(document(visit(referral={**REFERRAL, "urgency": "routine"})), "Referral made")
    assert "letter alone" not in routine
    assert "not recorded" not in routine


def test_a_section_without_a_published_code_has_our_own() -> None:
    made = build_document(visit(referral=REFERRAL), UUID(int=5), ZoneInfo("Europe/London"), options=Options("us"))
    (section,) = (s for s in made["entry"][0]["resource"]["section"] if s["title"] == "Referral made")
    assert [c["code"] for c in section["code"]["coding"]] == ["section-referral"]


def test_a_clients_device_is_sent_like_a_fact() -> None:
    """Conditional create would keep an older version's words of the aid."""
    from uuid import UUID
    from zoneinfo import ZoneInfo

    from bridge.build import build_transaction

    made = build_transaction(visit(left={"hearing_aid": {"style": "BTE"}}), UUID(int=5), ZoneInfo("Europe/London"))
    methods = {"patient" in e["resource"]: e["request"]["method"] for e in made["entry"]
               if e["resource"]["resourceType"] == "Device"}  # fmt: skip
    assert methods == {True: "PUT", False: "POST"}
