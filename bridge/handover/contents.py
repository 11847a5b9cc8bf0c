"""Every file of a hand-over, and last the index page that tells of them."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from bridge import __version__
from bridge.build import build_collection
from bridge.cut import own_copy
from bridge.fhir.ndjson import NDJSON_TYPE, dump_lines
from bridge.fhir.tell.words import told_in
from bridge.fhir.write_xml import NotXmlError
from bridge.fhir.written import as_document
from bridge.file_names import safe_stem
from bridge.handover.images import HeldImage, images_of, may_go
from bridge.handover.kept import kept_of
from bridge.handover.letters import letters_of
from bridge.handover.record import ClientRecord, OneClient, VisitRecord
from bridge.handover.words import WordRow, as_csv, words_of
from bridge.issues import Issue, issue
from bridge.one_client import as_of, newest_client
from bridge.parcel import Piece
from bridge.pipeline import Converter, bundle_document
from bridge.render.as_html import html_of
from bridge.render.handover import FileTold, PictureTold, Told, VisitTold, WordTold, handover_page
from bridge.shapes import Document
from bridge.visit import Clinic
from bridge.wording import say

INDEX = "index.html"
TOOL = "visit-bridge"


@dataclass(frozen=True, slots=True)
class Around:
    """What the index page says beside the record."""

    made: str
    """The day of the hand-over."""
    fingerprint: str = ""
    seal: Literal["", "key", "passphrase"] = ""
    sealed_as: str = ""
    by: str = ""
    """Who hands over, with the role; empty where nobody said so."""


@dataclass(slots=True)
class Made:
    """The files of a hand-over in the order in which the index names them."""

    pieces: list[Piece] = field(default_factory=list)
    counts: dict[str, int] = field(default_factory=dict)
    issues: list[Issue] = field(default_factory=list)

    def put(self, folder: str, document: Document, what: str) -> str:
        name = f"{folder}/{document.name}" if folder else document.name
        self.pieces.append(Piece(name, document.media_type, document.content, what))
        return name


def contents(
    record: ClientRecord, client: OneClient, converter: Converter, sources: Sequence[Path], around: Around
) -> Made:
    """All files of one client's record. `sources`: where the records lie, beside which pictures are looked for."""
    beside: dict[str, list[Path]] = {}
    for source in sources:
        beside.setdefault(source.name, []).append(source)
    with told_in(converter.options.tag):
        return _contents(record, client, converter, beside, around)


def _contents(
    record: ClientRecord, client: OneClient, converter: Converter, beside: Mapping[str, list[Path]], around: Around
) -> Made:
    made = Made()
    _summary(record, made)
    told = [_visit(v, made) for v in record.visits]
    made.put("", Document("visits.ndjson", NDJSON_TYPE, _lines(record, converter)), say("handover.what.ndjson"))
    by_document = {id(v): t for v, t in zip(record.visits, told, strict=True)}
    key = "handover.what.copy" if record.reader == "client" else "handover.what.letter"
    for visit, document, issues in letters_of(record, converter):
        made.issues += issues
        if document is not None:
            what = say(key, visit=visit.visit.number, version=visit.visit.version)
            by_document[id(visit)].letters.append(made.put("letters", document, what))
    pictures = _pictures(record, beside, converter.practice.clinic, made)
    kept = _kept(record, client, beside, converter.practice.clinic, made)
    words = words_of(v.visit for v in record.visits)
    made.put("", Document("words.csv", "text/csv", as_csv(words)), say("handover.what.words"))
    _index(record, told, pictures, words, around, made)
    made.counts = {
        "resources": sum(len(v.document["entry"]) for v in record.visits) + len(record.summary["entry"]),
        "superseded": sum(v.superseded is not None for v in record.visits),
        "kept": kept,
        "pictures not handed over": sum(not p.name for p in pictures),
    }
    return made


