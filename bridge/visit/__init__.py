"""One visit in the practitioner's own words, each word with room for a code.

`right` and `left` keep each ear's record apart by structure: nothing about an ear has a side of its
own that could be wrong. A field that is absent was not recorded; that is never read as normal.
"""

from collections.abc import Callable, Hashable, Iterator
from functools import cache
from typing import Any, Literal, Self, cast

from pydantic import BaseModel, Field, model_validator

from bridge.ear_words import EARS, Ear
from bridge.nothing_words import says_nothing
from bridge.visit.base import Coding, Measure, Model, Place, Short, Size, Term, Text, When
from bridge.visit.care import Advice, Allergies, Caution, FollowUp, Medicines, NotReferred, Referral, Request
from bridge.visit.consent import SharingConsent, TreatmentConsent
from bridge.visit.ear import EarRecord, Examination, Finding, Part, Product, Work
from bridge.visit.people import Approval, Client, Clinic, FamilyDoctor, Practitioner

__all__ = [
    "Client", "Clinic", "Coding", "EarRecord", "Examination", "FamilyDoctor", "Finding",
    "Measure", "Part", "Place", "Practitioner", "Size", "Term", "Visit", "When", "Work", "map_terms",
    "terms_of",
]  # fmt: skip


class Visit(Model):
    """One appointment of one client at one clinic."""

    number: Short
    """The practice's own number of this visit."""
    version: int = Field(1, ge=1, le=999)
    replaces: int | None = Field(None, ge=1, le=999)
    """The version that this one corrects."""
    clinic: Clinic | None = None
    practitioners: tuple[Practitioner, ...] = Field((), max_length=10)
    client: Client
    family_doctor: FamilyDoctor | None = None
    start: When
    end: When | None = None
    recorded_at: When | None = None
    """When the record was written; the visit's end or start where the record does not say."""
    place: Literal["clinic", "home", "care home"] = "clinic"
    """The practice's own rooms unless the record says otherwise."""
    attendance: Literal["attended", "did not attend", "left before examination"] = "attended"
    reasons: tuple[Term, ...] = ()
    """Why the client came, in their words."""
    cautions: tuple[Caution, ...] = ()
    allergies: Allergies | None = None
    medicines: Medicines | None = None
    softeners: tuple[Product, ...] = ()
    """Used before the visit."""
    access_needs: tuple[Short, ...] = ()
    consent: TreatmentConsent | None = None
    sharing: SharingConsent | None = None
    right: EarRecord | None = None
    left: EarRecord | None = None
    weber: Literal["right", "left", "middle"] | None = None
    advice: tuple[Advice, ...] = ()
    follow_up: FollowUp | None = None
    requests: tuple[Request, ...] = ()
    """What the family doctor is asked to do; empty with `no_request` true means: asked of them is nothing."""
    no_request: bool = False
    referral: Referral | None = None
    not_referred: NotReferred | None = None
    """Only where the practitioner decided against a referral that a red flag asks for."""
    note: Text | None = None
    approved: Approval | None = None
    source_sha256: str | None = Field(None, pattern=r"^[0-9a-f]{64}$")
    """SHA-256 of the record as kept, so that anybody can tell later which state was read."""

    @model_validator(mode="before")
    @classmethod
    def _recorded(cls, value: Any) -> Any:
        if not isinstance(value, dict):
            return value
        if not value.get("recorded_at"):
            value = {**value, "recorded_at": value.get("end") or value.get("start")}
        if _no_referral(value.get("referral")):
            value = {k: v for k, v in value.items() if k != "referral"}
        if _no_reason(value.get("not_referred")):
            value = {k: v for k, v in value.items() if k != "not_referred"}
        return _without_repeated_practitioner(value)

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        if self.replaces is not None and self.replaces >= self.version:
            raise ValueError("replaces a version that is not older than itself")
        if self.no_request and self.requests:
            raise ValueError("says nothing is asked of the doctor, and asks something")
        return self

    def ear(self, ear: Ear) -> EarRecord | None:
        return self.right if ear == "right" else self.left


