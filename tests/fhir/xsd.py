"""The published XML schema of R4 as an oracle, and the canonical form by which two files of XML are the same."""

from __future__ import annotations

import gzip
from functools import cache
from typing import Any

from lxml import etree

from tests.standards import standards_file

FHIR = "{http://hl7.org/fhir}"


SLIP = (b'<xs:complexType name="MedicationStatement">', b'type="MedicationStatusCodes"', b'type="code"')
"""The value sets of Medication.status and of MedicationStatement.status have one name, and the schema as published
gives both the codes of the first. The definition of MedicationStatement binds medication-statement-status, with
completed, intended and others; so here its status is any code."""


@cache
def schema() -> Any:
    """The schema of all resources, read from the standards folder alone, with one slip of it mended."""
    names = {n: standards_file(f"fhir-r4/xsd/{n}") for n in ("fhir-single.xsd.gz", "fhir-xhtml.xsd", "xml.xsd")}
    texts = {n.removesuffix(".gz"): p.read_bytes() for n, p in names.items()}
    before, type, after = gzip.decompress(texts["fhir-single.xsd"]).partition(SLIP[0])
    assert after.count(SLIP[1]) == 1
    texts["fhir-single.xsd"] = before + type + after.replace(*SLIP[1:])

    class Here(etree.Resolver):
        def resolve(self, url: str, id: str, context: Any) -> Any:
            return self.resolve_string(texts[url.rpartition("/")[2]], context, base_url=url)

    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(Here())
    return etree.XMLSchema(etree.fromstring(texts["fhir-single.xsd"], parser, base_url="fhir-single.xsd"))


def schema_faults(content: bytes) -> list[str]:
    """What the schema says against a file."""
    judge = schema()
    judge.validate(etree.fromstring(content))
    return [str(error.message) for error in judge.error_log]


def canonical(content: bytes) -> bytes:
    """C14N without what carries nothing: comments, blanks between elements of FHIR, and unused prefixes."""
    root = etree.fromstring(content, etree.XMLParser(remove_comments=True, no_network=True))
    for element in root.iter():
        if element.tag.startswith(FHIR):
            element.text = None if not (element.text or "").strip() else element.text
            for child in element:
                child.tail = None if not (child.tail or "").strip() else child.tail
    for name in [n for n in root.attrib if n.endswith("schemaLocation")]:
        del root.attrib[name]
    etree.cleanup_namespaces(root)
    return bytes(etree.tostring(root, method="c14n"))
