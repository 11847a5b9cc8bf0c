"""What belongs to one ear of a client and stands at the other in another visit."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.across.identity import Who
from bridge.ear_words import EARS, Ear
from bridge.fhir.systems import OWN
from bridge.issues import Issue, Where, issue
from bridge.visit import Visit

_Met = tuple[int, int]
"""Place and visit."""


class Sides:
    """Remembers the first visit in which something stood at each ear."""

    def __init__(self) -> None:
        self._met: dict[int, _Met] = {}

    def enter(self, visit: Visit, same: Who, at: int) -> Iterator[Issue]:
        """C587 for the only hearing ear, C588 for a hearing aid."""
        if found := _only_hearing(visit):
            ear, path = found
            if (other := self._other("only hearing ear", ear, same, at)) is not None:
                message = f"The {ear} ear is the only hearing one by this visit, and the other by {same.told(other)}."
                yield issue("C587", message, Where(path=path), cause=f"C587:{same.key('only'):x}")
        if (aided := _only_aided(visit)) and (other := self._other("hearing aid", aided, same, at)) is not None:
            message = (
                f"The aid is in the {aided} ear alone by this visit, and in the other alone by {same.told(other)}."
            )
            yield issue("C588", message, Where(path=f"{aided}.hearing_aid"), cause=f"C588:{same.key('aid'):x}")

    def _other(self, what: str, ear: Ear, same: Who, at: int) -> int | None:
        """The place of another visit that has it at the other ear."""
        self._met.setdefault(same.key(what, ear), (at, same.visit))
        opposite = self._met.get(same.key(what, "left" if ear == "right" else "right"))
        return opposite[0] if opposite and opposite[1] != same.visit else None


def _only_hearing(visit: Visit) -> tuple[Ear, str] | None:
    """The one ear that a caution calls so, with its path; None where none is, or both are."""
    found = [
        (caution.ear, f"cautions[{n}].ear")
        for n, caution in enumerate(visit.cautions)
        if caution.ear
        and caution.term.assertion in (None, "present")
        and any(c.system == OWN and c.code == "caution-only-hearing-ear" for c in caution.term.codings)
    ]
    return found[0] if len({ear for ear, _ in found}) == 1 else None


def _only_aided(visit: Visit) -> Ear | None:
    """The ear with an aid where the other is recorded to have none."""
    worn = {ear: aid.uses for ear in EARS if (record := visit.ear(ear)) and (aid := record.hearing_aid)}
    if sorted(worn.values()) != [False, True]:
        return None
    return "right" if worn["right"] else "left"
