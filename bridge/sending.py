"""The corridor out of the door: a document read, checked, held against consent and recipient, sent, and its receipt.

bundle --read, check--> ours, unchanged? --gate--> consent, recipient, cut --deliver/server--> answer --> receipt
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

from bridge.about_document import about
from bridge.asked import asked_of_practice
from bridge.build import Options, build_collection, build_document, build_transaction
from bridge.deliver.server import (
    Clock,
    Delivered,
    Delivery,
    Outgoing,
    Receipt,
    SignIn,
    Way,
    Wire,
    held_up,
    read_receipt,
    receipt_name,
    write_receipt,
)
from bridge.errors import SettingsError
from bridge.fhir.ids import Ids
from bridge.fhir.misnamed import misnamed
from bridge.file_names import safe_stem
from bridge.issues import Issue, Severity, Where, issue
from bridge.practice import DoctorsPractice, Practice
from bridge.practice.endpoints import Endpoint
from bridge.practice.names import fold, listed, nearest, quoted
from bridge.practice.secrets import only_for_its_owner, secret
from bridge.receive import bundle_to_visits
from bridge.receive.apart import Addresses
from bridge.receive.consents import sharing_consent
from bridge.receive.index import Index
from bridge.received import check_received
from bridge.shapes import Json
from bridge.visit.consent import SharingConsent

_RULES = {
    "sign-in": "D223", "not reached": "D220", "not trusted": "D221", "elsewhere": "D222", "busy": "D225",
    "refused": "D224", "entries": "D227", "other": "D212", "in doubt": "D226",
}  # fmt: skip


@dataclass(slots=True)
class Sent:
    """What became of one bundle."""

    state: str
    """accepted, in part, refused, in doubt, not sent; would be sent; sent before; held back."""
    issues: list[Issue] = field(default_factory=list)
    record: str = ""
    receipt: Path | None = None
    place: str = ""
    stopped: bool = False
    """Whether a person ended it while it was in doubt."""


@dataclass(frozen=True, slots=True)
class Target:
    """Where `--to` leads: a server, and whose it is."""

    endpoint: Endpoint
    owners: tuple[DoctorsPractice, ...]


def target(practice: Practice, name: str) -> Target:
    """By the name of an endpoint, or the key, name or code of a row of the address book that names one.

    Raises SettingsError where nothing or several things fit.
    """
    book, known = practice.doctors, {endpoint.name: endpoint for endpoint in practice.endpoints}
    if name in known:
        rows = [row for row in book.rows if row.endpoint == name]
        said = known[name].organisation
        found = [*book.find(said), *book.find(said, "service")] if said else []
        rows += [row for row in found if row not in rows]
        return Target(known[name], tuple(rows))
    rows = [*book.find(name), *book.find(name, "service")]
    if len(rows) > 1:
        raise SettingsError(
            f"{quoted(name)} fits several rows of the address book.", "Name the key of one, or an endpoint."
        )
    fitting = [e for e in known.values() if rows and (e.name == rows[0].endpoint or _owner(e, rows[0]))]
    if len(fitting) == 1:
        return Target(fitting[0], (rows[0],))
    if rows:
        raise SettingsError(
            f"{'No' if not fitting else 'More than one'} endpoint is named for {quoted(rows[0].key)}.",
            "Name the endpoint itself, or the one that holds in the column `endpoint` of doctors.csv.",
        )
    near = nearest(name, [*known, *(row.key for row in book.rows if row.endpoint)])
    hint = f" Nearest: {listed([quoted(n) for n in near])}." if near else ""
    raise SettingsError(f"There is no endpoint {quoted(name)}.{hint}", "Endpoints stand in practice.yaml, `endpoints`.")


def _owner(endpoint: Endpoint, row: DoctorsPractice) -> bool:
    words = {fold(word) for word in (row.key, row.practice, row.organisation_code) if word}
    return endpoint.organisation is not None and fold(endpoint.organisation) in words


class Sender:
    """Sends bundles of one practice to one endpoint."""

    def __init__(
        self, practice: Practice, folder: Path, to: Target, *, receipts: Path | None = None, again: bool = False,
        at: str = "", clock: Clock | None = None,
    ) -> None:  # fmt: skip
        """`receipts`: a folder for them, beside the bundle by default. `at`: the moment that consents are held
        against, by default now. Raises SettingsError for secrets and certificates that may not be used."""
        self._practice, self._folder, self._to = practice, folder, to
        self._receipts, self._again, self._clock = receipts, again, clock or Clock()
        self._at = at or self._clock.now().isoformat(timespec="seconds")
        self._asked = asked_of_practice(practice, folder)
        self._wire: Wire | None = None
        self._sign_in: SignIn | None = None

    def close(self) -> None:
        if self._wire:
            self._wire.close()

    def send(self, path: Path, content: bytes, *, dry: bool = False) -> Sent:
        """What became of one bundle; nothing of one that is held back has left. `dry`: only what would be done.

        Raises BridgeError where a receipt cannot be read or written, and SettingsError; KeyboardInterrupt where it is
        stopped and nothing is in doubt.
        """
        data, issues = check_received(content, path.name, asked=self._asked)
        issues = [i for i in issues if i.severity >= Severity.error]
        if data is None or data.get("resourceType") != "Bundle" or not content.lstrip().startswith(b"{"):
            issues = [*issues, issue("D201", f"{path.name} is no bundle in JSON.", cause="D201")]
            return Sent("held back", issues)
        if issues:
            return Sent("held back", [i.at(file=path.name) for i in issues])
        out, found = self._ours(data)
        if out is not None:
            rows, traced = self._to.owners, self._practice.nhs_numbers == "traced only"
            found += held_up(out, self._to.endpoint, rows, traced, self._at)
        record = out.visit.number if out and out.visit else out.about.number if out else ""
        placed = [i.at(file=path.name, record=record) for i in found]
        if out is None or any(i.severity >= Severity.error for i in found):
            return Sent("held back", placed, record)
        sent = self._bring(path, content, out, dry)
        return replace(
            sent, issues=[*placed, *(i.at(file=path.name, record=record) for i in sent.issues)], record=record
        )

    def _ours(self, data: Json) -> tuple[Outgoing | None, list[Issue]]:
        """The bundle with what it tells, if this practice made it and nobody changed it since; else D201 or D202."""
        said, ids = about(data), Ids(self._practice.namespace)
        if said.kind == "ips":
            ours = data.get("identifier", {}).get("system") == ids.system("document")
            return (
                (Outgoing(data, said, None, _sharing(data)), list(_of_codes(data))) if ours else (None, [_not_ours()])
            )
        visits, issues = bundle_to_visits(data)
        if issues or len(visits) != 1:
            return None, [_not_ours()]
        visit, practice = visits[0], self._practice
        options = Options(practice.region, practice.codes == "licensed", practice.language, practice.clinic)
        if data["type"] == "document":
            again = build_document(visit, practice.namespace, practice.zone, said.kind or "summary", options)
        elif data["type"] == "transaction":
            again = build_transaction(visit, practice.namespace, practice.zone, options=options)
        else:
            again = build_collection(visit, practice.namespace, practice.zone, options=options)
        changed = list(_changed(data, again))
        return Outgoing(data, said, visit, visit.sharing), changed

    def _bring(self, path: Path, content: bytes, out: Outgoing, dry: bool) -> Sent:
        endpoint, digest = self._to.endpoint, hashlib.sha256(content).hexdigest()
        identifier = out.data.get("identifier") or {}
        document = str(identifier.get("value") or out.data.get("id") or "")
        place, before = self._receipt(path, document)
        if before and before.sha256 != digest and before.verdict in ("accepted", "in part", "in doubt"):
            text = f"Something else under this number went to {endpoint.name} before."
            return Sent("held back", [issue("D212", text, cause="D212")], receipt=place)
        if before and before.sha256 == digest and before.verdict == "accepted" and not self._again:
            text = f"{endpoint.name} has accepted this before, so it was not sent again."
            return Sent("sent before", [issue("D211", text, cause="D211")], receipt=place, place=before.place)
        if dry:
            return Sent("would be sent", receipt=place)
        organisation = next((row.organisation_code or row.key for row in self._to.owners), "")
        receipt = Receipt(digest, document, endpoint.takes, endpoint.name, endpoint.address, organisation)
        if before and before.sha256 == digest:
            receipt.tries, receipt.verdict = before.tries, before.verdict
            receipt.place, receipt.etag, receipt.entries = before.place, before.etag, before.entries
        wire, sign_in = self._ready()
        delivery = Delivery(endpoint, wire, sign_in, lambda kept: write_receipt(place, kept), self._clock, self._again)
        done = delivery.bring(out.data, content, receipt)
        issues = list(_told(done, endpoint, place))
        return Sent(receipt.verdict, issues, receipt=place, place=receipt.place, stopped=done.stopped)

    def _receipt(self, path: Path, document: str) -> tuple[Path, Receipt | None]:
        """Where the receipt is kept, never over that of another; and the earlier one of this document and server."""
        endpoint, folder, stem = self._to.endpoint, self._receipts or path.parent, _stem(path)
        for name in (stem, safe_stem(stem, apart=f"{document} {endpoint.address}")):
            place = folder / receipt_name(name, endpoint.name)
            before = read_receipt(place)
            if before is None or (before.document, before.address) == (document, endpoint.address):
                break
        return place, before

    def _ready(self) -> tuple[Wire, SignIn]:
        endpoint = self._to.endpoint
        if self._wire is None or self._sign_in is None:
            way = Way(
                endpoint.may_go, endpoint.seconds, self._file(endpoint.authority), self._file(endpoint.certificate)
            )
            if way.certificate and not only_for_its_owner(way.certificate):
                raise SettingsError(
                    "The certificate of this practice, with its key, can be read by others, and was not used.",
                    "Let only its owner read it (`chmod 600` and the path).",
                )
            what = {"token": "token", "smart": "key"}.get(endpoint.sign_in)
            kept = secret(f"send-{endpoint.name}-{what}", self._folder) if what else None
            self._wire = Wire(way)
            self._sign_in = SignIn(endpoint, kept, self._wire, lambda: self._clock.now().timestamp())
        return self._wire, self._sign_in

    def _file(self, name: str | None) -> Path | None:
        if name is None:
            return None
        path = self._folder / name
        if not path.is_file():
            raise SettingsError(
                f"The settings of {self._to.endpoint.name} name a file that is not there: {quoted(name)}."
            )
        return path


def _not_ours() -> Issue:
    return issue("D201", "This is no document that visit-bridge made for this practice.", cause="D201")


def _stem(path: Path) -> str:
    name = path.name
    for ending in (".bundle.json", ".json"):
        name = name.removesuffix(ending)
    return safe_stem(name)


def _sharing(data: Json) -> SharingConsent | None:
    """The consent to share of a client's whole record; None where there is not exactly one that can be read."""
    try:
        resources = [entry["resource"] for entry in data["entry"]]
        consents = [r for r in resources if r["resourceType"] == "Consent" and "policyRule" in r]
        index = Index(data, Addresses(data), resources)
        told = sharing_consent(index, None)
        found = SharingConsent.model_validate(told) if told else None
        return found if sum(map(_is_sharing, consents)) == 1 else None
    except (KeyError, TypeError, ValueError, AttributeError):
        return None


