"""A bundle of another system, read whole: the order of the steps."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import Any

from bridge.fhir.in_force import modified
from bridge.issues import Where, issue
from bridge.receive.foreign.accounts import account, keep, told
from bridge.receive.foreign.addresses import Addresses
from bridge.receive.foreign.clients import CLINICAL, encounter_of, restricted, subject
from bridge.receive.foreign.encounters import number_of
from bridge.receive.foreign.facts import Case, ask
from bridge.receive.foreign.headings import not_today
from bridge.receive.foreign.nodes import Taking, root
from bridge.receive.foreign.patient import client
from bridge.receive.foreign.shapes import Foreign
from bridge.receive.foreign.sides import site_of
from bridge.receive.foreign.sources import Source, around, sources
from bridge.receive.foreign.visits import visit_of
from bridge.visit import Client

READ = ("document", "collection", "searchset", "transaction", "batch")
"""Types of bundle whose entries are what they say. A history holds versions that were replaced, a response no facts;
what a message means is told by its event."""


def read_foreign(bundle: Any) -> Foreign:
    """Visits, kept resources, account and issues of any data that `bridge.fhir.received` gives; never raises.

    A Bundle of any type, or a single resource. NDJSON comes as a collection. No visit is made of types other than
    `READ`, of a document that its author took back, or of what is in doubt: that is kept, with an issue that says why.
    """
    found = sources(bundle)
    foreign = Foreign()
    run = _Run(foreign, found)
    if _readable(bundle, found, foreign):
        run.read(document=bundle.get("type") == "document")
    foreign.account = account(bundle, found)
    keep(foreign, found, run.kept_of())
    foreign.issues += told(found, foreign, run.owners)
    return foreign


def clients_in(bundle: Any) -> list[Client | None]:
    """Every Patient of a bundle as a client; None for one whose name cannot be read."""
    return [client(root(source), Taking()) for source in sources(bundle) if source.type == "Patient"]


def _readable(bundle: Any, found: list[Source], foreign: Foreign) -> bool:
    """Whether the entries of a bundle may be taken for what they say."""
    if not isinstance(bundle, dict) or bundle.get("resourceType") != "Bundle":
        return False
    if bundle.get("type") not in READ:
        said = "No visit is read from a bundle of this type: what its entries mean is not said by themselves."
        foreign.issues.append(issue("X158", said, Where(path="Bundle.type"), cause="X158"))
        return False
    if modified(around(bundle)):
        said = "The bundle carries a modifier that nobody here can read, so no visit is made of it."
        foreign.issues.append(issue("X152", said, Where(path="Bundle"), cause="X152"))
        return False
    document = found[0] if bundle.get("type") == "document" and found else None
    if document and (document.resource.get("status") not in ("final", "amended") or document.modified):
        said = "The document is not final, was taken back, or carries a modifier: no visit is made of it."
        foreign.issues.append(ask("X163", document, said))
        return False
    return True


@dataclass
class _Run:
    foreign: Foreign
    found: list[Source]
    owners: dict[int, Source] = field(default_factory=dict)
    """The client of each resource, by its number."""
    visits: dict[int, tuple[int, ...]] = field(default_factory=dict)
    """The places of the visits of each client."""
    nobodys: list[int] = field(default_factory=list)
    """Resources of types that are about nobody: organisations, practitioners, places."""

    def read(self, *, document: bool) -> None:
        addresses = Addresses(self.found)
        for source in self.found:
            self._owner(source, addresses)
        headings = not_today(self.found, addresses)
        mine: dict[int, list[Source]] = {}
        for number, owner in self.owners.items():
            mine.setdefault(owner.number, []).append(self.found[number])
        numbers = Counter(filter(None, (number_of(root(s)) for s in self.found if s.type == "Encounter")))
        for owner in [s for s in self.found if s.number in mine]:
            self._died(owner)
            before = len(self.foreign.visits)
            encounters = [s for s in mine[owner.number] if s.type == "Encounter"]
            alone = document and len(encounters) == 1
            allergies = sum(s.type == "AllergyIntolerance" for s in mine[owner.number])
            for encounter, belonging in _apart(encounters, mine[owner.number], addresses, alone):
                case = Case(root(encounter), addresses, headings, lonely_allergy=allergies <= 1)
                if encounter.number in addresses.twice or numbers[number_of(root(encounter))] > 1:
                    said = "No visit is made of this Encounter: another one has the same number or address."
                    case.ask("X151", case.encounter, said)
                elif visit := visit_of(case, owner, belonging):
                    self.foreign.visits.append(visit)
                self.foreign.issues += case.issues
            self.visits[owner.number] = tuple(range(before, len(self.foreign.visits)))
            if not encounters:
                self._no_visit(mine[owner.number], addresses)

    def _no_visit(self, mine: list[Source], addresses: Addresses) -> None:
        """X161 where facts of an ear came without any encounter."""
        for source in mine:
            if source.type in ("Condition", "Observation", "Procedure"):
                node = root(source)
                site = site_of(node, [node.at("code"), node.at("valueCodeableConcept")], addresses, Taking())
                if site.ears or site.at_odds:
                    said = "Facts of an ear came for this client, and no encounter that a visit could be made of."
                    self.foreign.issues.append(ask("X161", source, said))
                    return

    def kept_of(self) -> dict[int, tuple[int, ...]]:
        """The visits of the client of each resource; where there is one client only, also for what is about nobody."""
        found = {number: self.visits.get(owner.number, ()) for number, owner in self.owners.items()}
        if len(self.visits) == 1:
            only = next(iter(self.visits.values()))
            found |= dict.fromkeys(self.nobodys, only)
        return found

    def _owner(self, source: Source, addresses: Addresses) -> None:
        if source.readable and source.modified:
            said = f"This {source.type} carries a modifier that nobody here can read. It is kept as it came."
            self.foreign.issues.append(ask("X152", source, said))
        if source.number in addresses.twice:
            said = f"There is more than one {source.type} under this address. They are kept as they came."
            self.foreign.issues.append(ask("X157", source, said))
        if restricted(root(source)):
            said = f"The sender marked this {source.type} as restricted, or as made up for a test."
            self.foreign.issues.append(ask("X164", source, said))
        owner = subject(source, addresses)
        if isinstance(owner, Source) and owner.readable and owner.number not in addresses.twice:
            self.owners[source.number] = owner
        elif owner is None:
            self.nobodys.append(source.number)
        elif owner and source.type in CLINICAL:
            said = f"It is not clear which client of this bundle this {source.type} is about, so it is in no visit."
            self.foreign.issues.append(ask("X155", source, said))

    def _died(self, owner: Source) -> None:
        keys = [key for key in owner.resource if key.startswith("deceased")]
        if keys and owner.resource[keys[0]] is not False:
            said = "The record says that this client has died. A visit has no field for that."
            self.foreign.issues.append(ask("X160", owner, said))


def _apart(
    encounters: list[Source], mine: list[Source], addresses: Addresses, alone: bool
) -> list[tuple[Source, list[Source]]]:
    """Each encounter with the resources that name it, and with those that name none where it is the only one."""
    named: dict[int, list[Source]] = {encounter.number: [] for encounter in encounters}
    for source in mine:
        of = encounter_of(source, addresses)
        if isinstance(of, Source) and of.number in named:
            named[of.number].append(source)
        elif of == "none" and alone:
            named[encounters[0].number].append(source)
    return [(encounter, named[encounter.number]) for encounter in encounters if encounter.readable]
