"""What was agreed to: examination and treatment, and sharing what was found."""

from typing import Literal, Self

from pydantic import model_validator

from bridge.visit.base import Model, Short, Text, When

Scope = Literal["visit summary", "referral", "whole record", "images"]


class TreatmentConsent(Model):
    """Consent to examine and treat."""

    status: Literal["given", "refused", "withdrawn", "best interests", "given by guardian"]
    form: Short | None = None
    """Verbal and recorded, written, electronic signature."""
    at: When | None = None
    given_by: Short | None = None
    """Who gave it, by name or by what they are to the client, where the record says so."""
    taken_by: Short | None = None
    explained: tuple[Short, ...] = ()
    """Risks and alternatives explained."""
    capacity: Short | None = None
    note: Text | None = None


class SharingConsent(Model):
    """Consent to tell others. The reason is asked for where it was refused or not asked."""

    status: Literal["given", "refused", "not asked", "withdrawn"]
    recipients: tuple[Short, ...] = ()
    """The family doctor's practice unless others are named."""
    scope: tuple[Scope, ...] = ()
    """What may be told; the visit summary unless more is named."""
    except_for: tuple[Short, ...] = ()
    """What the client asked to leave out, in their words."""
    form: Short | None = None
    at: When | None = None
    valid_until: When | None = None
    withdrawn_at: When | None = None
    reason: Text | None = None

    @model_validator(mode="after")
    def _withdrawn(self) -> Self:
        if self.withdrawn_at and self.status != "withdrawn":
            raise ValueError("has a date of withdrawal but is not called withdrawn")
        if self.status == "not asked" and (self.at or self.form or self.recipients or self.except_for):
            raise ValueError("is called not asked but says how or to whom")
        if self.status == "not asked" and self.valid_until:
            raise ValueError("is called not asked but has an end")
        if self.status in ("refused", "not asked") and self.scope:
            raise ValueError(f"is called {self.status} but names what may be shared")
        return self
