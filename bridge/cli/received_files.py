"""What `receive` writes of documents: visit files, what is kept beside them, accounts, rows of a layout."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from bridge.cli.options import Showing
from bridge.issues import Issue, Made, Report

if TYPE_CHECKING:
    from bridge.layout import Layout
    from bridge.receive.settling import Settled, Settling
    from bridge.taken_over import Arrived
    from bridge.visit import Visit


class Writer:
    """Puts files into one folder and tells the report; one name never stands for two things in one run."""

    def __init__(self, folder: Path, report: Report, showing: Showing, *, replace: bool) -> None:
        from bridge.deliver import FileNames, Keeper

        self._folder, self._report, self._showing = folder, report, showing
        self._keeper, self.names = Keeper(replace=replace), FileNames()
        self._written: dict[str, bytes] = {}
        self._next: dict[str, int] = {}
        self._versions = _versions_in(folder)

    def put(self, name: str, media_type: str, content: bytes, what: str, *, file: str = "", record: str = "") -> None:
        from bridge.shapes import Document

        folder, last = self._folder / Path(name).parent, Path(name).name
        last = self._own(f"{Path(name).parent}/", last, content)
        state, issues = self._keeper.put(Document(last, media_type, content), folder)
        self._report.extend(i.at(file=file, record=record) for i in issues)
        self._report.count(f"{what} {'not written over' if state == 'left' else state}")
        self._report.files.append(Made(str(folder / last), state, record))
        if state in ("written", "replaced") and self._showing.form == "text" and not self._showing.quiet:
            click.echo(str(folder / last))

    def _own(self, place: str, name: str, content: bytes) -> str:
        """Another name where this run has put something else under it."""
        stem, _, ending = name.partition(".")
        wanted = f"{place}{name}".lower()
        while self._written.setdefault(f"{place}{name}".lower(), content) != content:
            self._next[wanted] = self._next.get(wanted, 1) + 1
            name = f"{stem}-{self._next[wanted]}.{ending}"
        return name

    def earlier(self, visit: Visit) -> list[Issue]:
        """X173 or X174 where the folder held other versions of the visit before this run."""
        from bridge.issues import Where, issue

        held = self._versions.get(self.names.stem(visit.number).lower(), ())
        if not held or visit.version in held:
            return []
        newest, where = max(held), Where(record=visit.number)
        told = f"Version {visit.version} arrived; the folder has version {newest}"
        if newest > visit.version:
            return [issue("X174", f"{told}, which is newer. Keep using that.", where)]
        return [issue("X173", f"{told}, which it is newer than.", where)]


def _versions_in(folder: Path) -> dict[str, set[int]]:
    """Versions by the beginning of the names of visit files."""
    found: dict[str, set[int]] = {}
    for path in folder.glob("*.yaml") if folder.is_dir() else ():
        stem = path.name.partition(".")[0].lower()
        base, _, version = stem.rpartition("-v")
        numbered = base and version.isascii() and version.isdigit() and len(version) <= 3
        found.setdefault(base if numbered else stem, set()).add(int(version) if numbered else 1)
    return found


def write_all(documents: Sequence[Arrived], settling: Settling, writer: Writer, report: Report) -> list[Visit]:
    """Writes what was taken over, and gives one visit of each number and version, the one that says most."""
    visits = [visit for document in documents for visit in document.visits]
    kinds = [f"{d.kind}{d.draft}" for d in documents for _ in d.visits]
    settled = settling.settle(visits, kinds)
    at = 0
    kept = []
    filed: dict[str, list[str]] = {}
    for document in documents:
        own = settled[at : at + len(document.visits)]
        stems = [writer.names.stem((s.visit or v).number, v.version) for s, v in zip(own, document.visits, strict=True)]
        at += len(own)
        _visits(document, own, writer, report, stems)
        _beside(document, own, writer, stems)
        if document.parcel and own:
            filed.setdefault(document.parcel, []).extend(s.visit.number for s in own if s.visit)
        _along(document, filed, writer)
        kept += [one.visit for one in own if one.visit and one.fullest]
    return kept


def _visits(document: Arrived, own: Sequence[Settled], writer: Writer, report: Report, stems: Sequence[str]) -> None:
    from bridge.deliver import letter_name
    from bridge.received_visits import visit_content
    from bridge.visit_file import YAML_TYPE

    for one, stem in zip(own, stems, strict=True):
        report.extend(i.at(file=document.file) for i in one.issues)
        if one.visit is None:
            continue
        if not any(i.rule in ("X173", "X174") for i in one.issues):
            report.extend(i.at(file=document.file) for i in writer.earlier(one.visit))
        content, issues = visit_content(one.visit)
        report.extend(i.at(file=document.file) for i in issues)
        if content is not None:
            kind = document.kind if document.kind != "record" else ""
            name = letter_name(stem, kind, "yaml", draft=document.draft)
            writer.put(name, YAML_TYPE, content, "visit files", file=document.file, record=one.visit.number)


def _beside(document: Arrived, own: Sequence[Settled], writer: Writer, stems: Sequence[str]) -> None:
    """What has no place in a visit, but nothing of a client whose visits were refused."""
    from bridge.taken_over import JSON_TYPE, account_file, kept_file

    refused = {place for place, one in enumerate(own) if any(i.rule == "X171" for i in one.issues)}
    taken = document.stem.casefold() in (stem.casefold() for stem in stems)
    nobodys = f"{document.stem}.others" if taken else document.stem
    for places, bundle in document.kept:
        if not places or not refused.issuperset(places):
            stem = stems[places[0]] if places else nobodys
            writer.put(f"{stem}.kept.json", JSON_TYPE, kept_file(bundle), "kept files", file=document.file)
    numbers = {v.number: s.visit.number for s, v in zip(own, document.visits, strict=True) if s.visit}
    for places, lines in document.accounts() if not own or len(refused) < len(own) else ():
        if not places or not refused.issuperset(places):
            stem = stems[places[0]] if places else nobodys
            content = account_file(lines, numbers)
            writer.put(f"{stem}.account.json", JSON_TYPE, content, "accounts", file=document.file)


def _along(document: Arrived, filed: dict[str, list[str]], writer: Writer) -> None:
    """What came along with visits that were filed, and which they are; nothing where all of them were refused."""
    from bridge.came_with import LIST, visit_list
    from bridge.taken_over import JSON_TYPE

    numbers = filed.get(document.parcel)
    if not document.beside or numbers == []:
        return
    if numbers:
        place = f"{document.parcel}/{LIST}"
        writer.put(place, JSON_TYPE, visit_list(numbers), "lists of what came along", file=document.file)
    for name, media_type, content in document.beside:
        writer.put(name, media_type, content, "files that came along", file=document.file)


def write_rows(
    visits: Sequence[Visit],
    layout: Layout,
    practice: Path,
    form: Literal["csv", "xlsx"],
    stem: str,
    writer: Writer,
    report: Report,
) -> None:
    """The visits as rows in a file of their own, never in one that the person keeps.

    It stands outside of the folder of the visit files: as records, a folder with both would hold each visit twice.
    """
    from bridge.coding import code_visit, load_term_maps
    from bridge.practice import load_practice
    from bridge.received_visits import told_whose, visit_rows

    settings, issues = load_practice(practice)
    if settings is None:
        report.extend(issues)
        return
    maps = load_term_maps(practice)
    told, other = told_whose(visits, layout, settings.clinic)
    rows = visit_rows(told, layout, settings.zone, form, lambda visit: code_visit(visit, maps)[0])
    report.extend([*rows.issues, *other])
    report.count("visits in rows", rows.held)
    report.count("visits in no row", rows.left_out + len(other))
    if rows.content:
        media_type = (
            "text/csv" if form == "csv" else "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
        )
        writer.put(f"{stem}.{form}", media_type, rows.content, "files of rows")
