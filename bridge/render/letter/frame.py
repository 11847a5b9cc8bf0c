"""What stands around the sections of every page: head, client, marks, foot."""

from __future__ import annotations

import re

from bridge.render.entries import TOOL, Entries
from bridge.render.head import Head
from bridge.render.page import Page, Part

_LANGUAGE = re.compile(r"[A-Za-z]{2,8}(-[A-Za-z0-9]{1,8})*")


def framed(entries: Entries, top: Head) -> Page:
    """A page without sections."""
    return Page(
        kind=entries.kind if entries.ours else "record" if entries.whole_record else "",
        language=(language(entries) if entries.signed else "") or "en",
        title=top.title,
        number=top.number,
        marks=top.marks,
        head=[
            Part("From", top.sender),
            Part("To", top.recipient),
            Part("This summary" if entries.whole_record else "This letter", rows=top.about),
        ],
        client_title="Client",
        client=top.client,
        sections=[],
        closing=[],
        running=top.footer,
    )


def language(entries: Entries) -> str:
    """Language that the document says it is written in; empty where it does not say, or says it oddly."""
    said = str(entries.composition.get("language") or entries.bundle.get("language") or "")
    return said if _LANGUAGE.fullmatch(said) else ""


def tool(entries: Entries) -> str:
    """The tool with its version, as the bundle tells it."""
    for device in entries.of("Device"):
        if any(n.get("name") == TOOL for n in device.get("deviceName", ())):
            versions = [v["value"] for v in device.get("version", ()) if v.get("value")]
            return " ".join([TOOL, *versions])
    return ""
