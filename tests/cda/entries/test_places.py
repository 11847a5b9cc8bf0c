"""Where single elements of a resource stand in its act, by HL7 CDA R2 and the wording of its parts."""

from __future__ import annotations

from typing import Any

import pytest

from bridge.cda.context import Context
from tests.cda.entries.some import act, again

ID = "30a3c696-41bb-534a-bcca-84010929d2f6"
OTHER = "a8477409-924a-588d-a73b-7be730a1aea4"
POINTER = {"reference": f"urn:uuid:{OTHER}"}
EAR = {
    "coding": [{"system": "http://snomed.info/sct", "code": "25577004", "display": "Right ear structure"}],
    "text": "right ear",
}
NAMES = {"v": "urn:hl7-org:v3", "xsi": "http://www.w3.org/2001/XMLSchema-instance"}


def found(resource: Any, path: str) -> list[Any]:
    return list(act({"id": ID, **resource}).xpath(path, namespaces=NAMES))


CASES = [
    ({"resourceType": "Observation", "bodySite": EAR}, "v:targetSiteCode[@code='25577004']/@displayName"),
    ({"resourceType": "Condition", "bodySite": [EAR]}, "v:targetSiteCode[@codeSystem='2.16.840.1.113883.6.96']"),
    ({"resourceType": "Procedure", "bodySite": [EAR]}, "v:targetSiteCode/v:originalText[.='right ear']"),
    ({"resourceType": "ServiceRequest", "bodySite": [EAR]}, "self::v:procedure/v:targetSiteCode[@code='25577004']"),
    ({"resourceType": "MedicationStatement", "dosage": [{"site": EAR}]}, "v:approachSiteCode[@code='25577004']"),
    ({"resourceType": "Media", "bodySite": EAR}, "self::v:observation[@classCode='DGIMG']/v:targetSiteCode"),
    (
        {"resourceType": "Observation", "valueQuantity": {"value": 20, "unit": "dB HL", "code": "dB",
                                                         "system": "http://unitsofmeasure.org"}},
        "v:value[@xsi:type='PQ' and @value='20' and @unit='dB']",
    ),
    ({"resourceType": "Observation", "valueInteger": 0}, "v:value[@xsi:type='INT' and @value='0']"),
    ({"resourceType": "Observation", "valueString": "a note"}, "v:value[@xsi:type='ST' and .='a note']"),
    ({"resourceType": "Observation", "valueDateTime": "2010"}, "v:value[@xsi:type='TS' and @value='2010']"),
    ({"resourceType": "Observation", "interpretation": [{"text": "no response"}]}, "v:interpretationCode"),
    (
        {"resourceType": "Observation", "component": [{"code": {"text": "depth"}, "valueInteger": 5}]},
        "v:entryRelationship[@typeCode='COMP']/v:observation[v:code/v:originalText='depth']/v:value[@value='5']",
    ),
    (
        {"resourceType": "Observation", "hasMember": [POINTER]},
        f"v:entryRelationship[@typeCode='COMP' and not(@inversionInd)]/v:act/v:id[@root='{OTHER}']",
    ),
    (
        {"resourceType": "Observation", "partOf": [POINTER]},
        f"v:entryRelationship[@typeCode='COMP' and @inversionInd='true']/v:act/v:id[@root='{OTHER}']",
    ),
    ({"resourceType": "Observation", "note": [{"text": "a note"}]}, "v:entryRelationship[@typeCode='SUBJ']//v:value"),
    (
        {"resourceType": "Condition", "evidence": [{"detail": [POINTER]}]},
        f"v:entryRelationship[@typeCode='SPRT']/v:act/v:id[@root='{OTHER}']",
    ),
    (
        {"resourceType": "Condition", "onsetDateTime": "2010", "abatementDateTime": "2011-05"},
        "v:effectiveTime[v:low/@value='2010' and v:high/@value='201105']",
    ),
    (
        {"resourceType": "Condition", "recorder": POINTER, "recordedDate": "2026-01-19T11:41:00+00:00"},
        f"v:author[v:time/@value='20260119114100+0000']/v:assignedAuthor/v:id[@root='{OTHER}']",
    ),
    (
        {"resourceType": "Procedure", "performer": [{"actor": POINTER}]},
        f"v:performer/v:assignedEntity/v:id[@root='{OTHER}']",
    ),
    (
        {"resourceType": "Procedure", "complication": [{"text": "dizziness"}]},
        "v:entryRelationship[@typeCode='CAUS']/v:observation/v:value/v:originalText[.='dizziness']",
    ),
    (
        {"resourceType": "Procedure", "reasonReference": [POINTER]},
        f"v:entryRelationship[@typeCode='RSON']/v:act/v:id[@root='{OTHER}']",
    ),
    (
        {"resourceType": "Procedure", "usedCode": [{"text": "fine end"}]},
        "v:participant[@typeCode='DEV']/v:participantRole[@classCode='MANU']/v:playingDevice/v:code/v:originalText",
    ),
    (
        {"resourceType": "AllergyIntolerance", "code": {"text": "latex"}},
        "v:participant[@typeCode='CSM']//v:playingEntity[@classCode='MMAT']/v:code/v:originalText[.='latex']",
    ),
    (
        {"resourceType": "AllergyIntolerance", "reaction": [{"manifestation": [{"text": "rash"}]}]},
        "v:entryRelationship[@typeCode='MFST' and @inversionInd='true']/v:observation/v:value/v:originalText",
    ),
    (
        {"resourceType": "MedicationAdministration", "medicationReference": {"reference": "#product"}, "contained": [
            {"resourceType": "Medication", "id": "product", "code": {"text": "drops"},
             "batch": {"lotNumber": "L7", "expirationDate": "2027-03"}}]},
        "self::*[v:consumable/v:manufacturedProduct/v:manufacturedMaterial[v:code/v:originalText='drops']"
        "/v:lotNumberText='L7']/v:entryRelationship/v:observation/v:value[@value='202703']",
    ),
    ({"resourceType": "Communication", "status": "completed"}, "self::v:act[@classCode='INFRM' and @moodCode='EVN']"),
    ({"resourceType": "Consent", "category": [{"text": "to share"}]}, "self::v:act[@classCode='CONS']/v:code"),
    ({"resourceType": "Flag", "code": {"text": "anticoagulant"}}, "self::v:observation[@classCode='ALRT']/v:value"),
    ({"resourceType": "DeviceUseStatement", "device": POINTER},
     f"self::v:supply/v:participant[@typeCode='DEV']/v:participantRole/v:id[@root='{OTHER}']"),
    ({"resourceType": "Device", "deviceName": [{"name": "a tool"}], "version": [{"value": "1.2"}]},
     "v:participant//v:playingDevice[v:manufacturerModelName='a tool' and v:softwareName='1.2']"),
    ({"resourceType": "CarePlan", "activity": [{"detail": {"scheduledPeriod": {"start": "2026-12"}}}]},
     "self::v:act[@moodCode='INT']//v:act[@moodCode='INT']/v:effectiveTime/v:low[@value='202612']"),
    ({"resourceType": "ServiceRequest", "priority": "stat"},
     "v:priorityCode[@code='S' and @codeSystem='2.16.840.1.113883.5.7']"),
    ({"resourceType": "Task", "input": [{"type": {"text": "ear"}, "valueCodeableConcept": EAR}]},
     "v:entryRelationship/v:observation[v:code/v:originalText='ear']/v:value[@code='25577004']"),
    ({"resourceType": "Encounter", "participant": [{"individual": POINTER}, {"type": [{"coding": [
        {"code": "ESC"}]}], "individual": {"display": "the mother"}}]},
     "self::*[v:performer]/v:participant[@typeCode='ESC']/v:participantRole/v:playingEntity/v:name[.='the mother']"),
    ({"resourceType": "Provenance", "agent": [{"type": {"coding": [{"code": "author"}]}, "who": POINTER}]},
     f"v:participant[@typeCode='AUT']/v:participantRole/v:id[@root='{OTHER}']"),
    ({"resourceType": "Provenance", "entity": [{"role": "revision", "what": {"identifier": {
        "system": "urn:oid:1.2.3", "value": "V/1"}}}]},
     "v:reference[@typeCode='RPLC']/v:externalAct/v:id[@root='1.2.3' and @extension='V/1']"),
    ({"resourceType": "List", "status": "current", "emptyReason": {"text": "none known"}},
     "self::v:organizer[@classCode='CLUSTER']/v:component/v:observation/v:value/v:originalText[.='none known']"),
]  # fmt: skip


@pytest.mark.parametrize(("resource", "path"), CASES, ids=[f"{c[0]['resourceType']}-{list(c[0])[-1]}" for c in CASES])
def test_element_stands_where_cda_has_it_and_comes_back(resource: Any, path: str) -> None:
    assert len(found(resource, path)) == 1
    read = again({"id": ID, **resource})
    for key, value in resource.items():
        assert read[key] == value


def test_people_that_are_pointed_at_take_part_and_acts_are_related() -> None:
    device = {"resourceType": "Device", "id": OTHER}
    entries = [{"fullUrl": f"urn:uuid:{OTHER}", "resource": device}]
    context = Context({"resourceType": "Bundle", "type": "document", "entry": entries})
    focus = {"resourceType": "Observation", "id": ID, "focus": [POINTER]}
    assert act(focus, context).xpath(f"v:participant/v:participantRole/v:id[@root='{OTHER}']", namespaces=NAMES)
    assert found(focus, f"v:entryRelationship/v:act/v:id[@root='{OTHER}']")
    assert again(focus, context)["focus"] == again(focus)["focus"] == [POINTER]
