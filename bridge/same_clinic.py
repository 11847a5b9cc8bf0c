"""Whether two clinics are one: whose a visit is, decides who may add to it, and who writes its letters."""

from __future__ import annotations

import re
import unicodedata

from bridge.visit import Clinic

NOT_NAMED = Clinic(name="a clinic that the received document does not name")
"""Whose a received visit is where its document names nobody: never ours."""


def same_clinic(one: Clinic | None, other: Clinic | None) -> bool | None:
    """By their codes where both have one, else by their names; None where one of them is not named."""
    if one is None or other is None or NOT_NAMED.name in (one.name, other.name):
        return None
    if (one.name, one.organisation_code) == (other.name, other.organisation_code):
        return True
    if one.organisation_code and other.organisation_code:
        return folded(one.organisation_code) == folded(other.organisation_code)
    return folded(one.name) == folded(other.name)


def of_another(visit_clinic: Clinic | None, own: Clinic | None) -> bool:
    """Whether a visit that names this clinic is another one's than the practice's own; one that names none is ours."""
    unnamed = visit_clinic is not None and visit_clinic.name == NOT_NAMED.name
    return unnamed or same_clinic(visit_clinic, own) is False


def folded(text: str) -> str:
    """Words as they are compared: without accents, capitals and marks."""
    plain = unicodedata.normalize("NFKD", text.casefold())
    bare = "".join(c for c in plain if not unicodedata.combining(c))
    return " ".join(re.sub(r"[\W_]+", " ", bare).split())
