"""What another system reads in the header, seen by XPath alone; what is expected is taken from the demo's records."""

from __future__ import annotations

import copy
from functools import cache
from typing import Any

import pytest

from bridge.cda import write_cda
from tests.cda.documents import DEMO, at, bundle_at, faults, generated

REFERRAL = next(path for path in DEMO if path.name == "M26-0128.referral.bundle.json")
CORRECTED = next(path for path in DEMO if path.name == "M26-0101-v2.bundle.json")
TRACED, UNTRACED = "2.16.840.1.113883.2.1.4.1", "2.16.840.1.113883.2.1.3.2.4.18.23"
DEMO_DOCUMENTS = [pytest.param(path, id=path.name.removesuffix(".bundle.json")) for path in DEMO]


@cache
def written(path: Any) -> bytes:
    return write_cda(bundle_at(path))


def of(bundle: Any, type: str) -> list[Any]:
    return [e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == type]


@pytest.mark.parametrize("path", DEMO_DOCUMENTS)
def test_the_document_says_which_it_is(path: Any) -> None:
    bundle, cda = bundle_at(path), written(path)
    composition = bundle["entry"][0]["resource"]
    system = bundle["identifier"]["system"].removeprefix("urn:oid:")
    assert at(cda, "/v:ClinicalDocument/v:id/@root") == [system]
    assert at(cda, "/v:ClinicalDocument/v:id/@extension") == [bundle["identifier"]["value"]]
    assert at(cda, "/v:ClinicalDocument/v:setId/@extension") == [composition["identifier"]["value"]]
    kinds = {coding["code"] for coding in composition["type"]["coding"]}
    assert set(at(cda, "/v:ClinicalDocument/v:code/descendant-or-self::*/@code")) == kinds
    assert at(cda, "/v:ClinicalDocument/v:languageCode/@code") == [composition["language"]]


@pytest.mark.parametrize("path", DEMO_DOCUMENTS)
def test_a_draft_has_nobody_who_stands_by_it_and_says_so_in_its_title(path: Any) -> None:
    bundle, cda = bundle_at(path), written(path)
    draft = bundle["identifier"]["value"].endswith("/draft")
    signed = at(cda, "//v:authenticator | //v:legalAuthenticator")
    (title,) = at(cda, "/v:ClinicalDocument/v:title/text()")
    assert bool(signed) is not draft
    assert ("draft" in title.lower()) is draft


def test_a_correction_says_what_it_replaces() -> None:
    cda = written(CORRECTED)
    assert at(cda, "/v:ClinicalDocument/v:versionNumber/@value") == ["2"]
    assert at(cda, "//v:relatedDocument/@typeCode") == ["RPLC"]
    assert at(cda, "//v:parentDocument/v:id/@extension") == ["summary/M26-0101/1"]


def test_the_client_is_the_record_s_target_with_the_parts_of_the_name_apart() -> None:
    bundle, cda = bundle_at(REFERRAL), written(REFERRAL)
    (patient,) = of(bundle, "Patient")
    person = "//v:recordTarget/v:patientRole/v:patient"
    assert at(cda, f"{person}/v:name[1]/v:family/text()") == [patient["name"][0]["family"]]
    assert at(cda, f"{person}/v:name[1]/v:given/text()") == patient["name"][0]["given"]
    assert at(cda, f"{person}/v:birthTime/@value") == [patient["birthDate"].replace("-", "")]
    assert at(cda, f"{person}/v:administrativeGenderCode/@code") == [{"male": "M", "female": "F"}[patient["gender"]]]
    assert at(cda, f'//v:patientRole/v:id[@root="{TRACED}"]/@extension') == ["9990475865"]


@pytest.mark.parametrize("status", ["01", "02", None])
def test_an_nhs_number_stands_under_the_root_of_traced_ones_only_if_it_was_traced(status: str | None) -> None:
    bundle = copy.deepcopy(bundle_at(REFERRAL))
    (number,) = [i for i in of(bundle, "Patient")[0]["identifier"] if i["system"].endswith("nhs-number")]
    if status:
        number["extension"][0]["valueCodeableConcept"]["coding"][0]["code"] = status
    else:
        del number["extension"]
    roots = at(write_cda(bundle), f'//v:patientRole/v:id[@extension="{number["value"]}"]/@root')
    assert roots == [TRACED if status == "01" else UNTRACED]


def test_a_referral_is_to_the_service_asked_and_the_family_doctor_is_named_beside() -> None:
    bundle, cda = bundle_at(REFERRAL), written(REFERRAL)
    (asked,) = at(cda, "//v:informationRecipient/v:intendedRecipient/v:receivedOrganization/v:name/text()")
    assert asked == "Marrowdale Infirmary, ear, nose and throat department"
    doctor = of(bundle, "Patient")[0]["generalPractitioner"][0]["reference"].removeprefix("urn:uuid:")
    assert at(cda, '//v:participant[v:functionCode/@code="PCP"]//v:scopingOrganization/v:id[1]/@root') == [doctor]


