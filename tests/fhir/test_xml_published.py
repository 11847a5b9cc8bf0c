"""JSON -> XML -> JSON and XML -> JSON -> XML over all published examples, our demo and generated visits.

Oracles: the published examples (R4 4.0.1, IPS 2.0.0, UK Core), the published fhir-single.xsd, and C14N by libxml2.
"""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from lxml import etree

from bridge.build import build_collection, build_document, build_transaction
from bridge.check.conformance import check_conformance
from bridge.fhir import tables
from bridge.fhir.read_json import read_json
from bridge.fhir.read_xml import read_xml
from bridge.fhir.write_json import dumps
from bridge.fhir.write_xml import write_xml
from bridge.fhir.xml_frames import order
from tests import generate
from tests.fhir.xsd import canonical, schema_faults
from tests.standards import standards_file, standards_folder

FOLDER = standards_folder() / "fhir-r4-examples"
IN_JSON = sorted(p.relative_to(FOLDER).as_posix() for p in FOLDER.rglob("*.json"))
IN_XML = sorted(p.relative_to(FOLDER).as_posix() for p in FOLDER.rglob("*.xml"))
OURS = sorted(Path(__file__).parents[2].glob("demo_bundles/*.json"))

BAD_BY_SCHEMA = {
    # ids in its narratives start with a digit, which no xs:ID may
    "ips/Bundle-bundle-ips-all-sections.json",
}
FLAWED = {
    # text stands after status, where the schema wants it before
    "uk-core/Extension-UKCore-CodingSCT-IllicitDrugs-Example.xml": {("S147", "Observation.text")},
    # a code and a concept as one value
    "uk-core/Extension-UKCore-ConditionEpisode-Example.xml": {("S106", "Condition.extension[0]")},
}


def shown(data: Any) -> str:
    """Data with the digits that its numbers were written with, whatever the order of keys."""
    if isinstance(data, dict):
        return "{" + ",".join(f"{k!r}:{shown(v)}" for k, v in sorted(data.items())) + "}"
    return "[" + ",".join(map(shown, data)) + "]" if isinstance(data, list) else repr(data)


def test_the_examples_are_here() -> None:
    standards_file("fhir-r4-examples")
    assert len(IN_JSON) > 150
    assert len(IN_XML) > 50


@pytest.mark.parametrize("name", IN_JSON)
def test_json_comes_back_from_xml(name: str) -> None:
    data, issues = read_json((FOLDER / name).read_bytes())
    assert issues == []
    content = write_xml(data)
    back, issues = read_xml(content)
    assert issues == []
    assert shown(back) == shown(data)
    assert bool(schema_faults(content)) == (name in BAD_BY_SCHEMA)


@pytest.mark.parametrize("name", IN_XML)
def test_xml_comes_back_from_json(name: str) -> None:
    content = (FOLDER / name).read_bytes()
    data, issues = read_xml(content)
    found = {(i.rule, i.where.path) for i in (*issues, *check_conformance(data)) if i.rule[0] == "S"}
    assert found == FLAWED.get(name, set())
    assert bool(schema_faults(content)) == (name in FLAWED)
    written = write_xml(data)
    assert (canonical(written) == canonical(content)) == ("S147" not in {rule for rule, _ in found})
    assert write_xml(read_xml(written)[0]) == written


def test_the_flaws_are_those_of_the_files() -> None:
    standards_file("fhir-r4-examples")
    assert set(FLAWED) <= set(IN_XML)
    assert set(IN_JSON) >= BAD_BY_SCHEMA


@pytest.mark.parametrize("path", OURS, ids=lambda p: p.name)
def test_our_documents_are_valid_by_the_schema(path: Path) -> None:
    data, _ = read_json(path.read_bytes())
    content = write_xml(data)
    assert schema_faults(content) == []
    back, issues = read_xml(content)
    assert issues == []
    assert shown(back) == shown(data)


@pytest.mark.parametrize("build", [build_document, build_transaction, build_collection])
@pytest.mark.parametrize("seed", range(8))
def test_generated_visits_are_valid_by_the_schema(build: Any, seed: int) -> None:
    visit = generate.visit(random.Random(30_000 + seed), fill=(0.7, 0.95)[seed % 2])
    data, _ = read_json(dumps(build(visit, UUID(int=5), ZoneInfo("Europe/London"))))
    content = write_xml(data)
    assert schema_faults(content) == []
    back, issues = read_xml(content)
    assert issues == []
    assert shown(back) == shown(data)


def test_every_type_has_its_elements_in_the_order_of_the_schema() -> None:
    """Oracle: the sequences of fhir-single.xsd, met from each resource inwards by the types that the schema names."""
    import gzip

    root = etree.fromstring(gzip.decompress(standards_file("fhir-r4/xsd/fhir-single.xsd.gz").read_bytes()))
    xs = "{http://www.w3.org/2001/XMLSchema}"
    types = {t.get("name"): t for t in root.findall(f"{xs}complexType")}

    def sequence(name: str) -> list[tuple[str, str]]:
        around = types[name].find(f"{xs}complexContent/{xs}extension")
        held = [] if around is None else sequence(around.get("base"))
        inner = types[name] if around is None else around
        rows = [e for s in inner.findall(f"{xs}sequence") for e in s.iter(f"{xs}element")]
        return held + [((e.get("name") or e.get("ref").rpartition(":")[2]), e.get("type") or "") for e in rows]

    waiting = [(name, name) for name in tables.resources()]
    waiting += [(t, t) for t in types if t and tables.knows(t) and not tables.is_primitive(t)]
    seen = set()
    while waiting:
        ours, theirs = waiting.pop()
        if ours in seen or theirs not in types:
            continue
        seen.add(ours)
        rows = sequence(theirs)
        known = tables.elements(ours)
        # the schema gives every inner structure modifierExtension, the definitions only those of BackboneElement
        assert [n for n, _ in rows if n in known] == [n for n, e in known.items() if not e.attribute], ours
        assert {n for n, _ in rows} - set(known) <= {"modifierExtension"}
        places = [order(ours)[n] for n, _ in rows if n in known]
        assert places == sorted(places)
        waiting += [(known[n].type, type) for n, type in rows if n in known and tables.is_part(known[n].type)]
    assert len(seen) > 600