def _summary(record: ClientRecord, made: Made) -> None:
    stem = safe_stem(record.stem)
    made.put("record", bundle_document(record.summary, stem, "ips"), say("handover.what.ips", form="JSON"))
    try:
        xml = as_document(record.summary, f"{stem}.ips.bundle.xml", "xml")
    except NotXmlError as error:
        made.issues += error.issues
    else:
        made.put("record", xml, say("handover.what.ips", form="XML"))


def _visit(record: VisitRecord, made: Made) -> VisitTold:
    visit = record.visit
    if record.superseded is None:
        what = say("handover.what.visit", visit=visit.number, version=visit.version)
    else:
        what = say("handover.what.superseded", visit=visit.number, version=visit.version, newer=record.superseded)
    name = made.put("visits", bundle_document(record.document, record.stem, "summary"), what)
    return VisitTold(visit, record.document, name, [], record.superseded, record.alerts)


def _lines(record: ClientRecord, converter: Converter) -> bytes:
    """Each resource of the visits in force once, by its type and id, with the newest state of who the client is."""
    visits = [v.visit for v in record.newest]
    practice, client = converter.practice, newest_client(visits)
    lines: dict[tuple[str, str], bytes] = {}
    for visit in visits:
        now = visit.model_copy(update={"client": as_of(client, visit)})
        if record.reader == "client":
            now = own_copy(now).visit
        bundle = build_collection(now, practice.namespace, practice.zone, options=converter.options)
        entries = bundle["entry"]
        for entry, line in zip(entries, dump_lines(bundle).splitlines(keepends=True), strict=True):
            lines[entry["resource"]["resourceType"], entry["resource"]["id"]] = line
    return b"".join(lines.values())


def _kept(record: ClientRecord, client: OneClient, beside: Mapping[str, list[Path]], own: Clinic, made: Made) -> int:
    """How many files of an earlier clinic go with it; none with the client's own copy, for no program can tell what in
    them is other people's (D187)."""
    found = kept_of(record, beside, client.foreign_files, pictures=may_go(record, own))
    if record.reader == "client" and found.pieces:
        number = len(found.pieces)
        record.left["handover.left.earlier"] = number
        message = f"{number} {'file' if number == 1 else 'files'} of an earlier clinic stayed out of the client’s copy."
        made.issues.append(issue("D187", message, cause="D187"))
        return 0
    made.pieces += found.pieces.values()
    made.issues += found.issues
    return len(found.pieces)


def _pictures(record: ClientRecord, beside: Mapping[str, list[Path]], own: Clinic, made: Made) -> list[PictureTold]:
    found, issues = images_of(record, beside, own)
    made.issues += issues
    put: set[str] = set()
    for held in found:
        if held.name and held.name not in put:
            put.add(held.name)
            what = say("handover.what.image", visit=held.record.visit.number)
            made.pieces.append(Piece(held.name, held.media_type, held.content, what))
    return [_picture(held) for held in found]


def _picture(held: HeldImage) -> PictureTold:
    return PictureTold(held.record.visit.number, held.ear, held.image.stage or "", held.image.file, held.name)


def _index(
    record: ClientRecord,
    told: list[VisitTold],
    pictures: list[PictureTold],
    words: list[WordRow],
    around: Around,
    made: Made,
) -> None:
    files = [FileTold(p.name, p.what, len(p.content), hashlib.sha256(p.content).hexdigest()) for p in made.pieces]
    page = handover_page(
        Told(
            record.reader,
            around.made,
            f"{TOOL} {__version__}",
            record.stem,
            record.summary,
            told,
            pictures,
            _words(words),
            files,
            record.left,
            around.fingerprint,
            around.seal,
            around.sealed_as,
            around.by,
        )
    )
    made.put("", Document(INDEX, "text/html", html_of(page).encode("utf-8", "replace")), say("handover.what.index"))


def _words(rows: list[WordRow]) -> list[WordTold]:
    """Without the fields, which the page has no room for."""
    found: dict[tuple[str, str, str, str, str], int] = {}
    for row in rows:
        key = (row.word, row.system, row.version, row.code, row.display)
        found[key] = found.get(key, 0) + row.times
    return [WordTold(*key, times=times) for key, times in found.items()]
