"""Around the ears: standing cautions, medicines, advice, what comes next, a referral."""

from typing import Any, Literal, Self

from pydantic import model_validator

from bridge.ear_words import EARS, Ear
from bridge.visit.base import Model, Short, Term, Text, When
from bridge.visit.ear import Product
from bridge.visit.people import Recipient


class _Named(Model):
    """A string is the term."""

    term: Term

    @model_validator(mode="before")
    @classmethod
    def _from_words(cls, value: Any) -> Any:
        return {"term": value} if isinstance(value, str) else value


class Caution(_Named):
    """A standing caution: anticoagulant, diabetes, immune compromise, radiotherapy, only hearing ear."""

    ear: Ear | None = None
    since: When | None = None
    note: Text | None = None


class Allergy(_Named):
    reaction: Short | None = None
    note: Text | None = None


class _Asked(Model):
    """A list that says whether it was asked for: a string is the answer, a list the items."""

    @model_validator(mode="before")
    @classmethod
    def _from_words(cls, value: Any) -> Any:
        if isinstance(value, str):
            return {"answer": value}
        return {"items": value} if isinstance(value, list | tuple) else value


class Allergies(_Asked):
    answer: Literal["none known", "not asked"] | None = None
    items: tuple[Allergy, ...] = ()

    @model_validator(mode="after")
    def _one(self) -> Self:
        if (self.answer is None) == (not self.items):
            raise ValueError("needs either an answer (none known, not asked) or the allergies")
        return self


class Medicines(_Asked):
    answer: Literal["none", "not asked"] | None = None
    items: tuple[Product, ...] = ()

    @model_validator(mode="after")
    def _one(self) -> Self:
        if (self.answer is None) == (not self.items):
            raise ValueError("needs either an answer (none, not asked) or the medicines")
        return self


class Advice(_Named):
    """Advice given: to whom, how, and whether it was understood."""

    to: Short | None = None
    form: Short | None = None
    understood: bool | None = None
    safety_net: bool = False
    """True where it says which signs should bring the client back, and where to."""


class FollowUp(Model):
    """What comes next at this clinic. A string is the plan in words."""

    plan: Text
    due: When | None = None
    reason: Text | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_words(cls, value: Any) -> Any:
        return {"plan": value} if isinstance(value, str) else value


class Request(Model):
    """Something the family doctor is asked to do. A string is the request."""

    action: Text
    ear: Ear | None = None
    by_when: When | None = None
    reason: Text | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_words(cls, value: Any) -> Any:
        return {"action": value} if isinstance(value, str) else value


class Referral(Model):
    """Sending the client on: to whom, how fast, why, with which question."""

    to: Term
    """The kind of service."""
    recipient: Recipient | None = None
    """The one service of that kind, by the address book or as written."""
    urgency: Literal["immediate", "urgent", "routine"]
    """Immediate: to be seen within 24 hours; urgent: within 2 weeks."""
    by: When | None = None
    """The last day, where the record sets another than the urgency means."""
    reason: Text
    rule: Short | None = None
    """Why so fast: a rule of mappings/referral-rules.csv by its id, or the local rule in words."""
    question: Text | None = None
    ear: Literal["right", "left", "both", "neither"] | None = None
    """`neither`: the matter is not one of an ear."""
    told_by: Short | None = None
    """How the receiver was told: by phone, letter, secure message."""
    told_at: When | None = None
    told_to: Short | None = None
    """Who took the call, with their role."""
    agreed: Text | None = None
    """What was agreed with them."""
    receipt: Short | None = None
    client_told: Text | None = None

    @property
    def ears(self) -> tuple[Ear, ...]:
        """The ears that it is about."""
        return EARS if self.ear == "both" else (self.ear,) if self.ear in ("right", "left") else ()


class NotReferred(Model):
    """Why nobody was asked to see the client although a red flag stands. A string is the reason."""

    reason: Text
    rules: tuple[Short, ...] = ()
    """The flags that it is about, by the id of the flag (RF01) or of the rule (C201); every flag that stands, where
    none is named."""

    @model_validator(mode="before")
    @classmethod
    def _from_words(cls, value: Any) -> Any:
        return {"reason": value} if isinstance(value, str) else value
