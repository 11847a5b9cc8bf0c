"""A reader of CDA R2 who knows the standard and none of our templates. Imports nothing of the project.

What it goes by is HL7 CDA R2 alone: moodCode EVN is what took place, `negationInd` says that it did not, a `value` with
a null flavour says none, a high end of `effectiveTime` says that it is over (C-CDA's way for problems), statusCode
cancelled or nullified that it never was.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

V3 = "{urn:hl7-org:v3}"
TYPE = "{http://www.w3.org/2001/XMLSchema-instance}type"


def stands(act: Any) -> bool:
    """Whether an act, and all that it stands within, is told as having taken place."""
    for place in (act, *act.iterancestors()):
        status = place.find(f"{V3}statusCode")
        if place.get("moodCode", "EVN") != "EVN" or place.get("negationInd") == "true":
            return False
        if status is not None and status.get("code") in ("cancelled", "nullified"):
            return False
    return True


def is_past(act: Any) -> bool:
    return act.find(f"{V3}effectiveTime/{V3}high") is not None


def findings(root: Any) -> Iterator[tuple[str, str]]:
    """Every code, with its system, that an observation has for a value and that is told as being so now."""
    for act in root.iter(f"{V3}observation"):
        if stands(act) and not is_past(act):
            for value in act.findall(f"{V3}value"):
                yield from coded(value)


def denials(root: Any) -> Iterator[tuple[str, str]]:
    """Every code of a value that is said not to be so."""
    for act in root.iter(f"{V3}observation"):
        if act.get("negationInd") == "true":
            for value in act.findall(f"{V3}value"):
                yield from coded(value)


def shown(root: Any) -> Iterator[str]:
    """The words that a screen would show for the value of an observation that stands."""
    for act in root.iter(f"{V3}observation"):
        if stands(act) and not is_past(act):
            for words in act.findall(f"{V3}value/{V3}originalText"):
                yield words.text or ""


def medicines(root: Any) -> Iterator[tuple[str, str]]:
    """Every code of something taken, given or to be taken."""
    for act in root.iter(f"{V3}substanceAdministration"):
        if act.get("negationInd") != "true":
            for code in act.iter(f"{V3}manufacturedMaterial"):
                yield from coded(code.find(f"{V3}code"))


def done(root: Any) -> Iterator[str]:
    """The id of every procedure that is told as done."""
    for act in root.iter(f"{V3}procedure"):
        if stands(act):
            yield act.find(f"{V3}id").get("root")


def coded(value: Any) -> Iterator[tuple[str, str]]:
    """The code of a value with its translations; none where the value itself has none."""
    if value is not None and value.get("code"):
        for place in (value, *value.findall(f"{V3}translation")):
            if place.get("code"):
                yield place.get("codeSystem"), place.get("code")
