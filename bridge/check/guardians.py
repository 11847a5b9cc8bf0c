"""C: whether the record names who consented for a client."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.fhir.relationships import meant
from bridge.issues import Issue, Where, issue
from bridge.visit import Visit


def check_guardians(visit: Visit) -> Iterator[Issue]:
    """C128 where it does not say who of those who speak for the client, C129 where those who are meant could not."""
    consent, guardians = visit.consent, visit.client.guardians
    if consent is None or consent.status != "given by guardian":
        return
    named = meant(guardians, consent.given_by) if consent.given_by else []
    if not consent.given_by and not consent.note:
        message = "Somebody consented for the client, and who that was is not recorded."
        path = "consent.given_by" if guardians else "client.guardians"
        yield issue("C128", message, Where(path=path), cause=f"C128:{path}")
    can_be_meant = named or list(range(len(guardians)))
    unable = [number for number in can_be_meant if guardians[number].parental_responsibility is False]
    if unable and unable == can_be_meant:
        message = "Somebody with parental responsibility consented, and all who can be meant have none."
        path = f"client.guardians[{unable[0]}].parental_responsibility"
        yield issue("C129", message, Where(path=path), cause="C129")
