"""From what became of all records to the record of one client: every visit in time order, older versions kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal
from zoneinfo import ZoneInfo

from bridge.build import build_document
from bridge.build.ips import build_client_summary
from bridge.client_summary import ClientRecords, Summary, as_told, whose
from bridge.cut import own_copy
from bridge.deliver import FileNames
from bridge.fhir.ids import Ids
from bridge.fhir.letter_kind import RECORD
from bridge.issues import Issue, Severity, Where, issue
from bridge.one_client import moment, one_visit
from bridge.pipeline import Conversion, Converter, reads_back
from bridge.shapes import Alert, Json
from bridge.visit import Visit

Reader = Literal["clinic", "client"]
OF_SHARING = "B122"
"""Said of documents that are shared with others; a copy for the client is not."""
STOPS = ("D162",)
"""Warnings that keep a record back all the same."""


@dataclass(slots=True)
class VisitRecord:
    """One version of one visit, as it is handed over."""

    visit: Visit
    where: Where
    stem: str
    document: Json
    """The whole record of the visit, uncut."""
    alerts: tuple[Alert, ...] = ()
    earlier: Visit | None = None
    superseded: int | None = None
    """The version that took its place; None for the one that holds."""


@dataclass(slots=True)
class ClientRecord:
    """What is handed over of one client."""

    stem: str
    reader: Reader
    summary: Json
    """The International Patient Summary."""
    visits: list[VisitRecord]
    """Oldest first; of one visit the older version first."""
    left: dict[str, int] = field(default_factory=dict)
    """How many things of other people the client's own copy leaves out, by key of the catalogue."""

    @property
    def newest(self) -> list[VisitRecord]:
        """Each visit once, in the version that holds."""
        return [v for v in self.visits if v.superseded is None]

    def begins_after(self, day: str, zone: ZoneInfo) -> bool:
        """Whether a visit is surely later than this day at the clinic: of a month or a year its last day may be."""
        starts = (v.visit.start for v in self.visits)
        days = [moment(s, zone).astimezone(zone).date().isoformat() if "T" in s else s for s in starts]
        return any(day[: len(start)] < start for start in days)


