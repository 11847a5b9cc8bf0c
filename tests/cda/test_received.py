"""CDA that arrives: of other systems, broken, hostile, or ours and changed on its way. Nothing of it raises."""

from __future__ import annotations

import copy
import random
from collections import Counter
from functools import cache
from typing import Any

import pytest
from lxml import etree

from bridge.cda import NotCdaError, read_cda, write_cda
from bridge.check import check_bundle
from bridge.issues import Severity, rules
from bridge.receive import bundle_to_visits
from tests.cda.documents import DEMO, bundle_at, faults, generated, lost

HEAD = """<ClinicalDocument xmlns="urn:hl7-org:v3" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<typeId root="2.16.840.1.113883.1.3" extension="POCD_HD000040"/>
<id root="2.25.1" extension="D-1"/>
<code code="34108-1" codeSystem="2.16.840.1.113883.6.1" codeSystemName="LOINC" displayName="Outpatient Note"/>
<title>Clinic letter</title><effectiveTime value="202609161911-0400"/>
<confidentialityCode code="R" codeSystem="2.16.840.1.113883.5.25"/><languageCode code="en-US"/>
<recordTarget><patientRole>
 <id root="2.16.840.1.113883.2.1.4.1" extension="9990000018"/><id root="629DEB70-5306-11DF-9879-0800200C9A66"/>
 <addr use="HP"><streetAddressLine>1 Mill Street</streetAddressLine><city>Aldersby</city></addr>
 <telecom value="tel: 01632 960 311" use="HP"/>
 <patient><name use="L"> <given>Ann</given> <family>Moss</family> </name>
  <administrativeGenderCode code="F" codeSystem="2.16.840.1.113883.5.1"/><birthTime value="19530302"/>
  <guardian><guardianPerson><name><given>Ralph</given><family>Moss</family></name></guardianPerson></guardian>
 </patient></patientRole></recordTarget>
<author><time value="20260916"/><assignedAuthor><id root="2.16.840.1.113883.4.6" extension="99999999"/>
 <code code="ENT" codeSystem="2.25.5" displayName="Surgeon"/>
 <assignedPerson><name><given>Henry</given><family>Ash</family></name></assignedPerson>
 <representedOrganization><id root="2.25.6"/><name>Ear Hospital</name></representedOrganization>
</assignedAuthor></author>
<custodian><assignedCustodian><representedCustodianOrganization><id root="2.25.6"/><name>Ear Hospital</name>
</representedCustodianOrganization></assignedCustodian></custodian>
<participant typeCode="IND"><functionCode code="PCP" codeSystem="2.16.840.1.113883.5.88"/>
 <associatedEntity classCode="PROV"><associatedPerson><name>Dr Who Ever</name></associatedPerson></associatedEntity>
</participant>
<componentOf><encompassingEncounter><effectiveTime><low value="20260916"/></effectiveTime></encompassingEncounter>
</componentOf>"""
SECTION = """<component><section><code code="10164-2" codeSystem="2.16.840.1.113883.6.1"/><title>History</title><text>
 <list><item>Blocked ear</item></list></text><entry><observation classCode="OBS" moodCode="EVN">
 <code code="1" codeSystem="2.16.840.1.113883.6.96"/></observation></entry>
 <component><section><title>Inner</title><text><paragraph>More words</paragraph></text></section></component>
 </section></component>"""
FOREIGN = f"{HEAD}<component><structuredBody>{SECTION}</structuredBody></component></ClinicalDocument>"
ENVELOPE = f"""{HEAD}<component><nonXMLBody><text mediaType="application/pdf" representation="B64">AAAA</text>
</nonXMLBody></component></ClinicalDocument>"""
REFERRAL = next(path for path in DEMO if path.name == "M26-0128.referral.bundle.json")


@cache
def ours() -> bytes:
    return write_cda(bundle_at(REFERRAL))


def codes(content: bytes) -> list[str]:
    return [issue.rule for issue in read_cda(content)[1]]


