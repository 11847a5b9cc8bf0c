"""A second judge of generated resources: written as XML by the published definitions, and held to the published XSD."""

from __future__ import annotations

import gzip
from functools import cache
from typing import Any
from xml.sax.saxutils import quoteattr

from lxml import etree

from tests.oracles.seed_definitions import Fact, Json, elements, inner, primitives
from tests.standards import standards_file

SPACE = "http://hl7.org/fhir"


@cache
def xsd() -> Any:
    """The whole of R4 as one schema; both of its imports stand beside it."""
    path = standards_file("fhir-r4/xsd/fhir-single.xsd.gz")
    parser = etree.XMLParser(no_network=True)
    tree = etree.fromstring(gzip.decompress(path.read_bytes()), parser, base_url=str(path.parent / "fhir-single.xsd"))
    return etree.XMLSchema(tree)


def xsd_faults(resource: Json) -> list[str]:
    """What the published XML schema has against a resource."""
    text = f'<?xml version="1.0" encoding="UTF-8"?>{_resource(resource, f" xmlns={quoteattr(SPACE)}")}'
    parser = etree.XMLParser(no_network=True, huge_tree=True)
    document = etree.fromstring(text.encode(), parser)
    schema = xsd()
    return [] if schema.validate(document) else [f"{e.path}: {e.message}" for e in schema.error_log]


def _resource(resource: Json, more: str = "") -> str:
    type = resource["resourceType"]
    return f"<{type}{more}>{_inside(resource, type)}</{type}>"


def _inside(node: Json, owner: str) -> str:
    parts = []
    for fact in elements(owner).values():
        if fact.attribute:
            continue
        for key, type in fact.keys.items():
            value, beside = node.get(key), node.get(f"_{key}")
            many = isinstance(value, list) or isinstance(beside, list)
            values = value if isinstance(value, list) else [value] if not many else [None] * len(beside)
            besides = beside if isinstance(beside, list) else [beside] if not many else [None] * len(values)
            for item, more in zip(values, besides, strict=True):
                if item is not None or more is not None:
                    parts.append(_element(key, type, fact, item, more or {}))
    return "".join(parts)


def _element(name: str, type: str, fact: Fact, value: Any, beside: Json) -> str:
    if type == "xhtml":
        return str(value)
    if type not in primitives():
        if type == "Resource":
            return f"<{name}>{_resource(value)}</{name}>"
        where = inner(fact, type)
        return f"<{name}{_attributes(value, where)}>{_inside(value, where)}</{name}>"
    spelt = "" if value is None else f" value={_quoted(value)}"
    return f"<{name}{_attributes(beside, 'Element')}{spelt}>{_inside(beside, 'Element')}</{name}>"


def _attributes(node: Json, type: str) -> str:
    names = [fact.name for fact in elements(type).values() if fact.attribute and fact.name in node]
    return "".join(f" {name}={_quoted(node[name])}" for name in names)


def _quoted(value: Any) -> str:
    text = ("false", "true")[value] if isinstance(value, bool) else str(value)
    return quoteattr(text, {"\n": "&#10;", "\t": "&#9;", "\r": "&#13;"})
