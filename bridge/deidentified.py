"""The corridor of de-identifying: records and documents --read, coded--> visits --deidentify--> a new folder of files.

Two walks over the visits: the first learns who is over 89 and what names the visits of a client hold together.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Literal

from bridge.build import build_collection
from bridge.coding import TermMaps, fold
from bridge.coding.apply import find_term
from bridge.data import load_csv, table_path
from bridge.deidentify import (
    Cells,
    Deidentifier,
    Keyed,
    Redaction,
    UnfitError,
    Wishes,
    client_key,
    over_89,
    small_cells,
)
from bridge.errors import BridgeError
from bridge.fhir.files import read_file
from bridge.fhir.systems import OWN
from bridge.fhir.write_json import dumps
from bridge.issues import Issue, Where, issue
from bridge.layout import Layout
from bridge.parcel import Piece
from bridge.phrases import parse_phrase
from bridge.pipeline import Converter
from bridge.practice import Practice
from bridge.read.find import unread
from bridge.received import check_received, is_received
from bridge.taken_over import arrived
from bridge.visit import Term, Visit
from bridge.visit_file import visit_file

Form = Literal["yaml", "ndjson", "bundles"]
NOTES = ("Made by visit-bridge: pseudonymised, its dates and words changed. Not a record to treat anybody by.",)
_WORD = re.compile(r"[^\W_]+")
_PUBLISHED = re.compile(r"[A-Z]?\d[\d.-]{0,17}")
"""How codes of SNOMED CT, LOINC and ICD-10 look."""


@dataclass(slots=True)
class Gathered:
    """The visits of the sources, read and coded."""

    visits: list[Visit] = field(default_factory=list)
    issues: list[Issue] = field(default_factory=list)
    unread: int = 0
    """Records and documents of which no visit could be made."""
    kept: int = 0
    """Resources of documents that have no place in a visit."""


@dataclass(slots=True)
class Deidentified:
    """What came of them."""

    visits: list[Visit] = field(default_factory=list)
    issues: list[Issue] = field(default_factory=list)
    done: dict[str, int] = field(default_factory=dict)
    """How many values each action of the table took."""
    clients: int = 0
    cells: list[Cells] = field(default_factory=list)


def gathered(sources: Sequence[Path], converter: Converter, layout: Layout | None = None) -> Gathered:
    """Visits of files: of records in any layout, and of documents of anybody. D245: what of these is in no visit.

    Raises InputError where a single source cannot be read.
    """
    result = Gathered()
    for source in sources:
        try:
            result.visits += _of(source, converter, layout, result)
        except BridgeError as error:
            if len(sources) == 1:
                raise
            result.issues.append(unread(source, error))
    result.issues += converter.told_of_sources()
    if result.kept:
        told = f"{result.kept} resources of documents have no place in a visit, and were left out."
        result.issues.append(issue("D245", told, cause="D245"))
    return result


def _of(source: Path, converter: Converter, layout: Layout | None, result: Gathered) -> Iterator[Visit]:
    if is_received(source):
        data, issues = check_received(read_file(source), source.name)
        document = arrived(data, source.name, issues)
        if not document.visits:
            result.unread += 1
        result.kept += sum(len(bundle.get("entry", ())) for _, bundle in document.kept)
        yield from document.visits
        return
    for reading in converter.readings(source, layout):
        if reading.left_alone:
            continue
        if reading.visit is None:
            result.unread += 1
            result.issues += reading.issues
            continue
        yield converter.prepare(reading.visit)[0]


def deidentified(
    visits: Sequence[Visit], key: bytes, wishes: Wishes, maps: TermMaps, practice: Practice | None = None
) -> Deidentified:
    """The visits without who they are about, in the order of their pseudonyms.

    D243: words that no table knows. D244 (error): a visit of which too little is left. D242: rare combinations.
    """
    of_client: dict[str, list[Visit]] = defaultdict(list)
    for visit in visits:
        of_client[client_key(visit)].append(visit)
    old = over_89(visits)
    others = _of_practice(practice)
    worker = Deidentifier(Keyed(key, wishes.purpose), wishes, _Known(maps), _Shared(maps))
    result = Deidentified(clients=len(of_client))
    unfit: dict[str, int] = defaultdict(int)
    for client, theirs in of_client.items():
        redaction = Redaction(theirs, others)
        for visit in theirs:
            try:
                result.visits.append(worker.one(visit, client in old, redaction))
            except UnfitError as error:
                unfit[str(error)] += 1
    result.visits.sort(key=lambda visit: (visit.number, visit.version))
    result.done = dict(sorted(worker.done.items()))
    result.cells = small_cells(result.visits, wishes.small)
    result.issues = [*_told(result, wishes), *_unfit(unfit)]
    if old:
        result.issues.append(issue("D246", f"The birth year of {len(old)} clients over 89 was left out.", cause="D246"))
    return result


def written(result: Deidentified, form: Form, converter: Converter, key: bytes, wishes: Wishes) -> list[Piece]:
    """The files of the new folder, without anything that was not made here."""
    if form == "ndjson":
        lines = [v.model_dump_json(exclude_defaults=True) for v in result.visits]
        pieces = [Piece("visits.ndjson", "application/x-ndjson", "".join(f"{line}\n" for line in lines).encode())]
    elif form == "bundles":
        namespace = Keyed(key, wishes.purpose).namespace()
        pieces = [
            Piece(
                f"visits/{_stem(visit)}.bundle.json",
                "application/fhir+json",
                dumps(build_collection(visit, namespace, converter.zone, options=converter.options)),
            )
            for visit in result.visits
        ]
    else:
        pieces = [
            Piece(f"visits/{_stem(visit)}.yaml", "application/yaml", visit_file(visit, NOTES))
            for visit in result.visits
        ]
    return [*pieces, Piece("read-me-first.txt", "text/plain", _page(result, wishes).encode())]


CAUTION = (
    "Pseudonymised is not anonymous. Whoever has the key, or knows the clients, can find out who some of them are, so "
    "in the United Kingdom these are still personal data (UK GDPR, article 4(5)). Keep them as you keep records, give "
    "them to nobody who does not need them, and delete them when the purpose is over. This is not legal advice: ask "
    "whoever answers for data protection in your practice."
)


def _page(result: Deidentified, wishes: Wishes) -> str:
    dates = {
        "shift": "All dates of a client were moved into the past by one number of whole weeks; intervals are true, "
        "days are not. Times are the clock's at one offset.",
        "year": "Of all dates the year alone was kept.",
    }[wishes.dates]
    text = "Free text was kept on request; names may stand in it." if wishes.with_text else "Free text was left out."
    parts = [
        f"{len(result.visits)} visits of {result.clients} clients, for {wishes.purpose}.",
        CAUTION,
        f"{dates} {text} Names, numbers, addresses, telephones, images, lots and batches were left out; numbers of "
        "visits, clients and practitioners are pseudonyms. A word that no table knows was replaced by “redacted”.",
        *(_rare(cells, wishes.small) for cells in result.cells),
        "Never treat anybody by these records.",
    ]
    import textwrap

    return "\n\n".join(textwrap.fill(part, 100) for part in parts) + "\n"


def _stem(visit: Visit) -> str:
    return visit.number if visit.version == 1 else f"{visit.number}.v{visit.version}"


def _told(result: Deidentified, wishes: Wishes) -> Iterator[Issue]:
    yield issue("D240", CAUTION, cause="D240")
    if wishes.with_text:
        yield issue("D241", "Free text was kept. Names may stand in it that nothing here could find.", cause="D241")
    for cells in result.cells:
        yield issue("D242", _rare(cells, wishes.small), cause="D242")
    if words := result.done.get("words withheld"):
        yield issue("D243", f"In {words} places stood words that no table knows; each may hold a name.", cause="D243")


def _rare(cells: Cells, small: int) -> str:
    return (
        f"{cells.small} of {cells.all} combinations of {', '.join(cells.what)} have fewer than {small} clients, the "
        f"rarest {cells.least}; {cells.clients} clients stand in one of them."
    )


def _unfit(fields: dict[str, int]) -> Iterator[Issue]:
    for path, count in sorted(fields.items()):
        message = f"{count} visits were left out: without who they are about they are no visits any more."
        yield issue("D244", message, Where(path=path), cause=f"D244:{path}")


class _Known:
    """Whether a term's words are the tables' own: as a whole, or as a short phrase of nothing but their words."""

    def __init__(self, maps: TermMaps) -> None:
        self._maps = maps
        self._memo: dict[tuple[str, str], bool] = {}
        self._words = {word for kind in maps.words.values() for words in kind for word in _WORD.findall(words)}

    def __call__(self, path: str, term: Term) -> bool:
        kind = self._maps.kind_of(path)
        if kind is None:
            return False
        at = (kind.name, term.text)
        if at not in self._memo:
            self._memo[at] = self._maps.find(*at) is not None or self._phrase(kind.name, term.text)
        return self._memo[at]

    def _phrase(self, kind: str, text: str) -> bool:
        phrase = parse_phrase(text, kind)
        if phrase is None or find_term(self._maps.kinds[kind], phrase.term, self._maps) is None:
            return False
        return all(word in self._words or word in _qualifying() for word in _WORD.findall(fold(text)))


@cache
def _qualifying() -> frozenset[str]:
    """The words of sides, denial, doubt and amounts (mappings/words)."""
    tables = ("sides.csv", "qualifiers.csv", "amounts.csv", "parts.csv", "roles.csv")
    folder = table_path("words")
    cells = (
        cell for name in tables if (folder / name).is_file() for row in load_csv(folder / name) for cell in row.values()
    )
    return frozenset(word for cell in cells for word in _WORD.findall(fold(cell)))


class _Shared:
    """Whether a code is one of the systems that everybody knows, or one of ours that a table has."""

    def __init__(self, maps: TermMaps) -> None:
        self._own = {concept.code for kind in maps.words.values() for concept in kind.values() if concept.published}
        self._systems = {row["uri"] for row in load_csv(table_path("systems.csv"))}

    def __call__(self, system: str, code: str) -> bool:
        if system == OWN:
            return code in self._own
        return system in self._systems and _PUBLISHED.fullmatch(code) is not None


def _of_practice(practice: Practice | None) -> list[str]:
    """Names that stand in the practice's own settings and address book."""
    if practice is None:
        return []
    found = [practice.clinic.name]
    for staff in practice.practitioners:
        found += [*staff.full_names()]
    for row in practice.doctors.rows:
        found += [text for text in (row.doctor, row.practice) if text]
    return found
