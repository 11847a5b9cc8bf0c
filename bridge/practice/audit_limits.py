"""Limits that a practice sets for its own coding audit, in percent; `audit run` fails where one is missed."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from bridge.visit.base import Model

Percent = Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)]


class Floors(Model):
    """The least that a rate may be."""

    coded: Percent | None = None
    sided: Percent | None = None
    consistency: Percent | None = None
    agreement: Percent | None = None


class Ceilings(Model):
    """The most that a rate may be."""

    text_only: Annotated[Percent | None, Field(alias="text-only")] = None
    unspecific: Percent | None = None
    retired: Percent | None = None
    conflicts: Percent | None = None


class AuditLimits(Model):
    floors: Floors = Floors()
    ceilings: Ceilings = Ceilings()

    def limits(self) -> tuple[dict[str, float], dict[str, float]]:
        """Floors and ceilings that are set, by the names that options have for them."""
        floors, ceilings = (one.model_dump(by_alias=True, exclude_none=True) for one in (self.floors, self.ceilings))
        return floors, ceilings
