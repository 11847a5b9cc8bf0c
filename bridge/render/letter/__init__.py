"""From a document bundle to the plain data of its page: the one door for HTML and PDF."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from bridge.errors import InputError
from bridge.fhir.letter_kind import CLIENT
from bridge.render.entries import Entries

if TYPE_CHECKING:
    from bridge.render.page import Page
    from bridge.shapes import Json

Reader = Literal["doctor", "client"]


def page_of(bundle: Json, *, reader: Reader = "doctor", large: bool = False) -> Page:
    """What the letter of a document bundle says. Same bundle, same page.

    A bundle that this tool did not write is shown by its own narratives, made safe. `large` asks for large type.
    Raises InputError for what is no Bundle, and where the client's own copy is asked for of what is no document of ours
    about one visit: the page of its narratives would speak a doctor's words.
    """
    from bridge.fhir.in_force import looked_through
    from bridge.fhir.tell.words import told_in

    entries = Entries(bundle)
    with told_in(entries.language), looked_through(entries.bundle):
        page = _made(entries, reader)
    page.large = large
    return page


def _made(entries: Entries, reader: Reader) -> Page:
    if entries.ours and (reader == "client" or entries.kind == CLIENT):
        from bridge.render.client import client_page

        return client_page(entries)
    if reader == "client":
        raise InputError(
            "The client's own copy is made of a document of ours about one visit, and this is none.",
            "Make it of the records (`letter RECORDS --for client`).",
        )
    if entries.ours:
        from bridge.render.letter.doctor import doctor_page

        return doctor_page(entries)
    from bridge.render.letter.others import others_page

    return others_page(entries)
