"""Resources of generated and demo documents with the document around them, and a document to hold one act in."""

from __future__ import annotations

import random
from collections.abc import Iterator
from functools import cache
from typing import Any

from lxml import etree

from bridge.build import Options, build_document
from bridge.cda.context import Context
from bridge.cda.entries import entry_of, resource_of
from bridge.coding import load_term_maps
from bridge.visit import Visit
from tests import generate
from tests.cda.documents import DEMO, bundle_at
from tests.coded import coded
from tests.test_round_trip import NAMESPACE, ZONE

IN_HEADER = {"Composition", "Organization", "Patient", "Practitioner", "PractitionerRole", "RelatedPerson"}
"""The header of CDA and its participants tell these (bridge/cda/people.py)."""

SHELL = """<ClinicalDocument xmlns="urn:hl7-org:v3">
<typeId root="2.16.840.1.113883.1.3" extension="POCD_HD000040"/><id root="1.2.3" extension="document"/>
<code code="34108-1" codeSystem="2.16.840.1.113883.6.1"/><effectiveTime value="2026"/>
<confidentialityCode code="N" codeSystem="2.16.840.1.113883.5.25"/>
<recordTarget><patientRole><id root="1.2.3" extension="client"/></patientRole></recordTarget>
<author><time value="2026"/><assignedAuthor><id root="1.2.3" extension="author"/></assignedAuthor></author>
<custodian><assignedCustodian><representedCustodianOrganization><id root="1.2.3" extension="clinic"/>
</representedCustodianOrganization></assignedCustodian></custodian>
<component><structuredBody><component><section><text>Words.</text></section></component></structuredBody></component>
</ClinicalDocument>"""
"""The least that HL7's schema lets pass, with one section for entries."""


def visit_of(seed: int) -> tuple[Visit, Any]:
    """A coded visit with what the generator says of each term, and its document."""
    rng = random.Random(seed)
    licensed = seed % 2 == 1
    visit = coded(generate.visit(rng, fill=0.3 + 0.6 * (seed % 7) / 7), load_term_maps(licensed=licensed), rng)
    return visit, build_document(visit, NAMESPACE, ZONE, options=Options(licensed=licensed))


@cache
def documents(generated: int) -> list[tuple[str, Any]]:
    """Documents with their names: generated ones, then all of the demo."""
    made = [(f"seed {seed}", visit_of(seed)[1]) for seed in range(generated)]
    return [*made, *((path.name, bundle_at(path)) for path in DEMO)]


def context_of(bundle: Any) -> Context:
    context = Context(bundle)
    context.conduct(bundle["entry"][0]["resource"])
    return context


def clinical(bundle: Any) -> Iterator[Any]:
    """The resources that become entries."""
    for entry in bundle["entry"]:
        if entry["resource"]["resourceType"] not in IN_HEADER:
            yield entry["resource"]


def act(resource: Any, context: Context | None = None) -> Any:
    """The act of a resource as it comes out of a file."""
    return etree.fromstring(etree.tostring(entry_of(resource, context or Context())))


def again(resource: Any, context: Context | None = None) -> Any:
    return resource_of(act(resource, context), context or Context())


def in_document(acts: list[Any]) -> Any:
    """A document whose one section has these acts for entries."""
    root = etree.fromstring(SHELL)
    section = next(root.iter("{urn:hl7-org:v3}section"))
    for one in acts:
        etree.SubElement(section, "{urn:hl7-org:v3}entry").append(one)
    return root