def _is_sharing(consent: Json) -> bool:
    return any(code.get("code") == "patient-privacy" for code in consent["scope"].get("coding", ()))


def _changed(data: Json, again: Json) -> Iterator[Issue]:
    """D202 for each entry that is not what visit-bridge makes of the visit that it tells.

    The letter itself tells more than a visit (red flags, what the cut kept, what a correction changed): of it the
    headings and what stands under them are compared, not the sentences. The tool's version may be another one.
    """
    entries, others = data["entry"], again["entry"]
    frame = [key for key in again if key != "entry" and data.get(key) != again[key]]
    if len(entries) != len(others) or frame or set(data) != set(again):
        yield issue(
            "D202", "This is not as visit-bridge made it: entries or the frame around them differ.", cause="D202"
        )
        return
    for number, (one, other) in enumerate(zip(entries, others, strict=True)):
        if _comparable(one) != _comparable(other):
            kind = other["resource"]["resourceType"]
            where = Where(path=f"Bundle.entry[{number}].resource")
            yield issue("D202", f"This {kind} is not as visit-bridge makes it from the rest.", where, cause="D202")


def _of_codes(record: Json) -> Iterator[Issue]:
    """D202 where a whole record has a code that lacks its name: it cannot be made again without the records."""
    for number, entry in enumerate(record["entry"]):
        resource = entry["resource"]
        if misnamed(resource):
            told = f"In this {resource['resourceType']} a code does not have the name that stands beside it."
            yield issue("D202", told, Where(path=f"Bundle.entry[{number}].resource"), cause="D202")


