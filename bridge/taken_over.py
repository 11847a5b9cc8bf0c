"""The corridor of what is taken over: documents and parcels that arrived become visits, what is kept, and an account.

documents, parcels --arrived--> Arrived, one for each document --settled--> whose, which version, which of several
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from bridge.about_document import about
from bridge.came_with import folder_name
from bridge.errors import BridgeError
from bridge.fhir.misnamed import misnamed
from bridge.fhir.write_json import dumps
from bridge.file_names import safe_stem
from bridge.issues import Issue, Severity, Where, issue
from bridge.leaf_by_leaf import Differing
from bridge.made_again import BUNDLE, changed
from bridge.receive import bundle_to_visits
from bridge.receive.foreign import AccountLine, Foreign, kept_bundle, read_foreign
from bridge.receive.own_elements import added
from bridge.received import check_received, document_stem
from bridge.same_clinic import NOT_NAMED
from bridge.shapes import Json
from bridge.visit import Visit

if TYPE_CHECKING:
    from bridge.parcel import Opened

_PLACES = 5
"""How many places a message names."""
JSON_TYPE = "application/json"
_ENDING = ".bundle"
_BESIDE_VISITS = re.compile(r"kept/[^/]+\.(?:kept|account)\.json")
"""What may lie beside visit files: anything else under a name of its own choice would be read as a record."""
_COME_ALONG = frozenset(
    {
        "json", "xml", "ndjson", "pdf", "html", "csv", "txt",
        "jpg", "jpeg", "png", "gif", "bmp", "tif", "tiff", "webp", "dcm", "heic", "mp4",
    }
)  # fmt: skip
"""Endings of data, letters, pages and pictures."""


@dataclass(slots=True)
class Arrived:
    """One document that was looked at, and what comes of it."""

    file: str
    """Its name as told in messages."""
    stem: str
    """The beginning of names of files about it that belong to no visit."""
    visits: list[Visit] = field(default_factory=list)
    kind: str = ""
    draft: bool = False
    kept: list[tuple[tuple[int, ...], Json]] = field(default_factory=list)
    """Resources without a place in a visit, as a collection, for each group of visits (their places) that they are
    about; no place: about nobody who has a visit here."""
    account: list[AccountLine] = field(default_factory=list)
    whose: dict[str, tuple[int, ...]] = field(default_factory=dict)
    """By the path of a resource the places of the visits of its client."""
    parcel: str = ""
    """The folder for what came along in the parcel that it was in."""
    beside: list[tuple[str, str, bytes]] = field(default_factory=list)
    """Name, media type and content of files that came along."""
    issues: list[Issue] = field(default_factory=list)

    @property
    def taken(self) -> bool:
        return bool(self.visits or self.kept or self.beside or self.account)

    def accounts(self) -> list[tuple[tuple[int, ...], list[AccountLine]]]:
        """The account apart for each group of visits, as `kept`: nobody's record may tell of somebody else."""
        groups: dict[tuple[int, ...], list[AccountLine]] = {}
        for line in self.account:
            groups.setdefault(self.whose.get(line.path, ()), []).append(line)
        if len(groups) == 2 and all(line.state == "of the parcel" for line in groups.get((), ())):
            return [(next(places for places in groups if places), self.account)]
        return list(groups.items())


def arrived(data: Any, file: str, found: Sequence[Issue]) -> Arrived:
    """What comes of a checked document. `found`: all that the check told of it.

    One with errors becomes no visit. Where only its parts contradict each other, and it could be read, it is kept whole
    (X183); one that is not even that is not taken over.
    """
    result = Arrived(file, safe_stem(document_stem(file).removesuffix(_ENDING) or "document"), issues=list(found))
    errors = [i for i in found if i.severity >= Severity.error]
    if not isinstance(data, dict) or any(i.rule[0] == "S" for i in errors):
        return result
    if errors:
        if data.get("resourceType") == "Bundle" and data.get("entry"):
            _kept_whole(result, data)
        return result
    said = about(data)
    strange: list[Issue] = []
    if said.kind != "ips":
        visits, strange = bundle_to_visits(data)
        if visits and not any(i.severity >= Severity.error for i in strange):
            result.visits, result.kind, result.draft = _with_clinic(visits), said.kind, said.draft
            result.issues += strange
            _added(result, data, visits)
            return result
    _foreign(result, data, strange, whole=said.kind == "ips")
    return result


def _with_clinic(visits: Sequence[Visit]) -> list[Visit]:
    """The visits, those of which no clinic is named under words for that: else they would be taken for our own."""
    return [v if v.clinic else v.model_copy(update={"clinic": NOT_NAMED}) for v in visits]


