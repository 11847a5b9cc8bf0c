"""What is known of one ear, sorted for the sentences: each look at it, and the work."""

from __future__ import annotations

from dataclasses import dataclass, field

from bridge.ear_words import STAGES, Ear, Stage
from bridge.fhir.own import own_code, word
from bridge.fhir.tell.around import is_past_event
from bridge.fhir.tell.by_ear import stage
from bridge.fhir.tell.clinical import nothing_done
from bridge.fhir.tell.observation import kind_of, parts
from bridge.fhir.tell.words import label
from bridge.render.entries import Entries
from bridge.render.letter.brief.named import Named, named
from bridge.shapes import Json

PARTS = ("contents", "canal", "drum", "outer-ear", "cavity")
_VIEWS = {"full": "", "partial": "partly", "none": "not-seen"}
_DRUM_VIEWS = {"whole": "", "partly": "partly", "not seen": "not-seen"}
_ABSENT = {"unknown": "not-seen", "not-performed": "not-examined"}


@dataclass(slots=True)
class Seen:
    """What one look says of one part. `limit`: partly, not-seen, not-examined, or nothing that kept from seeing it."""

    normal: bool = False
    limit: str = ""
    reason: str = ""
    present: list[Named] = field(default_factory=list)
    suspected: list[Named] = field(default_factory=list)
    words: bool = False
    """Whether something of it is told in words that no table knows."""


@dataclass(slots=True)
class Look:
    """An ear at one stage."""

    view: Seen | None = None
    wax: Json | None = None
    parts: dict[str, Seen] = field(default_factory=dict)


@dataclass(slots=True)
class EarFacts:
    side: Ear
    looks: dict[Stage, Look]
    """By stage, in their order."""
    work: list[Json]
    events: list[Named]
    suspected: list[Named]
    """Suspected impressions that no suspected finding of this ear is the evidence of."""
    notes_only: bool
    anything: bool

    @classmethod
    def of(cls, side: Ear, facts: list[Json], entries: Entries) -> EarFacts:
        looks = {when: look for when in STAGES if (look := _look([r for r in facts if stage(r) == when]))}
        observations = [r for r in facts if r["resourceType"] == "Observation"]
        return cls(
            side,
            looks,
            [r for r in facts if r["resourceType"] == "Procedure" and not is_past_event(r)],
            [named(r["valueCodeableConcept"]) for r in observations if kind_of(r) == "procedure-event" and _stands(r)],
            [named(r.get("code")) for r in facts if r["resourceType"] == "Condition" and _doubted(r, entries)],
            bool(facts) and all(kind_of(r) == "ear-note" for r in facts),
            bool(facts),
        )

    @property
    def empty(self) -> bool:
        """Whether there is nothing to make a sentence of but notes."""
        return not self.anything or self.notes_only

    @property
    def worked(self) -> bool:
        """Whether something was done to it, as far as the record says how it went."""
        return any(r.get("status") != "not-done" and not only_looked(r) for r in self.work)

    @property
    def last(self) -> Look | None:
        return list(self.looks.values())[-1] if self.looks else None


def _look(facts: list[Json]) -> Look | None:
    look = Look()
    for fact in facts:
        kind = kind_of(fact)
        stem, _, what = kind.rpartition("-")
        if kind == "examination-view":
            look.view = _limited(fact, _VIEWS, "view")
        elif kind == "wax-state":
            look.wax = fact
        elif kind == "drum-view":
            _see_drum(look.parts.setdefault("drum", Seen()), _limited(fact, _DRUM_VIEWS, "drum-view"))
        elif stem in PARTS and what in ("state", "finding"):
            _see(look.parts.setdefault(stem, Seen()), fact)
    return look if look.view or look.wax or look.parts else None


def _limited(fact: Json, views: dict[str, str], group: str) -> Seen:
    limit = views.get(word(group, fact.get("valueCodeableConcept")) or "", "") or absent(fact)
    return Seen(limit=limit, reason=reason(fact))


def _see_drum(seen: Seen, view: Seen) -> None:
    if not seen.limit:
        seen.limit, seen.reason = view.limit, view.reason


def _see(seen: Seen, fact: Json) -> None:
    value = fact.get("valueCodeableConcept")
    if limit := absent(fact):
        seen.limit, seen.reason = limit, reason(fact)
    elif word("answer", value) == "normal":
        seen.normal = True
    elif (assertion := word("assertion", value)) == "suspected":
        asked = parts(fact).get("finding-in-question", ())
        seen.suspected += [named(c["valueCodeableConcept"]) for c in asked if known(c.get("valueCodeableConcept"))]
        seen.words = seen.words or not all(known(c.get("valueCodeableConcept")) for c in asked)
    elif assertion == "unread":
        seen.words = True
    elif value and not assertion:
        seen.present += [named(value)] if known(value) else []
        seen.words = seen.words or not known(value)
    elif fact.get("note"):
        seen.words = True


def only_looked(procedure: Json) -> bool:
    return nothing_done(procedure) or own_code(procedure.get("code")) == "method-assessment"


def known(concept: Json | None) -> str:
    """The label of a concept that a table knows, by our own code; empty for words that none does."""
    return label(concept) if own_code(concept) else ""


def absent(fact: Json) -> str:
    codes = (str(c.get("code")) for c in fact.get("dataAbsentReason", {}).get("coding", ()))
    return next((_ABSENT[code] for code in codes if code in _ABSENT), "")


def reason(fact: Json) -> str:
    return next((label(c.get("valueCodeableConcept")) for c in parts(fact).get("absent-reason", ())), "")


def _stands(event: Json) -> bool:
    value = event.get("valueCodeableConcept")
    return bool(value) and not word("assertion", value) and own_code(value) != "event-none"


def _doubted(condition: Json, entries: Entries) -> bool:
    verification = {str(c.get("code")) for c in condition.get("verificationStatus", {}).get("coding", ())}
    if is_past_event(condition) or not verification & {"provisional", "differential"}:
        return False
    evidence = entries.all([d for e in condition.get("evidence", ()) for d in e.get("detail", ())])
    return not any(word("assertion", r.get("valueCodeableConcept")) == "suspected" for r in evidence)
