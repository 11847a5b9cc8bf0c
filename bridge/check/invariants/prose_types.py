"""V: what the definitions of data types demand in prose, which no published key states.

Source: the definitions and comments of the elements named beside each function, in the published data types of R4.
"""

from __future__ import annotations

import binascii
import re
from collections.abc import Iterator

from bridge.check.invariants.registry import each, invariant
from bridge.check.look import has, text
from bridge.check.node import Node
from bridge.shapes import Json

URI_IN_VALUE = "urn:ietf:rfc:3986"
"""The system of identifiers that are addresses themselves."""
_SHA1_BYTES = 20
_ABSOLUTE = re.compile(r"[A-Za-z][A-Za-z0-9+.\-]*:")
_NESTED = re.compile(r"xtension\[\d+\]\.extension\[\d+\]$")
_VALUE_SET = re.compile(r"https?://(?:hl7\.org/fhir|terminology\.hl7\.org)/(?:[^?#]*/)?ValueSet/")
_WHOLE_URI = re.compile(r"urn:(?:oid|uuid):|https?://", re.IGNORECASE)
_POINTS = re.compile(r"(?:-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?|[ELU])")


def relative(node: Json, key: str) -> bool:
    """Whether an address is given there that has no scheme."""
    value = node.get(key)
    return isinstance(value, str) and value != "" and _ABSOLUTE.match(value) is None


def of_value_set(node: Json, key: str) -> bool:
    """Whether the address is surely that of a value set."""
    return _VALUE_SET.match(text(node, key)) is not None


@each("V450", "Extension.url", "Extension")
def extension_url(node: Json, at: Node) -> Iterator[str]:
    """An extension is named by the address of its definition; only the parts of one have plain names."""
    if relative(node, "url") and _NESTED.search(at.path) is None:
        yield ".url"


@each("V451", "system", "Coding", "Identifier")
def system_absolute(node: Json, at: Node) -> Iterator[str]:
    """Coding.system and Identifier.system name a code system or namespace everywhere alike: pages terminologies and
    datatypes; a relative address or a fragment names another one at every server."""
    if "system" in node and relative(node, "system"):
        yield ".system"


@each("V452", "system", "Coding", "ValueSet.compose.include", "ValueSet.expansion.contains")
def not_a_value_set(node: Json, at: Node) -> Iterator[str]:
    """Coding.system is the code system that defines the code; only addresses of HL7's own value sets are told."""
    if "system" in node and of_value_set(node, "system"):
        yield ".system"


@each("V453", "Identifier.value", "Identifier")
def uri_in_its_system(node: Json, at: Node) -> Iterator[str]:
    """The comment of Identifier.value asks for the one system. Published examples (`Provenance/example-cwl`) depart
    from it and receivers take them, so this is told without calling it an error. The other way round is C114."""
    value, system = node.get("value"), node.get("system")
    if isinstance(value, str) and system != URI_IN_VALUE and _WHOLE_URI.match(value):
        yield ".value"


@each("V454", "Attachment.size", "Attachment")
def size_of_data(node: Json, at: Node) -> Iterator[str]:
    """Attachment.size counts the bytes of the content itself, before Base64."""
    size = node.get("size")
    if "data" not in node or isinstance(size, bool) or not isinstance(size, int):
        return
    content = _content(node, "data")
    if content is not None and len(content) != size:
        yield ".size"


@each("V455", "Attachment.hash", "Attachment")
def hash_is_sha1(node: Json, at: Node) -> Iterator[str]:
    """Attachment.hash is SHA-1 of the content before Base64: 20 bytes, and the very hash where the data is there."""
    told = _content(node, "hash") if "hash" in node else None
    if told is None:
        return
    data = _content(node, "data")
    if len(told) != _SHA1_BYTES or (data is not None and told != _sha1(data)):
        yield ".hash"


@invariant("V456", "RelatedArtifact.url", "RelatedArtifact")
def one_way_to_the_artifact(node: Json, at: Node) -> bool:
    """Comments of RelatedArtifact (attachment or resource, not both) and of its url (with neither)."""
    return sum(has(node, way) for way in ("url", "document", "resource")) <= 1


@each("V457", "SampledData.data", "SampledData")
def data_points(node: Json, at: Node) -> Iterator[str]:
    """Decimals, or E, L or U. Line ends and several blanks between them are let through."""
    value = node.get("data")
    if isinstance(value, str) and not all(_POINTS.fullmatch(point) for point in value.split()):
        yield ".data"


@invariant("V459", "Reference", "Reference")
def leads_somewhere(node: Json, at: Node) -> bool:
    """By page references each of the three is a way to say what is meant; a later edition made a key of it (ref-2),
    in R4 it has none and is no error."""
    return not node or has(node, "reference", "identifier", "display", "extension")


def _content(node: Json, key: str) -> bytes | None:
    """The bytes behind Base64, or None where there are none or they cannot be read (S109 tells that)."""
    try:
        return binascii.a2b_base64("".join(text(node, key).split()), strict_mode=True) or None
    except ValueError:
        return None


def _sha1(data: bytes) -> bytes:
    import hashlib

    return hashlib.sha1(data, usedforsecurity=False).digest()
