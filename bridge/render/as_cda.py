"""A document bundle as a ClinicalDocument of CDA R2, for systems that file those."""

from __future__ import annotations

from bridge.cda import CDA_TYPE, write_cda
from bridge.shapes import Document, Json


def render(bundle: Json) -> Document:
    """The document, named by who delivers it. Raises NotCdaError for a bundle of which none can be made."""
    return Document("letter.cda.xml", CDA_TYPE, write_cda(bundle))
