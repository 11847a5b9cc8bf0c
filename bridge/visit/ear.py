"""One ear: what was known of it, seen before, done, seen after, and thought."""

import re
from decimal import Decimal
from typing import Any, Literal, Self

from pydantic import Field, model_validator

from bridge.visit.base import Answer, Filled, Measure, Model, Place, Short, Size, Term, Text, When

_ANSWER = re.compile(r"(normal|not seen|not examined)(?:\s*\((.+)\))?", re.IGNORECASE | re.DOTALL)


def answer_from_words(value: Any) -> Any:
    """`normal`, `not seen (wax in the way)`, `not examined (declined)` as their fields; the rest unchanged."""
    if isinstance(value, str) and (found := _ANSWER.fullmatch(value.strip())):
        answer, reason = found.groups()
        return {"answer": answer.lower(), **({"reason": reason} if reason else {})}
    return value


class Finding(Model):
    """One thing seen, suspected, looked for and not found, or known from before. A string is its term."""

    term: Term
    place: Place | None = None
    amount: Term | None = None
    percent: int | None = Field(None, ge=0, le=100)
    """Share of the lumen narrowed, or of the pars tensa missing."""
    width: Measure | None = None
    moisture: Term | None = None
    how: Literal["found", "caused"] | None = None
    """A perforation found after clearing is not one caused by it."""

    @model_validator(mode="before")
    @classmethod
    def _from_words(cls, value: Any) -> Any:
        return {"term": value} if isinstance(value, str) else value


class Part(Filled):
    """A part of the ear under one of the four answers. A list is its findings; a string an answer."""

    answer: Answer | None = None
    reason: Term | None = None
    findings: tuple[Finding, ...] = ()
    note: Text | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_words(cls, value: Any) -> Any:
        value = answer_from_words(value)
        if isinstance(value, str):
            return {"findings": [value]}
        return {"findings": value} if isinstance(value, list | tuple) else value

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        if self.reason and self.answer in (None, "normal"):
            raise ValueError("has a reason without being not seen or not examined")
        stated = any(f.term.assertion in (None, "present") for f in self.findings)
        if self.answer in ("not seen", "not examined") and stated:
            raise ValueError(f"is called {self.answer} but has findings")
        return self


class View(Model):
    """What was looked at and how far it could be seen. `answer` not examined: nobody looked."""

    achieved: Literal["full", "partial", "none"] | None = None
    answer: Literal["not examined"] | None = None
    reason: Term | None = None
    device: Term | None = None
    speculum: Size | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_words(cls, value: Any) -> Any:
        if isinstance(value, str):
            words = answer_from_words(value)
            if isinstance(words, dict):
                return (
                    {"achieved": "none", **{k: v for k, v in words.items() if k == "reason"}}
                    if words["answer"] == "not seen"
                    else words
                )
            return {"achieved": value}
        return value

    @model_validator(mode="after")
    def _one(self) -> Self:
        if (self.achieved is None) == (self.answer is None):
            raise ValueError("says neither or both of how far it was seen and not examined")
        return self


class Wax(Filled):
    """Wax in one ear at one stage. A string is the amount, or one of the answers not seen, not examined."""

    answer: Literal["not seen", "not examined"] | None = None
    reason: Term | None = None
    amount: Term | None = None
    percent: int | None = Field(None, ge=0, le=100)
    """Of the lumen."""
    consistency: tuple[Term, ...] = ()
    colour: tuple[Term, ...] = ()
    adherence: Term | None = None
    place: Place | None = None
    note: Text | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_words(cls, value: Any) -> Any:
        value = answer_from_words(value)
        return {"amount": value} if isinstance(value, str) else value

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        told = self.amount or self.percent is not None or self.consistency or self.colour or self.place
        if self.answer and told:
            raise ValueError(f"is called {self.answer} but is described")
        if self.reason and not self.answer:
            raise ValueError("has a reason without being not seen or not examined")
        return self


class Drum(Part):
    """The tympanic membrane: how much of it could be seen, and what was seen of it."""

    seen: Literal["whole", "partly"] | None = None
    seen_reason: Term | None = None
    """Why only partly."""

    @model_validator(mode="after")
    def _seen(self) -> Self:
        if self.seen and self.answer in ("not seen", "not examined"):
            raise ValueError(f"is called {self.answer} but also seen")
        if self.seen_reason and self.seen != "partly":
            raise ValueError("says why it was seen partly, but not that it was")
        return self


class Examination(Filled):
    """One look at one ear."""

    view: View | None = None
    wax: Wax | None = None
    contents: Part | None = None
    """Other things in the canal: debris, skin, hair, pus, a foreign body, a tube lying loose."""
    canal: Part | None = None
    drum: Drum | None = None
    outer_ear: Part | None = None
    mastoid_cavity: Part | None = None
    note: Text | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_words(cls, value: Any) -> Any:
        value = answer_from_words(value)
        if isinstance(value, dict) and value.get("answer") == "not examined":
            return {"view": value}
        return value


class Instrument(Model):
    """What was used, with its size and the scale's label. A string is its name."""

    name: Term
    size: Size | None = None
    lot: Short | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_words(cls, value: Any) -> Any:
        return {"name": value} if isinstance(value, str) else value


