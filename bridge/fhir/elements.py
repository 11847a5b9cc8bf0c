"""The visit's small shapes spelt in FHIR, and read back: terms, measures, sizes, names, addresses, sides."""

from __future__ import annotations

from functools import cache
from typing import Any

from bridge.data import load_csv, table_path
from bridge.ear_words import EARS, Ear
from bridge.fhir.own import coding
from bridge.fhir.systems import system
from bridge.shapes import Json
from bridge.visit.base import Coding, Measure, Size, Term
from bridge.visit.people import Address, Name

UNIT_TEXT = {"mm[Hg]": "mmHg", "cm[H2O]": "cmH2O", "mm[H2O]": "mmH2O", "Cel": "°C", "[drp]": "drops", "1": ""}
"""How a person writes a UCUM unit where that differs from its code."""

EAR_CODE: dict[Ear, str] = {"right": "25577004", "left": "89644007"}
"""SNOMED CT right and left ear structure, both in the Global Patient Set."""


def concept(term: Term) -> Json:
    """CodeableConcept: the words as text, the codes beside them."""
    codings = [c.model_dump(exclude_none=True, include={"system", "version", "code", "display"}) for c in term.codings]
    return {**({"coding": codings} if codings else {}), "text": term.text}


def term(concept: Json, assertion: str | None = None) -> Term | None:
    """The term behind a CodeableConcept; a foreign one without text takes its first display as words."""
    codings = tuple(
        Coding.model_validate({k: c[k] for k in ("system", "code", "display", "version") if k in c})
        for c in concept.get("coding", ())
        if c.get("system") and c.get("code")
    )
    words = concept.get("text") or next((c.display for c in codings if c.display), None)
    return Term.model_validate({"text": words, "codings": codings, "assertion": assertion}) if words else None


def quantity(measure: Measure) -> Json:
    return {
        "value": measure.value,
        "unit": UNIT_TEXT.get(measure.unit, measure.unit) or "1",
        "system": system("ucum"),
        "code": measure.unit,
    }


def measure(quantity: Json) -> Measure:
    return Measure.model_validate({"value": quantity["value"], "unit": quantity["code"]})


def size_quantity(size: Size) -> Json:
    """French and gauge are no UCUM units here, so they are told as the unit's own words only."""
    coded = {"system": system("ucum"), "code": "mm"} if size.scale == "mm" else {}
    return {"value": size.value, "unit": size.scale, **coded}


def size(quantity: Json) -> Size:
    return Size.model_validate({"value": quantity["value"], "scale": quantity["unit"]})


def ear_site(ear: Ear, part: str = "ear") -> Json:
    """CodeableConcept of one ear as body site; `part` names the part of that ear in words."""
    return {"coding": [coding(f"sct:{EAR_CODE[ear]}")], "text": f"{ear} {part}"}


def finer_site(site: Json) -> Json:
    """The same body site of ours by the code of the part that its words name, where the licensed set has one."""
    name = _parts().get(site["text"])
    return {**site, "coding": [coding(name)]} if name else site


def ear_of(site: Any) -> Ear | None:
    """The ear that a body site's codings name; None without one, or where they name both."""
    codes = {c.get("code") for c in site.get("coding", ()) if c.get("system") == system("sct")} if site else set()
    ears = {ear for code, ear in _sites().items() if code in codes}
    return ears.pop() if len(ears) == 1 else None


@cache
def _parts() -> dict[str, str]:
    """Short names of finer codes by the words of a body site (`right ear canal`), from `mappings/ear-sites.csv`."""
    rows = list(load_csv(table_path("ear-sites.csv")))
    return {f"{ear} {row['part']}": row[ear] for row in rows for ear in EARS}


@cache
def _sites() -> dict[str, Ear]:
    """Ears by the codes of the body sites that we write, in either set of codes."""
    finer = {coding(name)["code"]: ear for words, name in _parts().items() for ear in EARS if words.startswith(ear)}
    return {code: ear for ear, code in EAR_CODE.items()} | finer


def human_name(name: Name, use: str) -> Json:
    full = " ".join([*([name.prefix] if name.prefix else []), *name.given, *([name.family] if name.family else [])])
    return {
        "use": use,
        "text": full,
        **({"family": name.family} if name.family else {}),
        **({"given": list(name.given)} if name.given else {}),
        **({"prefix": [name.prefix]} if name.prefix else {}),
    }


def name(human: Json) -> Name:
    return Name.model_validate(
        {"family": human.get("family"), "given": human.get("given", ()), "prefix": (human.get("prefix") or [None])[0]}
    )


def postal(address: Address, district: str = "district") -> Json:
    """`district` is the element that the address's district goes into: in some countries it is the state."""
    parts = {
        "line": list(address.lines),
        "city": address.city,
        district: address.district,
        "postalCode": address.postcode,
        "country": address.country,
    }
    return {k: v for k, v in parts.items() if v}


def address(postal: Json) -> Address:
    return Address.model_validate(
        {
            "lines": postal.get("line", ()),
            "city": postal.get("city"),
            "district": postal.get("district") or postal.get("state"),
            "postcode": postal.get("postalCode"),
            "country": postal.get("country"),
        }
    )


def telecom(phones: tuple[str, ...] = (), emails: tuple[str, ...] = ()) -> list[Json]:
    return [
        *({"system": "phone", "value": phone} for phone in phones),
        *({"system": "email", "value": email} for email in emails),
    ]


def contacts(points: list[Json], kind: str) -> tuple[str, ...]:
    return tuple(str(p["value"]) for p in points if p.get("system") == kind and p.get("value"))