def _comparable(entry: Json) -> Json:
    resource = entry.get("resource")
    if not isinstance(resource, dict):
        return entry
    if resource.get("resourceType") == "Composition":
        sections = [{k: v for k, v in s.items() if k != "text"} for s in resource.get("section", ())]
        told = {"text": None, "section": [s for s in sections if "entry" in s or "section" in s]}
        return {**entry, "resource": {**resource, **told}}
    if resource.get("resourceType") == "Device":
        return {**entry, "resource": {**resource, "version": None, "text": None}}
    return entry


def _told(done: Delivered, endpoint: Endpoint, receipt: Path) -> Iterator[Issue]:
    name, why = endpoint.name, "".join(f" It says: {reason}." for reason in done.reasons[:5])
    if done.why == "":
        if done.found:
            yield issue("D229", f"{name} has it: it was there when it was asked.", cause="D229")
        elif done.reasons:
            yield issue("D231", f"{name} has accepted it with remarks.{why}", cause=f"D231:{why}")
    elif done.why == "entries":
        for entry in done.entries:
            said = "".join(f" It says: {reason}." for reason in entry.reasons[:5])
            status = f"HTTP {entry.status}" if entry.status else "no status"
            where = Where(path=f"Bundle.entry[{entry.number}].resource")
            yield issue("D227", f"{name} did not take this {entry.type} ({status}).{said}", where)
    else:
        status = f" (HTTP {done.status})" if done.status else ""
        kept = f" Its receipt is {receipt}." if done.stopped else ""
        yield issue(
            _RULES[done.why], f"{name}: {done.told}{status}.{why}{kept}", cause=f"{_RULES[done.why]}:{done.told}"
        )
