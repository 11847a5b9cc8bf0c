"""CDA R2: a document bundle written as a ClinicalDocument, and read back."""

from __future__ import annotations

from bridge.cda.read import read_cda
from bridge.issues import Issue, Where, issue
from bridge.shapes import Json

__all__ = ["CDA_TYPE", "NotCdaError", "read_cda", "write_cda"]

CDA_TYPE = "text/xml"
"""What the sharing of documents between systems calls it (IHE XDS, the MIME type of CDA), and mail programs open."""


class NotCdaError(ValueError):
    """A bundle of which no document in CDA can be made; `issues` say why."""

    def __init__(self, issues: list[Issue]) -> None:
        super().__init__(issues[0].message)
        self.issues = issues


def write_cda(bundle: Json) -> bytes:
    """A document bundle as a ClinicalDocument of CDA R2 in UTF-8; the same bundle gives the same bytes.

    Raises NotCdaError for a bundle that is no document, and for signs that XML does not allow.
    """
    from lxml import etree

    from bridge.cda.context import objects
    from bridge.cda.write import document
    from bridge.wording import ENGLISH, for_tag, speaking

    entries = objects(bundle.get("entry"))
    first = entries[0].get("resource") if entries else None
    resources = [e.get("resource") for e in entries]
    if not isinstance(first, dict) or first.get("resourceType") != "Composition":
        raise NotCdaError([issue("X124", "This bundle does not begin with a Composition.", Where(path="Bundle.entry"))])
    if not all(isinstance(r, dict) and isinstance(r.get("resourceType"), str) for r in resources):
        raise NotCdaError([issue("X124", "An entry of this bundle holds no resource.", Where(path="Bundle.entry"))])
    try:
        with speaking(for_tag(str(first.get("language") or ENGLISH))):
            root = document(bundle)
    except ValueError:
        raise NotCdaError(
            [issue("S153", "A text holds a sign that XML does not allow.", Where(path="Bundle"))]
        ) from None
    etree.cleanup_namespaces(root)
    written: bytes = etree.tostring(root, encoding="UTF-8", xml_declaration=False)
    return b'<?xml version="1.0" encoding="UTF-8"?>\n' + written + b"\n"
