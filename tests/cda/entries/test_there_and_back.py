"""Every clinical resource becomes an entry that HL7's schema lets pass, and comes back from it alone.

`VISIT_BRIDGE_MANY=1000 python -m pytest tests/cda/entries` runs the full count.
"""

from __future__ import annotations

import re
from collections import Counter
from typing import Any

import pytest
from lxml import etree

from bridge.cda.context import Context
from bridge.cda.entries import resource_of
from bridge.cda.rest import LEFT_OUT, rest_of, with_rest
from bridge.cda.statements import statement_of
from bridge.cda.xml import one
from tests.cda.documents import MANY, schema
from tests.cda.entries.some import act, again, clinical, context_of, documents, in_document

BESIDE = {
    "Encounter": {"identifier[].type"},
    "Device": {"deviceName[].type", "version[].type"},
    "DeviceUseStatement": {"_timingDateTime.extension[].url", "_timingDateTime.extension[].valueCode"},
    "MedicationStatement": {
        "contained[].ingredient[].itemCodeableConcept",
        "contained[].ingredient[].strength.numerator.unit",
        "contained[].ingredient[].strength.numerator.value",
        "contained[].ingredient[].strength.numerator.system",
        "contained[].ingredient[].strength.numerator.code",
        "contained[].ingredient[].strength.denominator.unit",
        "contained[].ingredient[].strength.denominator.value",
        "contained[].ingredient[].strength.denominator.system",
        "contained[].ingredient[].strength.denominator.code",
        "_effectiveDateTime.extension[].url",
        "_effectiveDateTime.extension[].valueCode",
    },
    "Procedure": {"encounter", "_performedDateTime.extension[].url", "_performedDateTime.extension[].valueCode"},
}
BESIDE["MedicationAdministration"] = {
    *BESIDE["MedicationStatement"],
    "dosage.dose.extension[].url",
    "dosage.dose.extension[].valueCode",
}
"""All that the acts of CDA have no place for, of what our documents hold: an observation beside says each.

`encounter`: an event from before that has none, where CDA conducts the one of the header to every entry.
"""
TYPES = {
    "AllergyIntolerance", "CarePlan", "Communication", "Condition", "Consent", "Device", "DeviceUseStatement",
    "Encounter", "Flag", "Media", "MedicationAdministration", "MedicationStatement", "Observation", "Procedure",
    "Provenance", "ServiceRequest", "Task",
}  # fmt: skip
"""What our documents hold beside people and places."""


def whole(resource: Any) -> Any:
    return {key: value for key, value in resource.items() if key not in LEFT_OUT}


def test_each_resource_comes_back_from_its_act_alone_but_for_what_is_listed() -> None:
    beside: set[tuple[str, str]] = set()
    met: Counter[str] = Counter()
    for name, bundle in documents(MANY):
        context = context_of(bundle)
        for resource in clinical(bundle):
            read = again(resource, context)
            rest = rest_of(resource, read)
            for said in rest:
                path = re.sub(r"\[\d+\]", "[]", one(said, "code").get("code"))
                beside.add((resource["resourceType"], path))
            assert whole(with_rest(read, rest)) == whole(resource), name
            met[resource["resourceType"]] += 1
    assert beside <= {(type, path) for type, paths in BESIDE.items() for path in paths}
    assert set(met) == TYPES


def test_entries_are_valid_by_the_schema_of_cda() -> None:
    for name, bundle in documents(MANY):
        context = context_of(bundle)
        root = in_document([statement_of(resource, context) for resource in clinical(bundle)])
        assert schema().validate(root), (name, str(schema().error_log)[:500])


@pytest.mark.parametrize("seed", range(0, 12, 3))
def test_an_act_without_the_document_around_it_still_says_whom_it_is_about(seed: int) -> None:
    _, bundle = documents(12)[seed]
    for resource in clinical(bundle):
        read = again(resource)
        for key in ("subject", "patient", "encounter", "context", "for"):
            assert read.get(key) == resource.get(key)


def test_what_is_the_headers_is_not_said_again_and_what_is_not_is() -> None:
    condition = {
        "resourceType": "Condition",
        "id": "30a3c696-41bb-534a-bcca-84010929d2f6",
        "subject": {"reference": "urn:uuid:179e710a-f57b-5e1e-bddd-460fcf607902"},
        "encounter": {"reference": "urn:uuid:a33c144c-9c4e-595b-aa4a-fc05b8597e67"},
    }
    same = Context(subject=condition["subject"]["reference"], encounter=condition["encounter"]["reference"])
    other = Context(subject="urn:uuid:11111111-2222-5333-8444-555555555555", encounter="urn:uuid:x")
    assert condition["subject"]["reference"][9:] not in etree.tostring(act(condition, same)).decode()
    assert again(condition, same)["subject"] == condition["subject"]
    assert again(condition, other)["subject"] == condition["subject"]
    assert again(condition, other)["encounter"] == condition["encounter"]


def test_an_act_of_another_system_is_none_of_ours() -> None:
    found = etree.fromstring(
        '<observation xmlns="urn:hl7-org:v3" classCode="OBS" moodCode="EVN">'
        '<templateId root="2.16.840.1.113883.10.20.22.4.4"/><code nullFlavor="NI"/></observation>'
    )
    assert resource_of(found, Context()) is None


def test_types_that_no_table_names_travel_too() -> None:
    immunization = {
        "resourceType": "Immunization",
        "id": "30a3c696-41bb-534a-bcca-84010929d2f6",
        "status": "completed",
        "vaccineCode": {"text": "a vaccine"},
        "lotNumber": "7",
    }
    written = statement_of(immunization, Context())
    read = resource_of(written, Context())
    assert read is not None
    assert schema().validate(in_document([etree.fromstring(etree.tostring(written))]))
    assert with_rest(read, rest_of(immunization, read)) == immunization
