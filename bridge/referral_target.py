"""Who a referral goes to, as consents and address books name them. Words are compared whole: nothing is guessed."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from bridge.data import load_csv, table_path
from bridge.phrases.fold import fold

if TYPE_CHECKING:
    from bridge.visit import Clinic, FamilyDoctor, Term, Visit
    from bridge.visit.care import Referral

FAMILY_DOCTOR = "referral-gp"
"""Our own code of the family doctor as a place of referral, in mappings/terms/care.csv."""
_EAR_CARE = {"referral-other-clinic", "referral-specialist-ear-care"}
"""Places of referral that are clinics like ours."""


def to_family_doctor(referral: Referral, doctor: FamilyDoctor | None) -> bool:
    """Whether the client is sent to their family doctor, who is then told by the consent for the family doctor.

    Never where another receiver is named beside.
    """
    return is_place_of_family_doctor(referral) and (referral.recipient is None or is_same(referral, doctor))


def is_place_of_family_doctor(referral: Referral) -> bool:
    """Whether the kind of service is the family doctor, whoever is named beside."""
    return FAMILY_DOCTOR in _meanings(referral.to) or is_family_doctor(referral.to.text)


def is_same(referral: Referral, doctor: FamilyDoctor | None) -> bool:
    """Whether the receiver named is the client's own family doctor's practice."""
    service = referral.recipient
    named = {fold(w) for w in (service.key, service.name, service.organisation_code) if w} if service else set()
    known = {fold(w) for w in (doctor.key, doctor.practice, doctor.organisation_code) if w} if doctor else set()
    return bool(named & known) or any(map(is_family_doctor, named))


def names(recipient: str, referral: Referral, doctor: FamilyDoctor | None) -> bool:
    """Whether a recipient of a consent is the receiver of the referral: by its words, its meaning or its name."""
    service, meant = referral.recipient, _words().get(fold(recipient), frozenset[str]())
    if is_own_doctor(recipient, doctor):
        return to_family_doctor(referral, doctor)
    written = (referral.to.text, *((service.key, service.name, service.person) if service else ()))
    return fold(recipient) in {fold(word) for word in written if word} or bool(meant & _meanings(referral.to))


def is_own_doctor(recipient: str, doctor: FamilyDoctor | None) -> bool:
    """Whether a recipient of a consent is the family doctor: in any words for one, or by the name of this client's."""
    known = {fold(w) for w in (doctor.key, doctor.practice, doctor.organisation_code) if w} if doctor else set()
    meant = _words().get(fold(recipient), frozenset[str]())
    return is_family_doctor(recipient) or FAMILY_DOCTOR in meant or fold(recipient) in known


def is_family_doctor(recipient: str) -> bool:
    """Whether a recipient of a consent is the family doctor's practice."""
    return " ".join(recipient.casefold().replace("-", " ").split()) in _recipients("family doctor")


def may_be_next_clinic(recipient: str, visit: Visit, own: Clinic | None = None) -> bool:
    """Whether a recipient of the visit's consent can be the clinic that the client moves to.

    That is so of words for a next clinic or for anybody, and of a name that says it is a clinic's; never of the family
    doctor, of a hospital's service, of who the client is referred to, or of our own clinic.
    """
    said = fold(recipient)
    if said in {fold(word) for who in ("next clinic", "anybody") for word in _recipients(who)}:
        return True
    if own is not None and said in {fold(word) for word in (own.name, own.organisation_code) if word}:
        return False
    if is_own_doctor(recipient, visit.family_doctor):
        return False
    if visit.referral is not None and names(recipient, visit.referral, visit.family_doctor):
        return False
    places = {place for _, place in places_in(recipient)}
    clinic = any(f" {fold(word)} " in f" {said} " for word in _recipients("name of a clinic"))
    return places <= _EAR_CARE and (clinic or bool(places))


def is_known_place(words: str) -> bool:
    """Whether the whole of the words is a place of referral in the shipped maps."""
    return fold(words) in _words()


def places_in(words: str) -> list[tuple[str, str]]:
    """The places that words name anywhere, the longest reading of each spot: folded word and meaning, in their order.

    One that only says "hospital" names none.
    """
    found, said = [], f" {' '.join(fold(words).replace('/', ' / ').split())} "
    for word in sorted(_words(), key=len, reverse=True):
        while (at := said.find(f" {word} ")) >= 0:
            found.append((at, word, min(_words()[word])))
            said = f"{said[: at + 1]}{'_' * len(word)}{said[at + 1 + len(word) :]}"
    return [(word, meaning) for _, word, meaning in sorted(found) if meaning != "referral-hospital"]


def _meanings(to: Term) -> frozenset[str]:
    found = {c.code for c in to.codings if c.code in _concepts()}
    return frozenset(found) | _words().get(fold(to.text), frozenset())


@cache
def _recipients(who: str) -> frozenset[str]:
    return frozenset(r["word"] for r in load_csv(table_path("words", "recipients.csv")) if r["who"] == who)


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