def test_the_header_and_the_words_of_a_foreign_document_are_read_and_the_rest_is_said_not_to_be() -> None:
    assert faults(FOREIGN.encode()) == []
    bundle, issues = read_cda(FOREIGN.encode())
    assert [issue.rule for issue in issues] == ["X121"]
    assert "(1)" in issues[0].message
    assert bundle is not None
    found = Counter(e["resource"]["resourceType"] for e in bundle["entry"])
    assert found["Patient"] == found["PractitionerRole"] == found["Practitioner"] == found["Organization"] == 1
    by_type = {e["resource"]["resourceType"]: e["resource"] for e in bundle["entry"]}
    patient = by_type["Patient"]
    assert patient["identifier"] == [
        {"system": "https://fhir.nhs.uk/Id/nhs-number", "value": "9990000018"},
        {"system": "urn:ietf:rfc:3986", "value": "urn:uuid:629deb70-5306-11df-9879-0800200c9a66"},
    ]
    assert patient["name"] == [{"use": "official", "text": "Ann Moss", "family": "Moss", "given": ["Ann"]}]
    assert patient["telecom"] == [{"system": "phone", "value": "01632 960 311", "use": "home"}]
    assert [contact["name"]["text"] for contact in patient["contact"]] == ["Ralph Moss"]
    assert by_type["PractitionerRole"]["code"][0]["coding"][0]["code"] == "ENT"
    composition = by_type["Composition"]
    assert composition["confidentiality"] == "R"
    assert composition["date"] == "2026-09-16T19:11:00-04:00"
    assert composition["section"][0]["text"]["div"].endswith("<ul><li>Blocked ear</li></ul></div>")
    assert composition["section"][0]["section"][0]["title"] == "Inner"
    assert "entry" not in composition["section"][0]


def test_no_visit_is_made_of_a_foreign_document() -> None:
    bundle, _ = read_cda(FOREIGN.encode())
    assert bundle is not None
    assert bundle_to_visits(bundle)[0] == []


def test_what_is_read_of_a_foreign_document_is_sound() -> None:
    bundle, _ = read_cda(FOREIGN.encode())
    found = [i for i in check_bundle(bundle) if i.severity >= Severity.error and i.rule[0] in "SBV"]
    assert found == []


def test_the_body_of_an_envelope_is_said_not_to_be_read() -> None:
    assert codes(ENVELOPE.encode()) == ["X123"]
    assert codes(FOREIGN.encode()) == ["X121"]


NOT_CDA = {
    "X120": ["<ClinicalDocument/>", '<x xmlns="urn:hl7-org:v3"/>', '<Bundle xmlns="http://hl7.org/fhir"/>'],
    "S140": ["<ClinicalDocument", HEAD, "plain words", '<?xml version="1.1"?><ClinicalDocument/>'],
    "S141": ['<!DOCTYPE x [<!ENTITY a "b">]><ClinicalDocument xmlns="urn:hl7-org:v3">&a;</ClinicalDocument>'],
    "S128": ["", "  \n"],
}


@pytest.mark.parametrize(("rule", "content"), [(rule, text) for rule, texts in NOT_CDA.items() for text in texts])
def test_what_is_no_cda_is_refused(rule: str, content: str) -> None:
    assert read_cda(content.encode()) == (None, read_cda(content.encode())[1])
    assert codes(content.encode()) == [rule]


def test_nothing_is_fetched_or_expanded() -> None:
    bomb = '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
    outside = '<!DOCTYPE x SYSTEM "file:///etc/passwd">'
    for start in (bomb, outside):
        assert codes(f"{start}{FOREIGN}".encode()) == ["S141"]


def test_a_document_nested_without_end_is_refused() -> None:
    deep = "<component><section>" * 3_000
    assert codes(f"{HEAD}<component><structuredBody>{deep}".encode())[0] == "S140"
    nested = f"{'<component><section><title>x</title>' * 80}{'</section></component>' * 80}"
    assert codes(f"{HEAD}<component><structuredBody>{nested}</structuredBody></component></ClinicalDocument>".encode())


