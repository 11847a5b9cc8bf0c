"""What a layout may never supply by itself: consent, a side, an answer that nobody gave.

A constant or a meaning of empty cells speaks for every row, also for the client who said no.
"""

from __future__ import annotations

from bridge.layout.fields import Field
from bridge.layout.tables import fold

_NEVER = (
    "consent", "sharing", "number", "version", "replaces", "start", "end", "recorded_at", "client", "approved",
    "referral", "not_referred", "requests", "no_request", "attendance", "weber", "allergies", "medicines", "cautions",
    "source_sha256",
)  # fmt: skip
_ANSWERS = frozenset(
    {
        "normal", "not seen", "not examined", "none", "none known", "not asked", "unknown", "nothing asked", "intact",
        "given", "full", "whole", "complete",
    }
)  # fmt: skip


def refused(field: Field, value: str) -> str:
    """Why this field, or this value, may not come from the layout itself; empty where it may."""
    top = field.pattern.partition(".")[0]
    if field.kind == "side" or (field.scope == "visit" and top in _NEVER):
        return f"“{field.pattern}” has to be recorded for each visit"
    if fold(value).partition(" (")[0] in _ANSWERS:
        return f"“{value[:60]}” is an answer that somebody has to give"
    if field.pattern.endswith((".answer", ".achieved", ".seen", ".ear", ".assertion")):
        return f"“{field.pattern}” is an answer that somebody has to give"
    if field.scope != "visit" and field.kind == "model" and not field.many:
        return f"“{field.pattern}” is what was found in an ear"
    return ""
