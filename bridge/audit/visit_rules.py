"""A: what a visit shows beside its single items: sides in words of fields that have a place for the ear."""

from __future__ import annotations

import re
from collections.abc import Iterator

from bridge.issues import Issue, Where, issue
from bridge.phrases import side_words
from bridge.visit import Visit

_EYES = re.compile(r"(?<![\w/.-])(?:OD|OS|OU)(?![\w/-])")


def sides_in_words(visit: Visit) -> Iterator[Issue]:
    """A101 for cautions and a referral that name an ear in their words alone."""
    places: list[tuple[str, str | None, str]] = [
        (f"cautions[{n}].term", one.ear, one.term.text) for n, one in enumerate(visit.cautions)
    ]
    if visit.referral is not None:
        places.append(("referral.reason", visit.referral.ear, visit.referral.reason))
    for path, ear, words in places:
        if ear is None and side_words(words):
            yield issue("A101", "The words name an ear, and no code or field does.", Where(path=path), cause="A101")


def eyes_in_notes(visit: Visit) -> Iterator[Issue]:
    """A131 for notes of an ear."""
    for name in ("right", "left"):
        record = getattr(visit, name)
        if record is not None and record.note and _EYES.search(record.note):
            told = "OD, OS and OU are marks of the eyes; which ear is meant is not sure."
            yield issue("A131", told, Where(path=f"{name}.note"), cause="A131")