def test_a_document_that_breaks_off_anywhere_is_refused() -> None:
    whole = ours()
    for size in range(0, len(whole) - 20, len(whole) // 25):
        bundle, issues = read_cda(whole[:size])
        assert bundle is None
        assert issues


def altered(rng: random.Random) -> bytes:
    """Our document with one to ten changes anywhere."""
    root = etree.fromstring(ours())
    odd = ("", "x", " ", "-1", "9" * 30, "2026", "true", "a/b", "2.25.1", "25951c11-4c94-4121-bf62-7766a61d17d9")
    names = ("observation", "act", "text", "value", "id", "code", "section", "entry", "organizer")
    for _ in range(rng.choice((1, 1, 3, 10))):
        nodes = list(root.iter("*"))
        found, other, kind = rng.choice(nodes[1:]), rng.choice(nodes[1:]), rng.randrange(7)
        parent = found.getparent()
        assert parent is not None
        if kind == 0:
            parent.remove(found)
        elif kind == 1:
            parent.insert(0, copy.deepcopy(found))
        elif kind == 2 and found.attrib:
            found.set(rng.choice(sorted(map(str, found.attrib))), rng.choice(odd))
        elif kind == 3 and found.attrib:
            del found.attrib[rng.choice(sorted(map(str, found.attrib)))]
        elif kind == 4:
            found.text = rng.choice(odd)
        elif kind == 5:
            found.tag = f"{{urn:hl7-org:v3}}{rng.choice(names)}"
        elif other is not found and found not in other.iterancestors():
            other.append(copy.deepcopy(found))
    return etree.tostring(root)


def test_a_changed_document_of_ours_says_the_same_or_is_refused() -> None:
    before, answers = dict(lost(bundle_at(REFERRAL))), Counter[str]()
    for seed in range(50):
        bundle, issues = read_cda(altered(random.Random(seed)))
        answers.update(issue.rule for issue in issues)
        answers["same"] += bundle is not None
        if bundle is not None and not issues:
            assert dict(lost(bundle)) == before, f"seed {seed}"
    assert answers["X122"] > 12
    assert answers["same"] > 10


def test_blanks_and_line_ends_between_elements_do_not_matter() -> None:
    root = etree.fromstring(ours())
    etree.indent(root, space="\t\t")
    bundle, issues = read_cda(etree.tostring(root))
    assert issues == []
    told = bundle_to_visits(bundle or {})
    assert told == bundle_to_visits(bundle_at(REFERRAL))


def changed(path: str, **attributes: str) -> list[str]:
    root = etree.fromstring(ours())
    places: Any = root.xpath(path, namespaces={"v": "urn:hl7-org:v3"})
    for place in places[:1]:
        for key, value in attributes.items():
            place.set(key, value)
        if not attributes:
            place.getparent().remove(place)
    assert places
    return codes(etree.tostring(root))


@pytest.mark.parametrize(
    ("path", "attributes"),
    [
        ("//v:section[last()]", {}),
        ("//v:component[v:section][last()]", {}),
        ("//v:section/v:entry", {}),
        ("//v:section//v:targetSiteCode", {"code": "89644007"}),
        ("//v:section//v:targetSiteCode", {}),
        ("//v:section/v:text//v:item", {}),
        ("//v:patient/v:birthTime", {"value": "19000101"}),
        ("//v:patientRole/v:id[2]", {"extension": "9990000018"}),
        ("//v:setId", {"extension": "x"}),
    ],
)
def test_a_side_a_number_or_a_word_that_was_changed_is_noticed(path: str, attributes: dict[str, str]) -> None:
    right = {"code": "25577004"} if attributes == {"code": "89644007"} else attributes
    assert "X122" in changed(path, **attributes) + changed(path, **right)


def test_a_bundle_that_is_no_document_is_not_written() -> None:
    _, good = generated(1)
    bad: list[Any] = [
        {}, {"entry": []}, {"entry": [None]}, {"entry": [{"resource": {"resourceType": "Patient"}}]},
        {"entry": [*good["entry"], {"resource": {"id": "x"}}]}, {"entry": [*good["entry"], {}]},
    ]  # fmt: skip
    for bundle in bad:
        with pytest.raises(NotCdaError) as told:
            write_cda(bundle)
        assert [issue.rule for issue in told.value.issues] == ["X124"]


@pytest.mark.parametrize("id", [None, "", "the id of another"])
def test_resources_that_cannot_be_told_apart_by_their_ids_are_not_written(id: str | None) -> None:
    bundle = copy.deepcopy(bundle_at(DEMO[0]))
    first, second = [e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == "Observation"][:2]
    first["id"] = id and second["id"]
    with pytest.raises(NotCdaError) as told:
        write_cda(bundle)
    assert [issue.rule for issue in told.value.issues] == ["X124"]


def test_a_sign_that_xml_does_not_have_is_told_and_not_written() -> None:
    _, bundle = generated(1)
    bundle["entry"][0]["resource"]["title"] = "a\x01b"
    with pytest.raises(NotCdaError) as told:
        write_cda(bundle)
    assert [issue.rule for issue in told.value.issues] == ["S153"]


def test_odd_bundles_are_written_or_refused_in_words() -> None:
    odd: list[Any] = [None, 3, "x", [], {}, [None], [{}], {"x": 1}, True, [[]]]
    rng = random.Random(3)
    for seed in range(24):
        _, bundle = generated(seed % 6)
        bundle = copy.deepcopy(bundle)
        for _ in range(4):
            resource = rng.choice(bundle["entry"])["resource"]
            key = rng.choice([k for k in resource if k != "resourceType"] or ["id"])
            resource[key] = rng.choice(odd)
        try:
            written = write_cda(bundle)
        except NotCdaError:
            continue
        read_cda(written)


def test_each_rule_of_receiving_cda_has_a_page() -> None:
    assert {"X120", "X121", "X122", "X123", "X124"} <= set(rules())