class Suction(Filled):
    """Magnitude of the negative pressure, with its unit, and whether set or reached when occluded."""

    pressure: Measure | None = None
    taken: Literal["set", "reached"] | None = None
    time: Measure | None = None


class Irrigation(Filled):
    temperature: Measure | None = None
    pressure: Measure | None = None
    volume: Measure | None = None
    tip: Short | None = None


class Product(Model):
    """Drops or the like that were put in, supplied or used before. A string is its name."""

    name: Term
    strength: Short | None = None
    dose: Short | None = None
    when: Literal["used before", "used in clinic", "supplied", "advised"] | None = None
    start: When | None = None
    batch: Short | None = None
    expiry: When | None = None
    note: Text | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_words(cls, value: Any) -> Any:
        return {"name": value} if isinstance(value, str) else value


class Event(Model):
    """Something that happened during or after the work. A string is its term."""

    term: Term
    severity: Literal["mild", "moderate", "severe"] | None = None
    done: Text | None = None
    """What was done about it."""

    @model_validator(mode="before")
    @classmethod
    def _from_words(cls, value: Any) -> Any:
        return {"term": value} if isinstance(value, str) else value


class Work(Model):
    """One method used on one ear, and how it ended."""

    method: Term
    why: Text | None = None
    """Why this method."""
    instruments: tuple[Instrument, ...] = ()
    suction: Suction | None = None
    irrigation: Irrigation | None = None
    products: tuple[Product, ...] = ()
    attempts: int | None = Field(None, ge=0, le=50)
    duration: Measure | None = None
    tolerance: Term | None = None
    pain_before: int | None = Field(None, ge=0, le=10)
    pain_peak: int | None = Field(None, ge=0, le=10)
    pain_after: int | None = Field(None, ge=0, le=10)
    events: tuple[Event, ...] = ()
    outcome: Term | None = None
    outcome_reason: Term | None = None
    """Why partial, stopped or not attempted."""
    practitioner: Short | None = None
    """Key of who did it, where more than one saw the client."""
    note: Text | None = None


class Symptom(Model):
    """What the client says of this ear. A string is its term."""

    term: Term
    onset: When | None = None
    developed_over: Measure | None = None
    """How fast it came on."""
    severity: Literal["mild", "moderate", "severe"] | None = None
    score: int | None = Field(None, ge=0, le=10)
    note: Text | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_words(cls, value: Any) -> Any:
        return {"term": value} if isinstance(value, str) else value


class PastEvent(Model):
    """Something known of this ear from before: surgery, perforation, tube, infection, a reaction."""

    term: Term
    date: When | None = None
    ended: When | None = None
    note: Text | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_words(cls, value: Any) -> Any:
        return {"term": value} if isinstance(value, str) else value


class Impression(Model):
    """What the practitioner makes of it, as certain as they are. A string is its term."""

    term: Term
    standing: bool = False
    """A standing disorder for the problem list, not only this visit's."""
    onset: When | None = None
    note: Text | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_words(cls, value: Any) -> Any:
        return {"term": value} if isinstance(value, str) else value


class HearingAid(Model):
    style: Term | None = None
    uses: bool = True
    note: Text | None = None


class Threshold(Model):
    """One pure-tone threshold in dB HL."""

    frequency: Literal[125, 250, 500, 750, 1000, 1500, 2000, 3000, 4000, 5000, 6000, 8000]
    level: Decimal = Field(ge=-20, le=130, max_digits=5)
    conduction: Literal["air", "bone"] = "air"
    masked: bool = False
    no_response: bool = False


class Tympanometry(Filled):
    type: Literal["A", "As", "Ad", "B", "C"] | None = None
    peak_pressure: Measure | None = None
    admittance: Measure | None = None
    canal_volume: Measure | None = None
    probe: Measure | None = None


class Hearing(Filled):
    """Hearing checks of one ear at one stage of the visit."""

    thresholds: tuple[Threshold, ...] = ()
    tympanometry: Tympanometry | None = None
    rinne: Literal["positive", "negative"] | None = None
    whisper: Short | None = None
    note: Text | None = None


class Image(Model):
    """A picture by file reference; the file stays where it is."""

    file: Short
    stage: Literal["before", "after"] | None = None
    view: Short | None = None
    taken_at: When | None = None


class EarRecord(Filled):
    """All that the visit says of one ear. `not examined` alone is a whole record of it."""

    symptoms: tuple[Symptom, ...] = ()
    history: tuple[PastEvent, ...] = ()
    hearing_aid: HearingAid | None = None
    hearing_before: Hearing | None = None
    before: Examination | None = None
    work: tuple[Work, ...] = ()
    after: Examination | None = None
    hearing_after: Hearing | None = None
    hearing_change: Term | None = None
    """The client's own report: better, same, worse."""
    impressions: tuple[Impression, ...] = ()
    images: tuple[Image, ...] = ()
    note: Text | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_words(cls, value: Any) -> Any:
        words = answer_from_words(value)
        if isinstance(words, dict) and words.get("answer") == "not examined":
            return {"before": words}
        return value
