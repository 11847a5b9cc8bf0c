"""The family doctor's practice of a visit, from the address book."""

from __future__ import annotations

from typing import Any

from bridge.issues import Issue, Where, issue
from bridge.practice.doctors import AddressBook, DoctorsPractice
from bridge.practice.names import fold, listed, quoted
from bridge.visit import FamilyDoctor

_PATH = "family_doctor"


def complete_doctor(recorded: FamilyDoctor | None, book: AddressBook) -> tuple[FamilyDoctor | None, list[Issue]]:
    """The same with its gaps filled from the one row that fits. None, unknown and abroad stay as they are.

    Where no row or several fit, the words that the record has become the practice's name.
    """
    if recorded is None or recorded.answer != "known":
        return recorded, []
    written = recorded.key or recorded.practice or ""
    as_written = recorded if recorded.practice else recorded.model_copy(update={"practice": written})
    rows = book.find(written)
    if not rows:
        return as_written, [_unknown(as_written, written, book)]
    if len(rows) > 1:
        keys = listed([quoted(row.key) for row in rows])
        text = f"The family doctor's practice {quoted(written)} could be {keys} of the address book."
        return as_written, [issue("R341", text, Where(path=_PATH), cause=f"doctor:{fold(written)}")]
    row = rows[0]
    if differing := _differing(recorded, row):
        text = f"The record and the address book ({quoted(row.key)}) give different {differing} for one practice."
        return as_written, [issue("R342", text, Where(path=_PATH), cause=f"doctor:{fold(written)}")]
    return _filled(recorded, row), []


def _unknown(recorded: FamilyDoctor, written: str, book: AddressBook) -> Issue:
    near = book.nearest(written)
    hint = f" Nearest in the address book: {listed([quoted(n) for n in near])}." if near else ""
    address = "" if recorded.address else " The letter has no address for it."
    told = "is not in the address book"
    if book.find(written, "service"):
        told = "stands in the address book as a service that clients are sent to, not as a practice"
    text = f"The family doctor's practice {quoted(written)} {told}.{address}{hint}"
    return issue("R340", text, Where(path=_PATH), cause=f"doctor:{fold(written)}")


def _differing(recorded: FamilyDoctor, row: DoctorsPractice) -> str:
    """What the record says of the practice that the row says otherwise."""
    names = {fold(word) for word in (row.practice, row.key)}
    codes = {fold(row.organisation_code)} if row.organisation_code else set()
    if recorded.practice and fold(recorded.practice) not in names | codes:
        return "names"
    if recorded.organisation_code and codes and fold(recorded.organisation_code) not in codes:
        return "organisation codes"
    return ""


def _filled(recorded: FamilyDoctor, row: DoctorsPractice) -> FamilyDoctor:
    known: dict[str, Any] = {
        "key": row.key, "organisation_code": row.organisation_code, "doctor": row.doctor, "address": row.address,
        "phone": row.phone, "email": row.email,
    }  # fmt: skip
    gaps = {name: value for name, value in known.items() if getattr(recorded, name) is None}
    return recorded.model_copy(update={**gaps, "key": row.key, "practice": row.practice})
