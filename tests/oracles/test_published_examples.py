"""The published R4 examples are right: the checks must find no error of conformance in them.

Source: npm hl7.fhir.r4.examples 4.0.1, hl7.fhir.uv.ips 2.0.0 and, in XML, UK Core, all held against base R4; laid out
in the standards folder. Where an example is itself wrong, the text of the standard is quoted beside it.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.check import check_bundle
from bridge.fhir.received import read_received
from bridge.issues import Severity, rules
from tests.standards import standards_file, standards_folder

FOLDER = "fhir-r4-examples"
EXAMPLES = sorted(
    path.relative_to(standards_folder()).as_posix()
    for suffix in ("json", "xml")
    for path in (standards_folder() / FOLDER).rglob(f"*.{suffix}")
)

FLAWED = {
    # "fullUrl must not disagree with the id in the resource": the entry is called Patient/pat12, the resource pat2.
    "Bundle-10bb101f-a121-4264-a920-67be9cb82c74.json": {("B102", "Bundle.entry[2].fullUrl")},
    # "just the query portion of the URL - what follows the "?" (not including the "?")": it says Patient?identifier=...
    "Bundle-xds.json": {
        ("B113", "Bundle.entry[1].request.ifNoneExist"),
        # trade: urn:oid:129.6... is no OID, the first number of which is 0, 1 or 2
        ("C114", "Bundle.entry[0].resource.masterIdentifier.value"),
    },
    # warning: "The status SHALL start with a 3 digit HTTP code": it says DELETE
    "Bundle-bundle-response.json": {("B147", "Bundle.entry[6].response.status")},
    # warning (csd-0): the name of this code system has full stops in it, which no program takes as a name
    "Bundle-externals.json": {("V250", "Bundle.entry[0].resource.name")},
    # listed in SOURCES.md: against the schema of XML (text stands after status)
    "Extension-UKCore-CodingSCT-IllicitDrugs-Example.xml": {("S147", "Observation.text")},
    # listed in SOURCES.md: two values in one extension
    "Extension-UKCore-ConditionEpisode-Example.xml": {
        ("S106", "Condition.extension[0]"),
        ("P105", "Condition.extension[0].valueCode"),  # and the one of them is not of the type of its definition
    },
    # warning: extensions of a package of 2023 under the addresses of the standard, which R4 does not define
    "AllergyIntolerance-allergyintolerance-with-abatement.json": {("P176", "AllergyIntolerance.extension[0]")},
    "Bundle-bundle-ips-all-sections.json": {("P176", "Bundle.entry[0].resource.section[0].text.extension[0]")},
    # warning: codes that are not of the set to which IPS binds the element (extensible): categories in LOINC, a role
    "Bundle-IPS-examples-Bundle-01.json": {
        ("P121", "Bundle.entry[1].resource.contact[0].relationship[0]"),
        ("P121", "Bundle.entry[4].resource.category[0]"),
        ("P121", "Bundle.entry[10].resource.category[0]"),
    },
    "Condition-eumfh-39-07-1.json": {("P121", "Condition.category[0]")},
    "Patient-patient-example-female.json": {("P121", "Patient.contact[0].relationship[0]")},
    # warning: "Organization/https://fhir.hl7.org.uk/..." is neither a whole address nor a type and an id
    "UKCore-Provenance-RARecordConsent-Example.xml": {("B168", "Provenance.agent[0].onBehalfOf")},
    # trade: an NHS number whose check digit is wrong
    "UKCore-Patient-BabyPatient-Example.xml": {("C110", "Patient.identifier[0].value")},
    # trade: an OID without urn:oid: under the system urn:ietf:rfc:3986
    "Organization-2.16.840.1.113883.19.5.json": {("C114", "Organization.identifier[0].value")},
}


def test_the_examples_are_here() -> None:
    """So that an empty folder is not taken for a passed test."""
    standards_file(FOLDER)
    assert len(EXAMPLES) > 215


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_published_example_has_no_errors(name: str) -> None:
    data, issues = read_received(standards_file(name).read_bytes())
    found = {(i.rule, i.where.path) for i in [*issues, *check_bundle(data)] if i.severity >= Severity.warning}
    assert found == FLAWED.get(Path(name).name, set())


def test_the_exceptions_are_few_and_all_met() -> None:
    standards_file(FOLDER)
    assert set(FLAWED) <= {Path(name).name for name in EXAMPLES}
    assert sum(not rules()[rule].trade for flaws in FLAWED.values() for rule, _ in flaws) == 15
