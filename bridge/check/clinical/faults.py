"""What is wrong with a rule file, gathered, so that all of it is told at once with its lines."""

from __future__ import annotations

import re
from pathlib import Path

from bridge.errors import MappingError
from bridge.marked_yaml import MarkedYamlError, Places, load_marked

_MOST = 20
_LONGEST = 4000
_UNSEEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ufffe\uffff]")
"""What a terminal or a letter may not be handed: controls, and signs that turn the reading about."""


class Faults:
    """Faults of one file; places are paths as `rules[3].each`."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._found: list[tuple[str, str]] = []

    def add(self, place: str, reason: str) -> None:
        """Remembers a fault; the reason is a clause of its own, without a full stop."""
        self._found.append((place, reason))

    def __bool__(self) -> bool:
        return bool(self._found)

    def error(self) -> MappingError:
        """All of them with their lines; nothing of the file is used then."""
        places = self._places()
        found = sorted({(_line(place, places), reason): None for place, reason in self._found}, key=lambda one: one[0])
        told = [f"{self.path.name}{f', line {line}' if line else ''}: {reason}." for line, reason in found]
        more = len(told) - _MOST
        told = [*told[:_MOST], *([f"{self.path.name}: and {more} more."] if more > 0 else [])]
        return MappingError("\n".join(told), "Mend these lines; no rule of the file is used until then.")

    def _places(self) -> Places:
        try:
            return load_marked(self.path.read_bytes())[1]
        except (OSError, MarkedYamlError):
            return {}


def _line(place: str, places: Places) -> int:
    """The line of the place, or of the nearest thing around it; 0 where none is known."""
    while place and place not in places:
        place = place[: max(place.rfind("."), place.rfind("["), 0)]
    return places[place][0] if place in places else 0


def unfit(text: str) -> str:
    """Why a text of a rule file can be shown to nobody; empty where it can."""
    if len(text) > _LONGEST:
        return f"is longer than {_LONGEST} characters"
    return "holds control characters" if _UNSEEN.search(text) else ""
