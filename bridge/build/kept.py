"""What the recipient's cut left with the clinic, in words, so that the reader knows what can be asked for."""

from __future__ import annotations

from collections.abc import Mapping

from bridge.fhir.tell.words import listed
from bridge.wording import say, say_number


def kept(left: Mapping[str, int]) -> str:
    """One sentence; empty where the letter holds everything. `left`: as `bridge.cut` tells it."""
    things = [say_number(key, number) for key, number in left.items()]
    return say("cut.kept", things=listed(things)) if things else ""
