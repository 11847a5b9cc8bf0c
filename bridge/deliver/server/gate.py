"""Whether a bundle may go to an endpoint: by the client's consent, by whom it is for, by how much of the record it is.

Source: common practice of the trade; the duty of confidentiality and data protection by minimum (Caldicott principles
2020; UK GDPR Art. 5(1)(c)).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bridge.about_document import About
from bridge.due import letter_due, referral_due
from bridge.issues import Issue, Where, issue
from bridge.moments import later
from bridge.practice import DoctorsPractice
from bridge.practice.endpoints import Endpoint
from bridge.practice.names import fold
from bridge.referral_target import to_family_doctor
from bridge.shapes import Json
from bridge.visit import Visit
from bridge.visit.consent import SharingConsent

Named = tuple[str | None, ...]


@dataclass(frozen=True, slots=True)
class Outgoing:
    """A bundle of ours that somebody wants to send."""

    data: Json
    about: About
    visit: Visit | None
    """The visit that it was made from; None for the whole record of a client."""
    sharing: SharingConsent | None

    @property
    def whole(self) -> bool:
        """Whether it is more than a letter: a visit or a client's record without a recipient's cut."""
        return self.data.get("type") != "document" or self.about.kind not in ("summary", "referral", "client")


def held_up(
    out: Outgoing, endpoint: Endpoint, owners: tuple[DoctorsPractice, ...], traced_only: bool, at: str
) -> list[Issue]:
    """Everything that keeps it from being sent; errors, and D213 (information) where it goes to the practice itself.

    `owners`: the rows of the address book whose endpoint it is. `at`: the moment of sending.
    """
    return [
        *_form(out, endpoint),
        *_kind(out, endpoint),
        *_consent(out, endpoint, owners, at),
        *_traced(out, traced_only),
    ]


def _form(out: Outgoing, endpoint: Endpoint) -> Iterator[Issue]:
    sent = "transaction" if out.data.get("type") == "transaction" else "document"
    if sent != endpoint.takes:
        text = f"The endpoint {endpoint.name} takes a {endpoint.takes}, and this is a {out.data.get('type')}."
        yield issue("D210", text, cause="D210")
    elif sent == "transaction":
        for number, entry in enumerate(out.data["entry"]):
            if why := _unsafe(entry):
                where = Where(path=f"Bundle.entry[{number}].request")
                yield issue(
                    "D209", f"This entry {why}, so that sending it twice may store it twice.", where, cause="D209"
                )


def _unsafe(entry: Json) -> str:
    """Why an entry may not be sent twice; empty where it may."""
    request = entry.get("request") or {}
    resource = entry.get("resource") or {}
    method, url, type = request.get("method"), str(request.get("url", "")), resource.get("resourceType")
    if method == "POST":
        return "" if request.get("ifNoneExist") else "makes a resource without ifNoneExist"
    if method != "PUT":
        return "is neither a PUT nor a POST"
    own, query = f"{type}/{resource.get('id')}", url.partition("?")[2]
    fits = url == own or (url == f"{type}?{query}" and query.startswith("identifier=") and "&" not in query)
    return "" if fits else "puts a resource under an address that is not its own"


def _kind(out: Outgoing, endpoint: Endpoint) -> Iterator[Issue]:
    if out.about.draft or (out.visit is not None and out.visit.approved is None):
        yield issue("D203", "This is a draft: nobody has approved it.", cause="D203")
    if out.about.kind == "client":
        yield issue("D204", "This is the client's own copy.", cause="D204")
    if out.whole and endpoint.whose == "recipient":
        text = f"This is the whole record of a visit or a client, and {endpoint.name} is not the next clinic's."
        yield issue("D207", text, cause="D207")


def _consent(out: Outgoing, endpoint: Endpoint, owners: tuple[DoctorsPractice, ...], at: str) -> Iterator[Issue]:
    if endpoint.whose == "own":
        yield issue("D213", f"{endpoint.name} is the practice's own server: the consent to share was not asked.")
        return
    if out.about.kind == "client" or (out.whole and endpoint.whose == "recipient"):
        return
    sharing = out.sharing
    known = {fold(word) for row in owners for word in (row.key, row.practice, row.organisation_code) if word}
    if why := _whole_withheld(sharing, known) if out.whole else _letter_withheld(out):
        yield issue("D205", f"The client's consent does not let this go there: {why}.", cause=f"D205:{why}")
    elif sharing and sharing.valid_until and later(at, sharing.valid_until):
        yield issue("D205", "The client's consent to share has ended since.", cause="D205:ended")
    if not owners:
        yield issue("D206", f"Nobody in the address book is named as the owner of {endpoint.name}.", cause="D206:none")
    elif not out.whole and not _same(_addressee(out), owners):
        yield issue("D206", f"{endpoint.name} is not the server of the receiver that this names.", cause="D206")


def _letter_withheld(out: Outgoing) -> str:
    assert out.visit is not None
    found = referral_due(out.visit) if out.about.kind == "referral" else letter_due(out.visit)
    if found is None and (out.sharing is None or out.sharing.status != "given"):
        return "no consent to share stands in it"
    return f"{found.message[0].lower()}{found.message[1:].rstrip('.')}" if found else ""


def _whole_withheld(sharing: SharingConsent | None, known: set[str]) -> str:
    if sharing is None or sharing.status == "not asked":
        return "the client was not asked"
    if sharing.status != "given":
        return {"refused": "the client does not want it shared", "withdrawn": "it was withdrawn"}[sharing.status]
    if "whole record" not in sharing.scope:
        return "it does not name the whole record"
    if sharing.except_for:
        return "the client asked that something be left out"
    if sharing.recipients and not {fold(name) for name in sharing.recipients} & known:
        return "it names other recipients"
    return ""


def _addressee(out: Outgoing) -> Named:
    """Organisation code, key and name of whom the letter is for."""
    assert out.visit is not None
    referral, doctor = out.visit.referral, out.visit.family_doctor
    if out.about.kind == "referral" and referral and not to_family_doctor(referral, doctor):
        service = referral.recipient
        return (service.organisation_code, service.key, service.name) if service else (None, None, None)
    return (doctor.organisation_code, doctor.key, doctor.practice) if doctor else (None, None, None)


def _same(named: Named, owners: tuple[DoctorsPractice, ...]) -> bool:
    """By the organisation code where both have one; else by key and name together, as far as both have them."""
    return any(_one(named, row) for row in owners)


def _one(named: Named, row: DoctorsPractice) -> bool:
    code, key, name = (fold(word) if word else "" for word in named)
    if code and row.organisation_code:
        return code == fold(row.organisation_code)
    pairs = [(key, fold(row.key)), (name, fold(row.practice))]
    both = [(one, other) for one, other in pairs if one]
    return bool(both) and all(one == other for one, other in both)


def _traced(out: Outgoing, traced_only: bool) -> Iterator[Issue]:
    client = out.visit.client if out.visit else None
    if traced_only and client and client.nhs_number and client.nhs_number_status != "01":
        yield issue("D208", "It holds an NHS number that was not traced, which the settings keep back.", cause="D208")
