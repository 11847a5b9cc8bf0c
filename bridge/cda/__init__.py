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

    from bridge.cda.write import document
    from bridge.fhir.tell.words import told_in
    from bridge.wording import ENGLISH

    composition = _composition(bundle)
    try:
        with told_in(str(composition.get("language") or ENGLISH)):
            root = document(bundle)
    except ValueError as error:
        if "XML compatible" not in str(error):
            raise _refused(
                "X124", f"An element of this bundle has a shape that no resource has ({_kind(error)})."
            ) from None
        raise _refused("S153", "A text holds a sign that XML does not allow.") from None
    except (AttributeError, IndexError, KeyError, TypeError) as error:
        raise _refused(
            "X124", f"An element of this bundle has a shape that no resource has ({_kind(error)})."
        ) from None
    etree.cleanup_namespaces(root)
    written: bytes = etree.tostring(root, encoding="UTF-8", xml_declaration=False)
    return b'<?xml version="1.0" encoding="UTF-8"?>\n' + written + b"\n"


def _composition(bundle: Json) -> Json:
    """The Composition that a bundle begins with, if each entry holds a resource with an id of its own: statements in
    CDA are told apart by it. Raises NotCdaError."""
    entries = bundle.get("entry")
    resources = (
        [e.get("resource") if isinstance(e, dict) else None for e in entries] if isinstance(entries, list) else []
    )
    if not resources or not all(isinstance(r, dict) and isinstance(r.get("resourceType"), str) for r in resources):
        raise _refused("X124", "An entry of this bundle holds no resource, or there is none.")
    first: Json = resources[0] or {}
    if first["resourceType"] != "Composition":
        raise _refused("X124", "This bundle does not begin with a Composition.")
    ids = [str(resource.get("id") or "") for resource in resources if resource]
    if "" in ids or len(set(ids)) < len(ids):
        raise _refused("X124", "A resource of this bundle has no id, or one that another resource has too.")
    return first


def _kind(error: Exception) -> str:
    return type(error).__name__


def _refused(rule: str, message: str) -> NotCdaError:
    return NotCdaError([issue(rule, message, Where(path="Bundle"))])