def _added(result: Arrived, data: Json, told: Sequence[Visit]) -> None:
    """What somebody put into a document of ours on its way, or changed: the resource is kept beside the visit.

    `told`: the visits as the document tells them.
    """
    entries, count = [], 0
    others = changed(data, told, result.kind)
    patients = [e for e in data["entry"] if e.get("resource", {}).get("resourceType") == "Patient"]
    places = tuple(range(len(result.visits))) if len(patients) == 1 else ()
    if around := others.pop(BUNDLE, None):
        result.account.append(AccountLine("Bundle", "Bundle", "of the parcel", elements=tuple(around.other)))
        message = "What this document says of itself is not what the visit says."
        result.issues.append(issue("X186", message, Where(path="Bundle"), cause="X186"))
    for number, entry in enumerate(data["entry"]):
        resource = entry.get("resource", {})
        new, wrong = added(resource), misnamed(resource)
        if new or wrong or number in others:
            elements = dict.fromkeys([*new, *wrong, *(others[number].other if number in others else ())])
            count += len(new)
            entries.append({key: entry[key] for key in ("fullUrl", "resource") if key in entry})
            path, visit = f"Bundle.entry[{number}].resource", result.visits[0].number if len(result.visits) == 1 else ""
            line = AccountLine(path, str(resource.get("resourceType")), "in part", visit, tuple(elements))
            result.account.append(line)
            result.whose[path] = places
            if wrong and number not in others:
                message = f"In this {resource['resourceType']} a code does not have the name that stands beside it."
                result.issues.append(issue("X186", message, Where(path=path), cause="X186:name"))
    if entries:
        result.kept.append((places, {"resourceType": "Bundle", "type": "collection", "entry": entries}))
        if count:
            message = (
                f"{count} elements of this document are not of visit-bridge's making; they are kept beside the visit."
            )
            result.issues.append(issue("X184", message))
        for number, differing in others.items():
            result.issues += _other_than_the_visit(data["entry"][number]["resource"], differing, number)


def _other_than_the_visit(resource: Json, found: Differing, number: int) -> Iterator[Issue]:
    """X186, unless all of it was added, which X184 tells."""
    where = Where(path=f"Bundle.entry[{number}].resource")
    if resource["resourceType"] == "Device" and any(path.startswith("version[") for path in found.other):
        message = (
            "This document names another edition of visit-bridge, which may have written other things otherwise too."
        )
        yield issue("X186", message, where, cause="X186")
    elif set(found.other) - set(added(resource)):
        yield issue("X186", f"This {resource['resourceType']} says something else than the visit.", where, cause="X186")
    elif found.lacking:
        places = ", ".join(found.lacking[:_PLACES])
        message = f"This {resource['resourceType']} lacks what visit-bridge writes for such a visit: {places}."
        yield issue("X186", message, where, cause="X186")


def _kept_whole(result: Arrived, data: Json) -> None:
    foreign = read_foreign(data)
    _all_kept(result, data, foreign)
    message = (
        f"For its errors nothing of this document became a visit; {len(data['entry'])} entries are kept as they are."
    )
    result.issues.append(issue("X183", message))


def _as_kept(line: AccountLine) -> AccountLine:
    return (
        line
        if line.state == "of the parcel"
        else AccountLine(line.path, line.type, "kept", "", line.elements, line.what)
    )


def _foreign(result: Arrived, data: Json, strange: Sequence[Issue], *, whole: bool) -> None:
    """A document of another system, or the whole record of a client, of which no visit is made."""
    foreign = read_foreign(data)
    if whole:
        told = "This is the whole record of a client, which is kept as it is; visits come from their own documents."
        result.issues.append(issue("X112", told, Where(path="Bundle"), cause="X112"))
        _all_kept(result, data, foreign)
        return
    result.visits, result.account, result.whose = _with_clinic(foreign.visits), foreign.account, foreign.whose
    result.kept = _by_client(foreign)
    result.issues += foreign.issues
    if not result.taken:
        result.issues += strange or [issue("X101", "Nothing in this document is a visit or can be kept.", cause="X101")]
        return
    why = f" (visit-bridge would have written it otherwise: {strange[0].rule})" if strange and _ours(strange) else ""
    unused = sum(len(line.elements) for line in foreign.account if line.state != "of the parcel")
    states = [line.state for line in foreign.account if line.state != "of the parcel"]
    held = f"{len(foreign.visits)} {'visit' if len(foreign.visits) == 1 else 'visits'}"
    message = (
        f"Read as a document of another system{why}: of {len(states)} resources {states.count('in the visit')} are in"
        f" {held}, {states.count('in part')} are in one in part, and"
        f" {states.count('kept')} are kept as they came; {unused} elements that are in no visit stand in the account."
    )
    result.issues.append(issue("X178", message))


