"""Who: the client, those who speak for them, the practitioner, the clinic, the family doctor."""

import re
from typing import Any, Literal, Self

from pydantic import Field, field_validator, model_validator

from bridge.visit.base import Filled, Model, Short, Text, When

NhsStatus = Literal["01", "02", "03", "04", "05", "06", "07", "08"]
"""NHS number verification status, England (UKCore-NHSNumberVerificationStatusEngland)."""


class Name(Model):
    family: Short | None = None
    given: tuple[Short, ...] = ()
    prefix: Short | None = None

    @model_validator(mode="after")
    def _some(self) -> Self:
        if not self.family and not self.given:
            raise ValueError("has neither a family name nor a given name")
        return self


class Address(Filled):
    lines: tuple[Short, ...] = ()
    city: Short | None = None
    district: Short | None = None
    postcode: Short | None = None
    country: Short | None = None


class Identifier(Model):
    """Another number of the client or of an organisation, with who gave it."""

    value: Short
    assigner: Short


class Guardian(Model):
    """Someone who speaks for the client."""

    name: Name
    relationship: Short
    parental_responsibility: bool | None = None
    phone: Short | None = None
    accompanied: bool = False
    """True where they came along to this visit."""


class Client(Model):
    """The person whose ears they are. `number` is the practice's own, where it keeps one."""

    number: Short | None = None
    legal_name: Name
    usual_name: Name | None = None
    former_names: tuple[Name, ...] = ()
    birth_date: When | None = None
    sex: Literal["female", "male", "other", "unknown"] | None = None
    """Administrative gender, as FHIR spells it."""
    nhs_number: Short | None = None
    nhs_number_status: NhsStatus | None = None
    identifiers: tuple[Identifier, ...] = ()
    address: Address | None = None
    phones: tuple[Short, ...] = ()
    emails: tuple[Short, ...] = ()
    language: Short | None = None
    guardians: tuple[Guardian, ...] = ()

    @field_validator("nhs_number")
    @classmethod
    def _bare(cls, value: str | None) -> str | None:
        """Ten digits as a document wants them: blanks and hyphens are only for the eye."""
        return re.sub(r"[\s-]", "", value) if value else value

    @model_validator(mode="after")
    def _date_only(self) -> Self:
        if self.birth_date and "T" in self.birth_date:
            raise ValueError("has a birth date with a time")
        return self


class Registration(Model):
    """An entry in a professional register: the register's key in `mappings/registers.csv`, and the number."""

    register_key: Short
    number: Short


class Practitioner(Model):
    """Who did the work. A plain string is the key (initials) that the practice settings explain."""

    key: Short
    name: Name | None = None
    role: Short | None = None
    registrations: tuple[Registration, ...] = ()
    no_register: bool = False
    """True where the person says honestly that they are on no statutory register."""
    phone: Short | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_key(cls, value: Any) -> Any:
        return {"key": value} if isinstance(value, str) else value


class Clinic(Model):
    """The practice that keeps the record, with how a doctor reaches it."""

    name: Short
    organisation_code: Short | None = None
    address: Address | None = None
    phone: Short | None = None
    hours: Short | None = None
    email: Short | None = None


class FamilyDoctor(Model):
    """The family doctor's practice. A plain string is the key that the address book explains."""

    answer: Literal["known", "none", "unknown", "abroad"] = "known"
    """`none`: registered with no practice; `unknown`: asked and not known; `abroad`: outside the country."""
    key: Short | None = None
    practice: Short | None = None
    organisation_code: Short | None = None
    doctor: Short | None = None
    address: Address | None = None
    phone: Short | None = None
    email: Short | None = None
    note: Text | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_key(cls, value: Any) -> Any:
        if isinstance(value, str):
            return {"answer": value} if value in ("none", "unknown", "abroad") else {"key": value}
        return value

    @model_validator(mode="after")
    def _known(self) -> Self:
        if self.answer == "known" and not (self.key or self.practice):
            raise ValueError("is called known but has no practice")
        details = (self.key, self.practice, self.organisation_code, self.doctor, self.address, self.phone, self.email)
        if self.answer != "known" and any(details):
            raise ValueError(f"is called {self.answer} but has a practice")
        if self.answer == "known" and self.note:
            raise ValueError("has a note, which only none, unknown and abroad can have")
        return self


class Recipient(Model):
    """The service that a client is sent to. A plain string is the key that the address book explains."""

    key: Short | None = None
    name: Short | None = None
    organisation_code: Short | None = None
    person: Short | None = None
    address: Address | None = None
    phone: Short | None = None
    email: Short | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_key(cls, value: Any) -> Any:
        return {"key": value} if isinstance(value, str) else value

    @model_validator(mode="after")
    def _named(self) -> Self:
        if not (self.key or self.name):
            raise ValueError("has neither a key nor a name")
        return self


class Approval(Model):
    """Who read the letter and stands by it, and when."""

    by: Short
    """The practitioner's key."""
    at: When = Field()
