"""Hearing aids and pictures, in words without ear and full stop."""

from __future__ import annotations

from bridge.fhir.tell.words import label, moment, words
from bridge.shapes import Json
from bridge.wording import say

_USE = ("active", "stopped", "completed", "on-hold")


def device_use_fact(statement: Json) -> str:
    """`behind the ear, in use`."""
    status = str(statement.get("status", ""))
    said = [statement.get("device", {}).get("display", ""), say(f"told.aid.{status}") if status in _USE else status]
    notes = "; ".join(n["text"].rstrip(".") for n in statement.get("note", ()) if n.get("text"))
    return ", ".join(s for s in said if s) + (f" ({notes})" if notes else "")


def media_fact(media: Json) -> str:
    """`attic, to show the ear before the work, taken on 3 November 2026, 10:15, file “0042.jpg”`."""
    content = media.get("content", {})
    file = str(content.get("title") or content.get("url") or "")
    said = [words(media.get("view")), *(label(r) for r in media.get("reasonCode", ()))]
    said += [say("told.taken", when=moment(media["createdDateTime"]))] if media.get("createdDateTime") else []
    said += [say("told.file", name=file)] if file else []
    return ", ".join(s for s in said if s)
