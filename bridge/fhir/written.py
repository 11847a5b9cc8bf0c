"""The one door for what is written: a resource as JSON or XML."""

from __future__ import annotations

from typing import Literal

from bridge.fhir.write_json import dumps
from bridge.shapes import Document, Json

Form = Literal["json", "xml"]
"""How a document is written."""
JSON_TYPE = "application/fhir+json"


def as_document(resource: Json, name: str, form: Form) -> Document:
    """A bundle or resource as bytes. Raises NotXmlError for what XML cannot carry."""
    if form == "json":
        return Document(name, JSON_TYPE, dumps(resource))
    from bridge.fhir.write_xml import XML_TYPE, write_xml

    return Document(name, XML_TYPE, write_xml(resource))
