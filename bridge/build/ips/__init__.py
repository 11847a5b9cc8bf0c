"""From all visits of one client to one document: an International Patient Summary (IPS 2.0.0, HL7, hl7.fhir.uv.ips).

One Patient with the newest facts; the facts of each visit as its own document has them, under the guide's headings;
standing facts that visits tell alike once; and what a newer visit says otherwise in its newest state.
"""

from __future__ import annotations

from collections.abc import Sequence
from uuid import UUID
from zoneinfo import ZoneInfo

from bridge.build import PLAIN, Options, narrate
from bridge.build.context import Json
from bridge.build.finer_sites import with_finer_sites
from bridge.build.ips.claims import claim, claimed
from bridge.build.ips.composition import build_composition
from bridge.build.ips.gather import gather
from bridge.build.ips.plan import plan
from bridge.build.ips.same import once
from bridge.build.ips.settle import settle
from bridge.fhir.ids import reference
from bridge.fhir.tell.words import told_in
from bridge.fhir.times import to_instant
from bridge.one_client import in_order, moment
from bridge.visit import Visit
from bridge.wording import for_tag

__all__ = ["build_client_summary"]


def build_client_summary(visits: Sequence[Visit], namespace: UUID, zone: ZoneInfo, options: Options = PLAIN) -> Json:
    """The document Bundle of one client from coded visits in any order; of several versions the newest counts.

    The visits must be of one client (see `bridge.one_client`). The same visits give the same bytes.
    """
    with told_in(options.tag):
        return _build(in_order(visits, zone), namespace, zone, options)


def _build(visits: Sequence[Visit], namespace: UUID, zone: ZoneInfo, options: Options) -> Json:
    if not for_tag(options.tag).reviewed:
        visits = [v.model_copy(update={"approved": None}) for v in visits]
    told, context = gather(visits, namespace, zone, options)
    told = once(told)
    settle(told, visits)
    written = _written(visits, zone)
    composition = build_composition(context, told, visits, written)
    made = [composition, *(t.built for t in told if t.entry)]
    for built in made:
        if built.topic == "provenance":
            built.resource["target"].append(reference(composition.id))
    narrate(made)
    for built in made:
        claim(built)
    drafts = any(v.approved is None for v in visits)
    issue = context.ids.of("issue", plan().name, *(f"{v.number}/{v.version}" for v in visits))
    value = f"{plan().name}/{context.ids.client(context.visit.client)}/{issue}" + ("/draft" if drafts else "")
    bundle = {
        "resourceType": "Bundle",
        "id": context.ids.of("Bundle", value),
        "identifier": {"system": context.ids.system("document"), "value": value},
        "type": "document",
        "timestamp": to_instant(written, zone),
        "entry": [{"fullUrl": f"urn:uuid:{b.id}", "resource": b.resource} for b in made],
    }
    claimed(bundle, "Bundle-uv-ips")
    return with_finer_sites(bundle) if options.licensed else bundle


def _written(visits: Sequence[Visit], zone: ZoneInfo) -> str:
    """When the newest of the records was written, or approved where it is."""
    told = [(v.approved.at if v.approved else None) or v.recorded_at or v.start for v in visits]
    return max(told, key=lambda when: moment(when, zone))
