"""Who a referral goes to, as consents and address books name them. Words are compared whole: nothing is guessed."""

from __future__ import annotations

from functools import cache

from bridge.data import load_csv, table_path
from bridge.phrases.fold import fold
from bridge.visit import Term
from bridge.visit.care import Referral

FAMILY_DOCTOR = "referral-gp"
"""Our own code of the family doctor as a place of referral, in mappings/terms/care.csv."""


def to_family_doctor(referral: Referral) -> bool:
    """Whether the client is sent to the family doctor, who is then told by the consent for the family doctor."""
    return FAMILY_DOCTOR in _meanings(referral.to) or is_family_doctor(referral.to.text)


def names(recipient: str, referral: Referral) -> bool:
    """Whether a recipient of a consent is the receiver of the referral: by its words, its meaning or its name."""
    if to_family_doctor(referral) and is_family_doctor(recipient):
        return True
    service = referral.recipient
    written = (referral.to.text, *((service.key, service.name, service.person) if service else ()))
    same = fold(recipient) in {fold(word) for word in written if word}
    return same or bool(_words().get(fold(recipient), frozenset()) & _meanings(referral.to))


def is_family_doctor(recipient: str) -> bool:
    """Whether a recipient of a consent is the family doctor's practice."""
    return " ".join(recipient.casefold().replace("-", " ").split()) in _family_doctor_words()


def _meanings(to: Term) -> frozenset[str]:
    found = {c.code for c in to.codings if c.code in _concepts()}
    return frozenset(found) | _words().get(fold(to.text), frozenset())


@cache
def _family_doctor_words() -> frozenset[str]:
    return frozenset(row["word"] for row in load_csv(table_path("words", "recipients.csv")))


@cache
def _rows() -> tuple[dict[str, str], ...]:
    paths = sorted(table_path("terms").glob("*.csv"))
    return tuple(
        row for path in paths for row in load_csv(path) if row["kind"] == "referral-target" and "concept" in row
    )


@cache
def _concepts() -> frozenset[str]:
    return frozenset(row["concept"] for row in _rows())


@cache
def _words() -> dict[str, frozenset[str]]:
    """The meanings of each word for a place of referral, in the shipped maps."""
    found: dict[str, set[str]] = {}
    for row in _rows():
        for word in (row["label"], *row["words"].split("|")):
            if word:
                found.setdefault(fold(word), set()).add(row["concept"])
    return {word: frozenset(concepts) for word, concepts in found.items()}
