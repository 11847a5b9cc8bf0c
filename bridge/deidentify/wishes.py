"""What the person wants of a run."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Purpose = Literal["teaching", "audit"]
Dates = Literal["shift", "year"]


@dataclass(frozen=True, slots=True)
class Wishes:
    purpose: Purpose
    dates: Dates = "shift"
    """`shift`: all dates of a client moved by the same number of weeks; `year`: the year alone, unmoved."""
    with_text: bool = False
    """Free text stays, without the names and numbers that are found in it."""
    small: int = 5
    """Fewer clients than this in a combination make it rare."""
