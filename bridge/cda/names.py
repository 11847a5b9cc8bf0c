"""Names, addresses and ways to reach somebody: FHIR and CDA, each way."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any
from urllib.parse import quote, unquote

from bridge.cda.xml import Node, add, every, name_of, node, one, words
from bridge.shapes import Json

_NAME_PARTS = ("prefix", "given", "family", "suffix")
_ADDRESS_PARTS = {
    "line": "streetAddressLine", "city": "city", "district": "county", "state": "state", "postalCode": "postalCode",
    "country": "country",
}  # fmt: skip
_NAME_USES = {"official": "L", "nickname": "P"}
_PLACE_USES = {"home": "HP", "work": "WP", "temp": "TMP"}
_POINT_USES = {**_PLACE_USES, "mobile": "MC"}
_SCHEMES = {"phone": "tel", "fax": "fax", "email": "mailto", "sms": "sms"}
_SPACES = re.compile(r"\s+")
_URL = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:\S+")


def pn(tag: str, human: Json) -> Node:
    """A HumanName as PN, in the order in which it is said. An old name is one that ended, nobody says when."""
    made = node(tag, use=_NAME_USES.get(str(human.get("use"))))
    for part in _NAME_PARTS:
        add(made, *(node(part, text=text) for text in _texts(human.get(part))))
    text = human.get("text")
    if not len(made) and isinstance(text, str):
        made.text = text
    if human.get("use") == "old":
        add(made, node("validTime", node("high", nullFlavor="UNK")))
    return made


def human_of(found: Node) -> Json | None:
    """The HumanName of a PN; None where it has no words."""
    parts: dict[str, list[str]] = {part: [words(p) for p in every(found, part)] for part in _NAME_PARTS}
    said = [text for part in _NAME_PARTS for text in parts[part] if text]
    text = " ".join(said) if said else words(found).strip()
    if not text:
        return None
    uses = {v: k for k, v in _NAME_USES.items()}
    use = "old" if one(found, "validTime", "high") is not None else uses.get(found.get("use") or "")
    return {
        **({"use": use} if use else {}),
        "text": text,
        **({"family": " ".join(parts["family"])} if parts["family"] else {}),
        **{part: parts[part] for part in ("given", "prefix", "suffix") if parts[part]},
    }


def ad(tag: str, address: Json) -> Node:
    """An Address as AD."""
    made = node(tag, use=_PLACE_USES.get(str(address.get("use"))))
    for key, part in _ADDRESS_PARTS.items():
        add(made, *(node(part, text=text) for text in _texts(address.get(key))))
    text = address.get("text")
    if not len(made) and isinstance(text, str):
        made.text = text
    return made


def address_of(found: Node) -> Json | None:
    """The Address of an AD; None where it has no words."""
    parts = {key: [words(p) for p in every(found, part)] for key, part in _ADDRESS_PARTS.items()}
    uses = {v: k for k, v in _PLACE_USES.items()}
    use = uses.get((found.get("use") or "").partition(" ")[0])
    known: Json = {key: texts if key == "line" else ", ".join(texts) for key, texts in parts.items() if texts}
    if not known and (text := words(found).strip()):
        known = {"text": text}
    return {**({"use": use} if use else {}), **known} if known else None


def tel(tag: str, point: Json) -> Node | None:
    """A ContactPoint as TEL, a number without the blanks that people put in; None where it is no address of a kind."""
    system, value = str(point.get("system")), point.get("value")
    if not isinstance(value, str) or not value.strip():
        return None
    if system in _SCHEMES:
        bare = value.strip() if system == "email" else _SPACES.sub("", value)
        url = f"{_SCHEMES[system]}:{quote(bare, safe='@+-.()*;=~_/!')}"
    elif system == "url" and _URL.fullmatch(value):
        url = quote(value, safe="%:/?#[]@!$&'()*+,;=-._~")
    else:
        return None
    return node(tag, value=url, use=_POINT_USES.get(str(point.get("use"))))


def point_of(found: Node) -> Json | None:
    """The ContactPoint of a TEL; None where it has no address."""
    scheme, colon, rest = (found.get("value") or "").strip().partition(":")
    if not colon or not rest:
        return None
    systems = {v: k for k, v in _SCHEMES.items()}
    uses = {v: k for k, v in _POINT_USES.items()}
    use = uses.get((found.get("use") or "").partition(" ")[0])
    system = systems.get(scheme.lower())
    value = unquote(rest).strip() if system else f"{scheme}:{rest}"
    return {"system": system or "url", "value": value, **({"use": use} if use else {})}


def reached(tag: str, points: Any) -> list[Node]:
    """All ContactPoints of a list that CDA can hold."""
    return [made for p in _objects(points) if (made := tel(tag, p)) is not None]


def located(tag: str, addresses: Any) -> list[Node]:
    """All Addresses of a list."""
    return [ad(tag, a) for a in _objects(addresses)]


def named(tag: str, names: Any) -> list[Node]:
    """All HumanNames of a list."""
    return [pn(tag, n) for n in _objects(names)]


def reach_of(found: Node, *, telecom: str = "telecom", addr: str = "addr") -> Json:
    """The telecom and address of an element, as far as it has them."""
    points = [p for t in every(found, telecom) if (p := point_of(t))]
    places = [a for t in every(found, addr) if (a := address_of(t))]
    return {**({"telecom": points} if points else {}), **({"address": places} if places else {})}


def names_of(found: Node | None) -> Json:
    """The names of a person's element, under `name`."""
    names = [n for t in every(found, "name") if (n := human_of(t))]
    return {"name": names} if names else {}


def _objects(value: Any) -> Iterable[Json]:
    return (item for item in value if isinstance(item, dict)) if isinstance(value, list) else ()


def _texts(value: Any) -> Iterable[str]:
    items = value if isinstance(value, list) else [value]
    return (item for item in items if isinstance(item, str) and item)


def organisation_name(found: Node | None) -> str:
    """The name of an organisation's element; empty where it has none."""
    first = one(found, "name")
    return words(first).strip() if first is not None and name_of(first) else ""
