"""C147: a consent to share that is given, and a reason against it beside."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.issues import Issue, Where, issue
from bridge.nothing_words import says_nothing
from bridge.visit import Visit


def check_sharing(visit: Visit) -> Iterator[Issue]:
    """A plain remark cannot be told from a reason, so that the person is asked whatever it says."""
    sharing = visit.sharing
    if sharing is None or sharing.status != "given" or sharing.reason is None:
        return
    if not says_nothing("sharing_reason", sharing.reason):
        message = "Consent to share is recorded as given, and a reason why not stands beside it."
        yield issue("C147", message, Where(path="sharing.reason"), cause="C147")
