"""The corridor from one finished bundle to the letters that are made of it, whatever they are written as."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from bridge.about_document import About
from bridge.deliver import letter_name
from bridge.errors import BridgeError
from bridge.fhir.written import as_document
from bridge.issues import Issue, issue
from bridge.shapes import Document, Json

Form = Literal["pdf", "html", "json", "xml", "cda"]
_DATA: dict[Form, str] = {"json": "JSON", "xml": "XML", "cda": "CDA"}
"""Forms that hold data only, and their names."""
Reader = Literal["doctor", "client"]
Paper = Literal["A4", "Letter"]


@dataclass(frozen=True, slots=True)
class Wish:
    """How a person wants letters."""

    forms: tuple[Form, ...] = ("pdf",)
    reader: Reader = "doctor"
    paper: Paper | None = None
    """That of the region by whose rules the document was written, where none is named."""
    large: bool = False
    data: bool = True
    """Whether a PDF carries its bundle."""
    names: bool = False
    """Whether files are named by the client too."""


def letters(bundle: Json, said: About, stem: str, wish: Wish) -> Iterator[tuple[Document | None, list[Issue]]]:
    """One file for each form that is wished, or None with why there is none (D177, D179).

    `said` is what the bundle says of itself.
    """
    kind = "client" if wish.reader == "client" else said.kind or "summary"
    name = said.name if wish.names else ""
    exact = None
    for form in wish.forms:
        wanted = letter_name(stem, kind, form, draft=said.draft, client=name)
        if form in _DATA and (told := _no_data(form, kind, said)):
            yield None, [told]
            continue
        if form == "json" or (form == "pdf" and wish.data and exact is None):
            exact = as_document(bundle, letter_name(stem, kind, "json", draft=said.draft, client=name), "json")
        if form == "json":
            yield exact, []
        elif form == "xml":
            yield _in_xml(bundle, wanted)
        elif form == "cda":
            yield _in_cda(bundle, wanted)
        else:
            try:
                made = _made(bundle, form, exact.content if exact and wish.data else None, wish, said)
            except BridgeError as error:
                yield None, [issue("D179", error.message, help=error.help, cause=f"D179:{error.message}")]
            else:
                yield Document(wanted, made.media_type, made.content), []


def _no_data(form: Form, kind: str, said: About) -> Issue | None:
    """Why a document is not written as data: it is of another kind than the letter, or of somebody else."""
    written = _DATA[form]
    if kind == "client" and said.kind != "client":
        told = f"This document was written for a doctor, so no copy for the client is made of it in {written}."
        return issue("D177", told, cause=f"D177:{written}")
    if form == "cda" and not said.kind:
        return issue("D177", "CDA is made of our own documents only, and this is none.", cause="D177:ours")
    return None


def _made(bundle: Json, form: Form, exact: bytes | None, wish: Wish, said: About) -> Document:
    if form == "html":
        from bridge.render.as_html import render as as_html

        return as_html(bundle, reader=wish.reader, large=wish.large)
    from bridge.render.as_pdf import render as as_pdf

    return as_pdf(bundle, exact, paper=wish.paper or _paper(said), reader=wish.reader, large=wish.large)


def _paper(said: About) -> Paper:
    from bridge.regions import region_of_language

    return region_of_language(said.language).paper


def _in_xml(bundle: Json, name: str) -> tuple[Document | None, list[Issue]]:
    from bridge.fhir.write_xml import NotXmlError

    try:
        return as_document(bundle, name, "xml"), []
    except NotXmlError as error:
        return None, error.issues


def _in_cda(bundle: Json, name: str) -> tuple[Document | None, list[Issue]]:
    from bridge.cda import CDA_TYPE, NotCdaError, write_cda

    try:
        return Document(name, CDA_TYPE, write_cda(bundle)), []
    except NotCdaError as error:
        return None, error.issues