def _no_referral(value: Any) -> bool:
    """Whether nothing is said of a referral but that there is none."""
    filled = {k: v for k, v in value.items() if v} if isinstance(value, dict) else {"to": value}
    to = filled.get("to")
    words = to.get("text") if isinstance(to, dict) else to
    return len(filled) == 1 and isinstance(words, str) and says_nothing("referral", words)


def _no_reason(value: Any) -> bool:
    """Whether the words under "reason not referred" give none, so that they answer nothing."""
    words = value.get("reason") if isinstance(value, dict) else value
    return isinstance(words, str) and says_nothing("not_referred", words)


def _without_repeated_practitioner(value: dict[str, Any]) -> dict[str, Any]:
    """To name the visit's only practitioner again beside a piece of work says nothing more."""
    who = value.get("practitioners")
    if not isinstance(who, list | tuple) or len(who) != 1:
        return value
    only = who[0].get("key") if isinstance(who[0], dict) else who[0]
    for ear in EARS:
        record = value.get(ear)
        work = record.get("work") if isinstance(record, dict) else None
        if isinstance(work, list | tuple) and any(isinstance(w, dict) and w.get("practitioner") == only for w in work):
            kept = [
                {k: v for k, v in w.items() if k != "practitioner" or v != only} if isinstance(w, dict) else w
                for w in work
            ]
            value = {**value, ear: {**record, "work": kept}} if isinstance(record, dict) else value
    return value


def terms_of(visit: Visit) -> Iterator[tuple[str, Term]]:
    """Every term with its field path (`right.before.wax.amount`, `left.work[0].events[1].term`)."""
    yield from _terms(visit, "")


def _terms(value: Any, path: str) -> Iterator[tuple[str, Term]]:
    if isinstance(value, Term):
        yield path, value
    elif isinstance(value, BaseModel):
        for name in fields_with_terms(type(value)):
            inner = getattr(value, name)
            if inner is not None and inner != ():
                yield from _terms(inner, f"{path}.{name}" if path else name)
    elif isinstance(value, tuple):
        for index, item in enumerate(value):
            yield from _terms(item, f"{path}[{index}]")


@cache
def fields_with_terms(model: Hashable) -> tuple[str, ...]:
    """Fields of a part of a visit in which a term can stand, however deep; none for what is no part of one."""
    if not (isinstance(model, type) and issubclass(model, BaseModel)):
        return ()
    return tuple(name for name, info in model.model_fields.items() if _holds(cast(Hashable, info.annotation)))


@cache
def _holds(annotation: Hashable) -> bool:
    """Whether a value of this type can be a term or hold one."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation is Term or bool(fields_with_terms(annotation))
    return any(_holds(inner) for inner in getattr(annotation, "__args__", ()))


def map_terms(visit: Visit, change: Callable[[str, Term], Term]) -> Visit:
    """The same visit with every term passed through `change(path, term)`; unchanged parts are shared."""
    changed = _map(visit, "", change)
    assert isinstance(changed, Visit)
    return changed


def _map(value: Any, path: str, change: Callable[[str, Term], Term]) -> Any:
    if isinstance(value, Term):
        return change(path, value)
    if isinstance(value, BaseModel):
        updates = {}
        for name in fields_with_terms(type(value)):
            inner = getattr(value, name)
            if isinstance(inner, BaseModel) or (isinstance(inner, tuple) and inner):
                mapped = _map(inner, f"{path}.{name}" if path else name, change)
                if mapped is not inner:
                    updates[name] = mapped
        return value.model_copy(update=updates) if updates else value
    if isinstance(value, tuple):
        items = tuple(_map(item, f"{path}[{index}]", change) for index, item in enumerate(value))
        return items if any(a is not b for a, b in zip(items, value, strict=True)) else value
    return value
