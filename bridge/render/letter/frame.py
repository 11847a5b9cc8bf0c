"""What stands around the sections of every page: head, client, marks, foot."""

from __future__ import annotations

import re

from bridge.render.entries import TOOL, Entries
from bridge.render.head import Head, record_hashes
from bridge.render.page import Page, Part
from bridge.wording import language, say

_LANGUAGE = re.compile(r"[A-Za-z]{2,8}(-[A-Za-z0-9]{1,8})*")


def framed(entries: Entries, top: Head) -> Page:
    """A page without sections."""
    unread = [] if language().reviewed else [say("mark.not_reviewed")]
    return Page(
        kind=entries.kind if entries.ours else "record" if entries.whole_record else "",
        language=(document_language(entries) if entries.signed else "") or language().tag,
        title=top.title,
        number=top.number,
        marks=[*unread, *top.marks],
        head=[
            Part(say("part.from"), top.sender),
            Part(say("part.to"), top.recipient),
            Part(say("part.record" if entries.whole_record else "part.letter"), rows=top.about),
        ],
        client_title=say("part.client"),
        client=top.client,
        sections=[],
        closing=[],
        running=top.footer,
    )


def document_language(entries: Entries) -> str:
    """Language that the document says it is written in; empty where it does not say, or says it oddly."""
    said = str(entries.composition.get("language") or entries.bundle.get("language") or "")
    return said if _LANGUAGE.fullmatch(said) else ""


def origin(entries: Entries) -> str:
    """From which record, by which tool."""
    by = _tool(entries)
    known = [say("closing.hash", hash=found[:_DIGITS]) for found in record_hashes(entries)]
    return " ".join([say("closing.made-by", tool=by) if by else say("closing.made"), *known])


_DIGITS = 16
"""So many digits of a fingerprint tell records apart for a reader; the data hold all of them."""


def _tool(entries: Entries) -> str:
    """The tool with its version, as the bundle tells it."""
    for device in entries.of("Device"):
        if any(n.get("name") == TOOL for n in device.get("deviceName", ())):
            versions = [v["value"] for v in device.get("version", ()) if v.get("value")]
            return " ".join([TOOL, *versions])
    return ""
