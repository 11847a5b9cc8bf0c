"""What has to be said wherever a clinical rule speaks, in reports and in letters."""

from __future__ import annotations

from bridge.wording import say


def clinical_caution() -> str:
    """The caution, in the language in force."""
    return say("alert.caution")
