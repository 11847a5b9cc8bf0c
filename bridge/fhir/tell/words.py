"""Words for codes, numbers, names and dates."""

from __future__ import annotations

from datetime import date
from typing import Any

from bridge.fhir.systems import OWN

Json = dict[str, Any]

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December",
)  # fmt: skip


def label(concept: Json | None) -> str:
    """The clean label of a concept: our own code's display, else the first display, else the words."""
    if not concept:
        return ""
    codings = concept.get("coding", ())
    own = next((c.get("display") for c in codings if c.get("system") == OWN and c.get("display")), None)
    return str(own or concept.get("text") or next((c["display"] for c in codings if c.get("display")), ""))


def words(concept: Json | None) -> str:
    """The clean label, and the local words in quotes where they say it differently."""
    clean = label(concept)
    local = str((concept or {}).get("text") or "")
    if not local or _folded(local) == _folded(clean):
        return clean
    return f"{clean} (noted as “{local}”)"


def _folded(text: str) -> str:
    return " ".join(text.casefold().replace("-", " ").split())


def amount(quantity: Json) -> str:
    unit = quantity.get("unit", "")
    if unit in ("mm", "Fr", "G") or unit:
        return f"{quantity['value']}{'' if unit == '%' else ' '}{unit}".strip()
    return str(quantity["value"])


def day(when: str) -> str:
    """`3 November 2026`, `May 2026`, `2010` of a FHIR date or dateTime."""
    parts = when[:10].split("-")
    if len(parts) == 3:
        known = date.fromisoformat(when[:10])
        return f"{known.day} {MONTHS[known.month - 1]} {known.year}"
    if len(parts) == 2:
        return f"{MONTHS[int(parts[1]) - 1]} {parts[0]}"
    return parts[0]


def moment(when: str) -> str:
    """The day, and the time of day where there is one."""
    return f"{day(when)}, {when[11:16]}" if "T" in when else day(when)


def name(names: list[Json] | None) -> str:
    """The official name, else the first."""
    found = next((n for n in names or () if n.get("use") == "official"), (names or [{}])[0])
    spelt = [*found.get("prefix", ()), *found.get("given", ()), found.get("family", "")]
    return str(found.get("text") or " ".join(p for p in spelt if p))


def address(postal: Json) -> str:
    parts = [*postal.get("line", ()), *(postal.get(k) for k in ("city", "district", "postalCode", "country"))]
    return ", ".join(str(p) for p in parts if p)


def listed(items: list[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    return items[0] if len(items) == 1 else ", ".join(items[:-1]) + f" and {items[-1]}" if items else ""


def upper_first(text: str) -> str:
    return text[:1].upper() + text[1:]
