"""C: whether the record names who consented for a client."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.issues import Issue, Where, issue
from bridge.visit import Visit


def check_guardians(visit: Visit) -> Iterator[Issue]:
    consent, guardians = visit.consent, visit.client.guardians
    if consent is None or consent.status != "given by guardian":
        return
    if not guardians and not consent.note:
        message = "Somebody consented for the client, and who that was is not recorded."
        yield issue("C128", message, Where(path="client.guardians"), cause="C128")
    elif guardians and all(g.parental_responsibility is False for g in guardians):
        message = "Somebody with parental responsibility consented, and all who are recorded have none."
        yield issue("C129", message, Where(path="client.guardians[0].parental_responsibility"), cause="C129")
