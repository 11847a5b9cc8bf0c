"""Words of the record beside what they were read as, and of which ear."""

from __future__ import annotations

import re

from bridge.ear_words import EARS
from bridge.fhir.elements import quantity
from bridge.fhir.systems import OWN
from bridge.fhir.tell.words import amount
from bridge.visit import Visit
from bridge.visit.base import Measure, Size, Term
from bridge.wording import say, translated

_CAUTION = re.compile(r"cautions\[(\d+)\]")


def said_of(term: Term) -> str:
    """The practice's own words, and the meaning that was read from them where that is another."""
    own = next((c for c in term.codings if c.system == OWN and c.display), None)
    label = translated(f"code.{own.code}", own.display or "") if own else ""
    plain = term.text.casefold().lstrip("?~ ")
    return f"{term.text} ({label})" if label and label.casefold() != plain else term.text


def ear_of(path: str, visit: Visit) -> str:
    """The ear of a field, in words; a dash where it has none."""
    first = path.partition(".")[0]
    if (found := _CAUTION.match(path)) and (side := visit.cautions[int(found[1])].ear):
        first = side
    return say(f"group.{first}") if first in EARS else say("handover.nothing")


def measured(measure: Measure | None) -> str:
    return amount(quantity(measure)) if measure else ""


def sized(size: Size | None) -> str:
    return say(f"handover.size.{size.scale.lower()}", value=str(size.value)) if size else ""
