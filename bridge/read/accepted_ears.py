"""Ears that the visit's model has accepted: most of a practice's ears are recorded alike, and one is held against the
model once."""

from __future__ import annotations

from collections.abc import Mapping

from bridge.ear_words import EARS
from bridge.visit import EarRecord, Visit

MOST = 500
"""Ears that are kept; then all are let go."""


class AcceptedEars:
    """Ears by what is told of them: the data of a record as text."""

    def __init__(self) -> None:
        self._known: dict[str, EarRecord] = {}

    def of(self, told: Mapping[str, str]) -> dict[str, EarRecord]:
        """Those that are known, by the name of the ear."""
        return {ear: known for ear, text in told.items() if (known := self._known.get(text)) is not None}

    def keep(self, told: Mapping[str, str], visit: Visit) -> None:
        """Keeps the ears of a visit that was made of what is told. An ear whose work names a practitioner depends on
        the visit's own, and is not kept."""
        for ear in EARS:
            text, record = told.get(ear), visit.ear(ear)
            if text is not None and record is not None and text not in self._known and "practitioner" not in text:
                if len(self._known) >= MOST:
                    self._known.clear()
                self._known[text] = record
