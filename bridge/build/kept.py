"""What the recipient's cut left with the clinic, in words, so that the reader knows what can be asked for."""

from __future__ import annotations

from bridge.build.context import Context
from bridge.fhir.tell.words import listed
from bridge.wording import say, say_number


def kept(context: Context) -> str:
    """One sentence; empty where the letter holds everything."""
    things = [say_number(key, number) for key, number in context.left.items()]
    return say("cut.kept", things=listed(things)) if things else ""