@pytest.mark.parametrize("path", DEMO_DOCUMENTS)
def test_a_summary_is_to_the_family_doctor_and_the_whole_record_to_nobody_by_name(path: Any) -> None:
    bundle, kind = bundle_at(path), bundle_at(path)["identifier"]["value"].partition("/")[0]
    doctors = [d["reference"].removeprefix("urn:uuid:") for d in of(bundle, "Patient")[0].get("generalPractitioner", [])
               if "reference" in d]  # fmt: skip
    found = at(written(path), "//v:informationRecipient//v:receivedOrganization/v:id[1]/@root")
    if kind == "summary":
        assert found == doctors
    elif kind == "ips":
        assert found == []


def test_a_copy_for_the_client_is_to_the_client() -> None:
    _, bundle = generated(2)
    (patient,) = of(bundle, "Patient")
    assert bundle["identifier"]["value"].startswith("client/")
    assert at(write_cda(bundle), "//v:intendedRecipient/v:id/@root") == [patient["id"]]


def test_the_author_has_role_register_number_and_clinic() -> None:
    cda = written(REFERRAL)
    author = "//v:author[v:assignedAuthor/v:assignedPerson]/v:assignedAuthor"
    assert at(cda, f"{author}/v:code/v:originalText/text()") == ["Ear-care nurse"]
    assert "99Z0001E" in at(cda, f"{author}/v:id/@extension")
    assert at(cda, f"{author}/v:representedOrganization/v:telecom/@value")[0] == "tel:01632960111"
    (tool,) = at(cda, "//v:assignedAuthoringDevice/v:softwareName/text()")
    assert tool.startswith("visit-bridge ")


def changed_consents(change: dict[str, Any]) -> bytes:
    bundle = copy.deepcopy(bundle_at(REFERRAL))
    for consent in of(bundle, "Consent"):
        consent.update(change)
    return write_cda(bundle)


@pytest.mark.parametrize(
    "change",
    [
        {"status": "inactive"}, {"status": "rejected"}, {"status": "proposed"},
        {"policyRule": {"coding": [{"system": "http://terminology.hl7.org/CodeSystem/v3-ActCode", "code": "OPTOUT"}]}},
    ],
)  # fmt: skip
def test_a_consent_that_was_refused_or_withdrawn_never_stands_as_an_authorization(change: dict[str, Any]) -> None:
    assert at(written(REFERRAL), "//v:authorization/v:consent")
    assert at(changed_consents(change), "//v:authorization") == []


def test_only_who_is_a_guardian_by_the_record_is_one_in_cda() -> None:
    bundle = copy.deepcopy(bundle_at(REFERRAL))
    patient = bundle["entry"][0]["resource"]["subject"]
    roles = "http://terminology.hl7.org/CodeSystem/v3-RoleCode"
    for number, code in enumerate(("NBOR", "GUARD")):
        person = {
            "resourceType": "RelatedPerson", "id": f"25951c11-4c94-4121-bf62-7766a61d17d{number}", "patient": patient,
            "relationship": [{"coding": [{"system": roles, "code": code}]}], "name": [{"text": f"Somebody {number}"}],
        }  # fmt: skip
        bundle["entry"].append({"fullUrl": f"urn:uuid:{person['id']}", "resource": person})
    cda = write_cda(bundle)
    assert faults(cda) == []
    assert at(cda, "//v:guardian/v:guardianPerson/v:name/text()") == ["Somebody 1"]
    assert at(cda, "//v:participant//v:associatedPerson/v:name/text()") == ["Somebody 0", "Somebody 1"]


def test_sections_stand_in_the_order_of_the_letter_with_title_and_words() -> None:
    composition = bundle_at(REFERRAL)["entry"][0]["resource"]
    titles = at(written(REFERRAL), "//v:structuredBody/v:component/v:section/v:title/text()")
    assert titles[:-1] == [section["title"] for section in composition["section"]]
    assert len(at(written(REFERRAL), "//v:structuredBody/v:component/v:section/v:text")) == len(titles)


EMPTY = {"notasked": "NASK", "unavailable": "NI", "withheld": "MSK", "nilknown": None}


@pytest.mark.parametrize(("reason", "flavor"), EMPTY.items())
def test_a_heading_with_nothing_under_it_says_why_and_none_known_is_no_lack(reason: str, flavor: str | None) -> None:
    bundle = copy.deepcopy(bundle_at(REFERRAL))
    section = next(s for s in bundle["entry"][0]["resource"]["section"] if "emptyReason" not in s)
    section["emptyReason"] = {
        "coding": [{"system": "http://terminology.hl7.org/CodeSystem/list-empty-reason", "code": reason}]
    }
    cda = write_cda(bundle)
    (made,) = at(cda, f'//v:section[v:title="{section["title"]}"]')
    assert made.get("nullFlavor") == flavor
    assert reason in made.xpath("v:entry/v:observation/v:value/@code", namespaces={"v": "urn:hl7-org:v3"})


def test_generated_headers_tell_every_identifier_and_name_of_the_client() -> None:
    for seed in range(12):
        _, bundle = generated(seed)
        (patient,) = of(bundle, "Patient")
        cda = write_cda(bundle)
        assert len(at(cda, "//v:recordTarget//v:patientRole/v:id")) == 1 + len(patient["identifier"])
        assert len(at(cda, "//v:recordTarget//v:patient/v:name")) == len(patient["name"])
        old = sum(name["use"] == "old" for name in patient["name"])
        assert len(at(cda, "//v:recordTarget//v:patient/v:name[v:validTime/v:high]")) == old
