"""What the coded facts of one look at one ear say, as far as a drawing needs it. Words of the record are left out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from typing import Literal

from bridge.ear_words import EARS, STAGES, Ear, Stage
from bridge.fhir.in_force import label as not_in_force
from bridge.fhir.in_force import withheld
from bridge.fhir.own import own_code, word
from bridge.fhir.systems import OWN
from bridge.fhir.tell import ear as ear_of
from bridge.fhir.tell.observation import kind_of, parts
from bridge.fhir.tell.words import amount, label
from bridge.shapes import Json
from bridge.wording import say

Answer = Literal["", "normal", "not-seen", "not-examined"]
"""Empty where the part is described or nothing is said of it."""
_PLACES = ("canal-third", "wall", "drum-part")
STEMS = ("contents", "canal", "drum", "outer-ear", "cavity")


@dataclass(slots=True)
class Where:
    """Where inside the ear, as far as it was recorded."""

    thirds: list[str] = field(default_factory=list)
    depth: float | None = None
    clock: tuple[int, int] | None = None
    walls: list[str] = field(default_factory=list)
    parts: list[str] = field(default_factory=list)

    @property
    def along(self) -> bool:
        """Whether it says how deep in the canal."""
        return bool(self.thirds) or self.depth is not None

    @property
    def around(self) -> bool:
        """Whether it says which side of the canal or which part of the drum."""
        return bool(self.clock or self.walls or self.parts)


@dataclass(slots=True)
class Fact:
    """One finding: what it is, how sure, where, and its details in words."""

    stem: str
    concept: str
    name: str
    assertion: str
    where: Where
    percent: int | None
    width: float | None
    details: list[str]


@dataclass(slots=True)
class State:
    """What is said of a part as a whole."""

    answer: Answer
    reason: str = ""


@dataclass(slots=True)
class Wax:
    concept: str
    name: str
    where: Where
    percent: int | None
    details: list[str]
    """How much and where: what a drawing shows."""
    more: list[str]
    """What it is like."""


@dataclass(slots=True)
class Look:
    """One examination of one ear."""

    ear: Ear
    stage: Stage
    states: dict[str, State] = field(default_factory=dict)
    """By `view`, `wax`, `drum-view` and the stems; a part that is missing here was not recorded as a whole."""
    partly: str | None = None
    """Why the drum was seen partly; empty where that was not recorded, None where it does not apply."""
    ear_partly: str | None = None
    """The same of the view of the ear."""
    wax: Wax | None = None
    findings: list[Fact] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)
    """Said of this look and never drawn, in words."""

    @property
    def bare(self) -> bool:
        return not (self.states or self.wax or self.findings or self.left_out)


def looks(resources: Sequence[Json]) -> dict[tuple[Stage, Ear], Look]:
    """Every look at every ear, also those of which nothing is recorded."""
    found = {(stage, side): Look(side, stage) for stage in STAGES for side in EARS}
    for resource in resources:
        if resource.get("resourceType") != "Observation":
            continue
        kind, side = kind_of(resource), ear_of(resource)
        stem, _, what = kind.rpartition("-")
        if side is None or what not in ("view", "state", "finding"):
            continue
        components = parts(resource)
        stage = next((word("stage", c.get("valueCodeableConcept")) for c in components.get("exam-stage", ())), None)
        if stage in STAGES:
            look = found["before" if stage == "before" else "after", side]
            _add(look, kind, stem, what, resource, components)
    return found


def _add(look: Look, kind: str, stem: str, what: str, resource: Json, components: dict[str, list[Json]]) -> None:
    mark = not_in_force(resource)
    if mark:
        about = "" if withheld(resource) else _name(resource.get("valueCodeableConcept"))
        look.left_out.append(say("drawing.not-in-force", mark=mark, what=about) if about else mark)
    elif what == "finding":
        look.findings.append(_finding(stem, resource, components))
    elif kind == "wax-state":
        _wax(look, resource, components)
    elif kind == "examination-view":
        _view(look, resource, components)
    elif kind == "drum-view":
        seen, reason = word("drum-view", resource.get("valueCodeableConcept")), _reason(components)
        if seen == "not seen":
            look.states.setdefault("drum-view", State("not-seen", reason))
        elif seen:
            look.states.setdefault("drum-view", State(""))
            look.partly = reason if seen == "partly" else look.partly
    elif stem in STEMS:
        _state(look, stem, resource, components)


def _state(look: Look, key: str, resource: Json, components: dict[str, list[Json]]) -> None:
    answer = _answer(resource)
    if answer:
        look.states.setdefault(key, State(answer, _reason(components)))


def _view(look: Look, resource: Json, components: dict[str, list[Json]]) -> None:
    seen, reason = word("view", resource.get("valueCodeableConcept")), _reason(components)
    if seen == "none":
        look.states.setdefault("view", State("not-seen", reason))
    elif seen:
        look.states.setdefault("view", State(""))
        look.ear_partly = reason if seen == "partial" else look.ear_partly
    else:
        _state(look, "view", resource, components)


def _wax(look: Look, resource: Json, components: dict[str, list[Json]]) -> None:
    answer = _answer(resource)
    if answer:
        look.states.setdefault("wax", State(answer, _reason(components)))
        return
    concept = resource.get("valueCodeableConcept")
    percent = _number(components, "occlusion")
    details = _details(components, ("occlusion", *_PLACES)) + place_words(_where(components))
    more = _details(components, ("wax-consistency", "wax-colour", "wax-adherence"))
    where = _where(components)
    wax = Wax(own_code(concept) or "", _name(concept) if concept else "", where, percent, details, more)
    if look.wax is None:
        look.wax = wax
    else:
        look.left_out.append(say("drawing.wax-again", what=", ".join([wax.name, *details, *more])))


def _finding(stem: str, resource: Json, components: dict[str, list[Json]]) -> Fact:
    concept = resource.get("valueCodeableConcept")
    assertion = word("assertion", concept) or "present"
    if assertion != "present":
        concept = next((c.get("valueCodeableConcept") for c in components.get("finding-in-question", ())), None)
    width = components.get("finding-width", [{}])[0].get("valueQuantity", {})
    return Fact(
        stem,
        own_code(concept) or "",
        say("drawing.unread") if assertion == "unread" else _name(concept),
        assertion,
        _where(components),
        _number(components, "finding-percent"),
        _plain(width.get("value")) if width.get("code") == "mm" else None,
        _details(
            components,
            ("finding-amount", "finding-percent", "finding-width", "moisture", "finding-how", *_PLACES),
            stem,
        )
        + place_words(_where(components)),
    )


def _where(components: dict[str, list[Json]]) -> Where:
    depth = components.get("depth", [{}])[0].get("valueQuantity", {})
    first, last = _hour(components, "clock-from"), _hour(components, "clock-to")
    return Where(
        _codes(components, "canal-third"),
        _plain(depth.get("value")) if depth.get("code") == "mm" else None,
        (first, last or first) if first else None,
        _codes(components, "wall"),
        _codes(components, "drum-part"),
    )


def place_words(components: Where) -> list[str]:
    """Depth and clock in words; what has a code of its own is worded by its label."""
    said = []
    if components.depth is not None:
        said.append(say("drawing.deep", depth=f"{components.depth:g}"))
    if components.clock:
        first, last = components.clock
        said.append(say("drawing.hour", hour=first) if first == last else say("drawing.hours", first=first, last=last))
    return said


def _details(components: dict[str, list[Json]], kinds: Sequence[str], stem: str = "wax") -> list[str]:
    said = []
    for kind in kinds:
        for component in components.get(kind, ()):
            if "valueQuantity" in component:
                said.append(say(f"drawing.{kind}.{stem}", amount=amount(component["valueQuantity"])))
            else:
                said.append(_name(component.get("valueCodeableConcept"), "drawing.own-word"))
    return said


def _answer(resource: Json) -> Answer:
    if word("answer", resource.get("valueCodeableConcept")) == "normal":
        return "normal"
    absent = {str(c.get("code")) for c in resource.get("dataAbsentReason", {}).get("coding", ())}
    return "not-examined" if "not-performed" in absent else "not-seen" if "unknown" in absent else ""


def _reason(components: dict[str, list[Json]]) -> str:
    return next(
        (_name(c.get("valueCodeableConcept"), "drawing.own-word") for c in components.get("absent-reason", ())), ""
    )


def _name(concept: Json | None, otherwise: str = "drawing.own-words") -> str:
    """The label of a coded concept; words that no table knows are not repeated, whatever they say."""
    codings = [c for c in (concept or {}).get("coding", ()) if isinstance(c, dict)]
    if any(c.get("system") == OWN and c.get("display") for c in codings):
        return label(concept)
    shown = next((str(c["display"]) for c in codings if c.get("display")), "")
    return shown or say(otherwise)


def _codes(components: dict[str, list[Json]], kind: str) -> list[str]:
    return [code for c in components.get(kind, ()) if (code := own_code(c.get("valueCodeableConcept")))]


def _hour(components: dict[str, list[Json]], kind: str) -> int | None:
    value = next((c.get("valueInteger") for c in components.get(kind, ())), None)
    return value if isinstance(value, int) and 1 <= value <= 12 else None


def _number(components: dict[str, list[Json]], kind: str) -> int | None:
    found = _plain(components.get(kind, [{}])[0].get("valueQuantity", {}).get("value"))
    return round(found) if found is not None and found <= 100 else None


def _plain(value: object) -> float | None:
    """A number of a decent size, and not below nothing."""
    try:
        found = float(Decimal(str(value)))
    except (InvalidOperation, ValueError, OverflowError):
        return None
    return found if 0 <= found <= 1000 else None
