"""The service that a client is sent to, from the address book."""

from __future__ import annotations

from bridge.issues import Issue, Where, issue
from bridge.practice.doctors import AddressBook, DoctorsPractice
from bridge.practice.names import fold, listed, quoted
from bridge.referral_target import is_place_of_family_doctor
from bridge.visit.care import Referral
from bridge.visit.people import Recipient

_PATH = "referral.recipient"


def complete_recipient(referral: Referral | None, book: AddressBook) -> tuple[Referral | None, list[Issue]]:
    """The same with the gaps of its recipient filled from the one row that fits.

    A place of referral that is itself the key, name or code of a service names that service.
    """
    if referral is None:
        return None, []
    recorded = referral.recipient
    written = (recorded.key or recorded.name or "") if recorded else referral.to.text
    rows = book.find(written, "service")
    if not rows and recorded and is_place_of_family_doctor(referral):
        rows = book.find(written)
    if not rows:
        if recorded is None:
            return referral, []
        named = recorded if recorded.name else recorded.model_copy(update={"name": written})
        return referral.model_copy(update={"recipient": named}), _unknown(named, written, book)
    if len(rows) > 1:
        keys = listed([quoted(row.key) for row in rows])
        text = f"The receiver of the referral {quoted(written)} could be {keys} of the address book."
        return referral, [issue("D137", text, Where(path=_PATH), cause=f"D137:{fold(written)}")]
    if recorded and (differing := _differing(recorded, rows[0])):
        text = f"The record and the address book ({quoted(rows[0].key)}) give different {differing} for one service."
        return referral, [issue("D137", text, Where(path=_PATH), cause=f"D137:{fold(written)}")]
    return referral.model_copy(update={"recipient": _filled(recorded, rows[0])}), []


def _unknown(recorded: Recipient, written: str, book: AddressBook) -> list[Issue]:
    if book.find(written):
        text = f"The receiver {quoted(written)} is in the address book as a family doctor's practice, not as a service."
        return [issue("D137", text, Where(path=_PATH), cause=f"D137:{fold(written)}")]
    if recorded.address or recorded.phone:
        return []
    near = book.nearest(written, "service")
    hint = f" Nearest in the address book: {listed([quoted(n) for n in near])}." if near else ""
    text = f"The receiver of the referral {quoted(written)} is not in the address book.{hint}"
    return [issue("D136", text, Where(path=_PATH), cause=f"D136:{fold(written)}")]


def _differing(recorded: Recipient, row: DoctorsPractice) -> str:
    """What the record says of the service that the row says otherwise."""
    code = row.organisation_code
    names = {fold(word) for word in (row.practice, row.key, code) if word}
    if recorded.name and fold(recorded.name) not in names:
        return "names"
    if recorded.organisation_code and code and fold(recorded.organisation_code) != fold(code):
        return "organisation codes"
    return ""


def _filled(recorded: Recipient | None, row: DoctorsPractice) -> Recipient:
    known = {
        "organisation_code": row.organisation_code, "person": row.doctor, "address": row.address, "phone": row.phone,
        "email": row.email,
    }  # fmt: skip
    said = recorded.model_dump(exclude_none=True) if recorded else {}
    found = {name: value for name, value in known.items() if value is not None}
    return Recipient.model_validate({**found, **said, "key": row.key, "name": row.practice})