class OneClient:
    """Takes every conversion of a run, keeps those of one client, and gives their record."""

    def __init__(self, converter: Converter, asked: str, reader: Reader = "clinic") -> None:
        """`asked`: the client's number, or `client-` and their id where the clinic gives none."""
        self._converter = converter
        self._asked = asked
        self._reader = reader
        self._ids = Ids(converter.practice.namespace)
        self._clients = ClientRecords(converter.practice, converter.checked, consent=reader == "clinic")
        self._kept: list[Conversion] = []
        self._unread: list[Issue] = []
        """What is wrong with records that are no visit. Of those whose client nobody can tell it stops nothing."""
        self.looked_at = 0
        self.foreign_files: set[str] = set()
        """Names of sources that hold visits of other clients too."""

    def fits(self, visit: Visit) -> bool:
        """Whether the visit is of a client with the number asked for, capitals aside."""
        return self._stem(visit).casefold() == self._asked.casefold()

    def take(self, conversion: Conversion) -> None:
        visit = conversion.visit
        if visit is None:
            self._without_visit(conversion)
            return
        self.looked_at += 1
        if self.fits(visit):
            self._kept.append(conversion)
            self._clients.take(conversion)
            return
        self.foreign_files.add(conversion.where.file)
        self._clients.other(visit, conversion.where)

    def _without_visit(self, conversion: Conversion) -> None:
        """A record that is no visit: of the client asked for it stops the hand-over, of another client it is no
        matter."""
        said = conversion.says.get("client")
        number = as_told(said.get("number")).strip() if isinstance(said, Mapping) else ""
        client = whose(conversion, self._ids)
        theirs = bool(client) and self._asked.casefold() in (number.casefold(), f"client-{client}")
        if client and not theirs:
            return
        self._clients.take(conversion)
        if conversion.state != "left alone":
            worst = Severity.fatal if theirs else Severity.warning
            self._unread += [replace(i, severity=min(i.severity, worst)) for i in conversion.issues]

    def record(self) -> tuple[ClientRecord | None, list[Issue]]:
        """The record, or None and why not (D180, D181 and what `client_summary` finds)."""
        found = list(self._clients.summaries(lambda stem: stem.casefold() == self._asked.casefold()))
        exact = [summary for summary in found if summary.stem == self._asked]
        found = exact or found
        if not found:
            return None, [self._nobody(), *self._told_of_records()]
        if len(found) > 1:
            message = "Only capitals tell this number from that of another client; write it as the records do."
            return None, [issue("D180", message, cause="D180:capitals")]
        issues = [*found[0].issues, *self._told_of_records()]
        if found[0].bundle is None:
            why = next((i.message for i in found[0].issues if i.rule in STOPS or i.severity >= Severity.error), "")
            message = f"Nothing was handed over. {why}".rstrip()
            return None, [*issues, issue("D181", message, found[0].where, cause="D181")]
        made, more = self._made(found[0], found[0].bundle)
        return made, [i for i in (*issues, *more) if self._reader == "clinic" or i.rule != OF_SHARING]

    def _told_of_records(self) -> list[Issue]:
        return [*self._unread, *self._clients.told_of_records()]

    def _nobody(self) -> Issue:
        visits = f"{self.looked_at} {'visit' if self.looked_at == 1 else 'visits'}"
        return issue("D180", f"Of {visits} looked at, none is of a client with this number.", cause="D180")

    def _made(self, summary: Summary, bundle: Json) -> tuple[ClientRecord | None, list[Issue]]:
        issues: list[Issue] = []
        mine = [c for c in self._kept if c.visit and any(one_visit(c.visit, newest) for newest in summary.visits)]
        names, made = FileNames(), ClientRecord(summary.stem, self._reader, bundle, [])
        for conversion in sorted(mine, key=self._when):
            assert conversion.visit is not None
            version = max(v.version for v in summary.visits if one_visit(conversion.visit, v))
            superseded = version if conversion.visit.version < version else None
            if superseded and conversion.state == "need you":
                issues.append(_lost(conversion))
                continue
            record, found = self._visit(conversion, names, made.left)
            record.superseded = superseded
            made.visits.append(record)
            where = conversion.where
            at = {"file": where.file, "sheet": where.sheet, "row": where.row, "record": record.visit.number}
            issues += [i.at(**at) for i in found]
        if self._reader == "client":
            shown = [v.visit for v in made.newest]
            practice, options = self._converter.practice, self._converter.options
            made.summary = build_client_summary(shown, practice.namespace, practice.zone, options)
            issues += self._converter.checked(made.summary)
        failed = any(i.severity >= Severity.error for i in issues)
        return None if failed else made, issues

    def _visit(self, conversion: Conversion, names: FileNames, left: dict[str, int]) -> tuple[VisitRecord, list[Issue]]:
        converter, visit, earlier = self._converter, conversion.visit, conversion.earlier
        assert visit is not None
        if self._reader == "client":
            shown = own_copy(visit)
            visit, earlier = shown.visit, own_copy(earlier).visit if earlier else None
            for key, number in shown.left.items():
                left[key] = left.get(key, 0) + number
        practice = converter.practice
        document = build_document(
            visit, practice.namespace, practice.zone, RECORD, converter.options, conversion.alerts, {}, earlier
        )
        found = [*converter.checked(document), *reads_back(document, visit)]
        stem = names.stem(visit.number, visit.version)
        return VisitRecord(visit, conversion.where, stem, document, conversion.alerts, earlier), found

    def _when(self, conversion: Conversion) -> tuple[object, ...]:
        visit = conversion.visit
        assert visit is not None
        return moment(visit.start, self._converter.zone), visit.number, visit.version

    def _stem(self, visit: Visit) -> str:
        return visit.client.number or f"client-{self._ids.client(visit.client)}"


def _lost(conversion: Conversion) -> Issue:
    visit, where = conversion.visit, conversion.where
    assert visit is not None
    message = f"Version {visit.version} of this visit, which a newer one replaces, has errors and is not handed over."
    found = issue("D184", message, Where(record=visit.number), cause="D184")
    return found.at(file=where.file, sheet=where.sheet, row=where.row, unseen=where.unseen)
