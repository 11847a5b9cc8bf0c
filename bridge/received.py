"""The corridor of what arrives from others: told apart, read, checked, written anew."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bridge.check import check_bundle
from bridge.check.order import most_telling_first
from bridge.errors import InputError, SettingsError
from bridge.fhir.model import second_opinion
from bridge.fhir.ndjson import Lines
from bridge.fhir.positions import placed
from bridge.fhir.read_json import MAX_BYTES
from bridge.fhir.received import read_received
from bridge.fhir.written import Form, as_document
from bridge.issues import Explained, Issue, Severity, Where
from bridge.read.kinds import DOCUMENTS, PDF, is_cda, what_is
from bridge.shapes import Document, Json

if TYPE_CHECKING:
    from bridge.check.across import AcrossVisits
    from bridge.check.clinical.rulebook import RuleBook
    from bridge.check.profiles import Asked
    from bridge.coding import TermMaps
    from bridge.visit import Visit


def is_received(path: Path) -> bool:
    """Whether a file is a document, or an object in JSON that can be nothing else."""
    kind = what_is(path)
    return kind in DOCUMENTS or kind == "object"


def check_received(
    content: bytes, file: str, second: bool = False, asked: Asked | None = None
) -> tuple[Json | None, list[Issue]]:
    """A received bundle, resource or NDJSON file and everything found in it; None where it is not even JSON.

    Of a PDF this is about the bundle that it carries (places are those in the attachment), of CDA about the bundle that
    is read from it. `second` asks the typed models of fhir.resources too. `asked`: what it is held against beyond the
    standard. Raises InputError for a PDF from which no bundle can be had.
    """
    if content.startswith(PDF):
        content, file = _attached(content, file), f"{file}, attached bundle"
    cda = is_cda(content)
    if cda:
        from bridge.cda import read_cda

        data, issues = read_cda(content)
    else:
        data, issues = read_received(content, file)
    if data is not None:
        issues = [*issues, *check_bundle(data, asked), *(second_opinion(data) if second else ())]
    if cda:  # its lines are not those of the bundle
        return data, most_telling_first(one.at(file=file) for one in issues)
    return data, most_telling_first(placed(issues, content, file, data))


def _attached(content: bytes, file: str) -> bytes:
    from bridge.pdf_data import bundle_in_pdf

    if len(content) > MAX_BYTES:
        raise InputError(f"{file} is larger than {MAX_BYTES:,} bytes.", "Ask for the document itself.")
    try:
        return bundle_in_pdf(content)
    except InputError as error:
        raise InputError(f"{file}: {error.message}", error.help) from None


class SecondLook:
    """The clinical rules over the visits in the received bundles of one run, whoever wrote them.

    `practice`: a folder whose region, rules and words hold; one is not needed.
    """

    def __init__(self, practice: Path | None = None) -> None:
        self._named = practice
        self._told = False

    def over(self, data: Json, file: str, found: Sequence[Issue]) -> list[Issue]:
        """What the rules say, with fields of the visit as places; nothing where the bundle is none that a visit can be
        read from, or where an error of the standard is among what was `found`."""
        if data.get("resourceType") != "Bundle" or any(
            i.severity >= Severity.error and i.rule[0] != "C" for i in found
        ):
            return []
        from bridge.receive import bundle_to_visits

        visits, _ = bundle_to_visits(data)
        return [one for visit in visits for one in self._of(visit, file)]

    def warnings(self, data: Json, file: str, found: Sequence[Issue]) -> list[Issue]:
        """What the rules warn of."""
        return [one for one in self.over(data, file, found) if one.severity >= Severity.warning]

    def _of(self, visit: Visit, file: str) -> list[Issue]:
        from bridge.check.clinical.flags import look, switched_off
        from bridge.coding import recognised

        rules, maps, across = self._tools
        about = [] if self._told else rules.told()
        self._told = True
        visit = recognised(visit, maps)
        place = Where(file=file)
        said = [*rules.ended(visit.start), *switched_off(visit, rules)]
        said += [*look(visit, rules.on(visit.start)).issues, *across.enter(visit, place)]
        return [*about, *(i.at(file=file, record=visit.number) for i in said)]

    @cached_property
    def _tools(self) -> tuple[RuleBook, TermMaps, AcrossVisits]:
        """Loaded when the first visit is met. Raises MappingError for rules of the practice with faults."""
        from bridge.check.across import AcrossVisits
        from bridge.check.clinical import load_rules
        from bridge.coding import load_term_maps

        region, folder = _practice(self._named)
        return load_rules(region, folder), load_term_maps(folder, licensed=True), AcrossVisits()


def _practice(named: Path | None) -> tuple[str, Path | None]:
    """Region and folder of the practice, where there is one that can be used."""
    from bridge.practice_place import find_practice

    try:
        folder = find_practice(named)
    except SettingsError:
        return "", None
    from bridge.practice import load_practice

    practice, _ = load_practice(folder)
    return (practice.region, folder) if practice else ("", None)


def explained(data: Any, asked: Asked | None) -> list[Explained]:
    """Which profile and slice each element of a received document was held against."""
    from bridge.check.profiles.explain import explain
    from bridge.check.structure import whole

    return explain(data, whole(data).path, asked)


def rewritten(content: bytes, file: str, form: Form, look: SecondLook) -> tuple[Document | None, list[Issue]]:
    """A received document written anew in the form named, with everything found in it and what the clinical rules warn
    of; None where it has errors."""
    data, issues = check_received(content, file)
    if data is None or any(i.severity >= Severity.error for i in issues):
        return None, issues
    issues = [*issues, *look.warnings(data, file, issues)]
    if isinstance(data, Lines):
        raise InputError(f"{file} has a resource on each line, and is no one document.", "Name a Bundle or resource.")
    from bridge.fhir.write_xml import NotXmlError

    try:
        return as_document(data, f"{document_stem(file)}.{form}", form), issues
    except NotXmlError as error:
        return None, [*issues, *(i.at(file=file) for i in error.issues)]


def document_stem(file: str) -> str:
    """The name of a received file without its ending."""
    return re.sub(r"\.(json|xml|ndjson|pdf)$", "", file, flags=re.IGNORECASE)