def _all_kept(result: Arrived, data: Json, foreign: Foreign) -> None:
    entries = [{k: e[k] for k in ("fullUrl", "resource") if k in e} for e in data["entry"] if isinstance(e, dict)]
    entries = [e for e in entries if "resource" in e]
    result.kept = [((), {"resourceType": "Bundle", "type": "collection", "entry": entries})] if entries else []
    result.account = [_as_kept(line) for line in foreign.account]


def _ours(strange: Sequence[Issue]) -> bool:
    return any(i.rule in ("X103", "X104", "X110") for i in strange)


def _by_client(foreign: Foreign) -> list[tuple[tuple[int, ...], Json]]:
    """Kept resources apart by the visits that they belong to, so that nobody's go with somebody else's record."""
    groups: dict[tuple[int, ...], Foreign] = {}
    places = foreign.kept_of or [()] * len(foreign.kept)
    for resource, url, visits in zip(foreign.kept, foreign.urls, places, strict=True):
        group = groups.setdefault(tuple(visits), Foreign())
        group.kept.append(resource)
        group.urls.append(url)
    return [(visits, bundle) for visits, group in groups.items() if (bundle := kept_bundle(group))]


def account_file(lines: Sequence[AccountLine], numbers: Mapping[str, str]) -> bytes:
    """The account of one document: what became of each of its resources, and every leaf that is in no visit.

    `numbers`: of visits that were given another one.
    """
    own = [replace(line, visit=numbers.get(line.visit, line.visit)) for line in lines]
    rows = [{k: v for k, v in asdict(line).items() if v not in ("", ())} for line in own]
    return (json.dumps({"account": rows}, ensure_ascii=False, indent=1) + "\n").encode()


def kept_file(bundle: Json) -> bytes:
    return dumps(bundle)


def from_parcel(parcel: Opened, name: str) -> Iterator[Arrived]:
    """What comes of each document of a parcel whose signature and sums were found right; the rest comes along.

    Visits come from `visits/`, or from `visits.ndjson` where there are no such documents. The whole record, letters,
    images and words come along as they are; what an earlier clinic's visits could not hold goes on beside the visits.
    """
    visits = [n for n in parcel.pieces if n.startswith("visits/") and n.endswith((".json", ".xml"))]
    if not visits and "visits.ndjson" in parcel.pieces:
        visits = ["visits.ndjson"]
    for inner in visits:
        data, found = check_received(parcel.pieces[inner].content, inner)
        document = arrived(data, inner.rpartition("/")[2], [i.at(file=inner) for i in found])
        document.parcel = _folder(parcel, name)
        yield document
    yield _along(parcel, name, {*visits, "visits.ndjson"})


def _along(parcel: Opened, name: str, read: set[str]) -> Arrived:
    """The files of a parcel that are no visits; X185 where no record has such a file, which may be a program."""
    along, left = Arrived(name, safe_stem(name), parcel=_folder(parcel, name)), 0
    for inner, piece in parcel.pieces.items():
        if inner in read:
            continue
        if inner.rpartition(".")[2].lower() not in _COME_ALONG:
            left += 1
            continue
        beside = _BESIDE_VISITS.fullmatch(inner)
        place = inner.removeprefix("kept/") if beside else f"{along.parcel}/{inner}"
        along.beside.append((place, piece.media_type, piece.content))
    if left:
        message = f"{left} {'file' if left == 1 else 'files'} of this parcel are of no kind that a record holds."
        along.issues.append(issue("X185", message))
    return along


def _folder(parcel: Opened, name: str) -> str:
    about = parcel.manifest.about if parcel.manifest else None
    return folder_name(about.client or name, about.clinic) if about else folder_name(name, "")


def held_visits(names: Sequence[Path], folder: Path, zone: ZoneInfo) -> Iterator[Visit | Issue]:
    """The visits of the practice's own records, and what is told of files that cannot be read.

    Raises InputError where a folder or a pattern leads to no record, and where the only file cannot be read.
    """
    from bridge.layout import load_usable
    from bridge.read.find import find_sources, unread
    from bridge.read.visits import read_visits

    layouts, _ = load_usable(folder / "layouts")
    paths = find_sources(names).paths
    for path in paths:
        try:
            for reading in read_visits(path, layouts, zone):
                if reading.visit is not None:
                    yield reading.visit
        except BridgeError as error:
            if len(paths) == 1:
                raise
            yield unread(path, error)
