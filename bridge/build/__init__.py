"""From a coded visit to R4 resources, and to the bundles that carry them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID
from zoneinfo import ZoneInfo

from bridge.build.allergy import build_allergies
from bridge.build.bundle import collection, document, transaction
from bridge.build.caution import build_cautions
from bridge.build.composition import build_composition
from bridge.build.condition import build_conditions
from bridge.build.consent import build_sharing_consent, build_treatment_consent
from bridge.build.context import HOME, Built, Context, Json
from bridge.build.encounter import build_encounter
from bridge.build.examination import build_examinations
from bridge.build.finer_sites import with_finer_sites
from bridge.build.hearing import build_hearing
from bridge.build.hearing_aid import build_hearing_aids
from bridge.build.image import build_images
from bridge.build.narrative import narrative
from bridge.build.organization import build_clinic, build_family_doctor
from bridge.build.past_event import build_history
from bridge.build.patient import build_patient
from bridge.build.plan import build_advice, build_follow_up
from bridge.build.practitioner import build_practitioners
from bridge.build.procedure import build_procedures
from bridge.build.product import build_medicines, build_products
from bridge.build.provenance import build_device, build_provenance
from bridge.build.recipient import build_recipient
from bridge.build.referral import build_referral
from bridge.build.related_person import build_related_persons
from bridge.build.request import build_requests
from bridge.build.stand_in import build_approval, build_empty_lists
from bridge.build.told import build_access_needs, build_notes, build_symptoms
from bridge.fhir.ids import Ids
from bridge.fhir.tell.words import told_in
from bridge.regions import document_language, region
from bridge.shapes import Alert
from bridge.visit import Clinic, Visit
from bridge.wording import for_tag

__all__ = ["Options", "build_collection", "build_document", "build_transaction"]


@dataclass(frozen=True, slots=True)
class Options:
    """By whose rules a visit goes out, whether codes that want a licence may be written, and in which language."""

    region: str = HOME
    licensed: bool = False
    language: str = ""
    """Language tag without the country (`en`); empty for the region's own."""
    own: Clinic | None = None
    """The practice's own clinic: visits that name another stay that one's."""

    @property
    def tag(self) -> str:
        """Language tag of what is written: `en-GB`."""
        return document_language(region(self.region), self.language)


PLAIN = Options()


def build_document(
    visit: Visit,
    namespace: UUID,
    zone: ZoneInfo,
    kind: str = "summary",
    options: Options = PLAIN,
    alerts: Sequence[Alert] = (),
    left: Mapping[str, int] | None = None,
    earlier: Visit | None = None,
) -> Json:
    """The document Bundle of a coded visit by the section plan `kind` of its region.

    `alerts`: red flags that stand. Those to be seen at once are told before everything else.
    `left`: what the recipient's cut left with the clinic, as `bridge.cut` tells it.
    `earlier`: the version that a correction replaces, where it is known, through the same cut.
    """
    with told_in(options.tag):
        context = resources(visit, namespace, zone, options, alerts, left, earlier)
        composition = build_composition(context, kind)
        build_provenance(context, kind)
        _claim_and_narrate(context)
    return _finished(context, document(context, composition, kind))


def build_transaction(
    visit: Visit,
    namespace: UUID,
    zone: ZoneInfo,
    kind: str = "summary",
    options: Options = PLAIN,
    alerts: Sequence[Alert] = (),
    earlier: Visit | None = None,
) -> Json:
    """The same resources as a transaction for a FHIR server, the Composition among them."""
    with told_in(options.tag):
        context = resources(visit, namespace, zone, options, alerts, earlier=earlier)
        build_composition(context, kind)
        build_provenance(context)
        _claim_and_narrate(context)
    return _finished(context, transaction(context))


def build_collection(
    visit: Visit, namespace: UUID, zone: ZoneInfo, kind: str = "summary", options: Options = PLAIN
) -> Json:
    """The same resources as a collection without the Composition; what only that says stands in their own right."""
    with told_in(options.tag):
        context = resources(visit, namespace, zone, options)
        composition = build_composition(context, kind)
        context.built.remove(composition)
        build_empty_lists(context, composition.resource)
        build_approval(context, build_provenance(context))
        _claim_and_narrate(context)
    return _finished(context, collection(context))


def resources(
    visit: Visit,
    namespace: UUID,
    zone: ZoneInfo,
    options: Options = PLAIN,
    alerts: Sequence[Alert] = (),
    left: Mapping[str, int] | None = None,
    earlier: Visit | None = None,
) -> Context:
    """Everything but Composition and Provenance, each after what it refers to where order matters.

    Nobody can have approved what stands in a language that nobody has reviewed: it is a draft.
    """
    if visit.approved and not for_tag(options.tag).reviewed:
        visit = visit.model_copy(update={"approved": None})
    before = resources(earlier, namespace, zone, options) if earlier else None
    ids, pack = Ids(namespace), region(options.region)
    said = tuple(alerts), left or {}, options.own, before
    context = Context(visit, ids, zone, pack, options.tag, options.licensed, *said)
    build_clinic(context)
    build_family_doctor(context)
    build_recipient(context)
    build_practitioners(context)
    build_patient(context)
    build_related_persons(context)
    build_encounter(context)
    build_treatment_consent(context)
    build_sharing_consent(context)
    build_symptoms(context)
    build_hearing_aids(context)
    build_access_needs(context)
    build_examinations(context)
    build_hearing(context)
    build_images(context)
    build_conditions(context)
    build_procedures(context)
    build_products(context)
    build_history(context)
    build_cautions(context)
    build_medicines(context)
    build_allergies(context)
    build_notes(context)
    build_advice(context)
    build_follow_up(context)
    build_requests(context)
    build_referral(context)
    build_device(context)
    return context


def narrate(made: Iterable[Built]) -> None:
    """Gives every resource its text, behind its id, meta and language as the standard orders the members."""
    for built in made:
        resource = built.resource
        members = {k: resource.pop(k) for k in list(resource) if k not in ("resourceType", "id")}
        first: Json = {k: members.pop(k) for k in ("meta", "language") if k in members}
        text = narrative({"resourceType": resource["resourceType"], **members})
        resource.update({**first, "text": text, **members})


def _claim_and_narrate(context: Context) -> None:
    """Every resource claims the profile that its region has for its type, and gets its text."""
    for built in context.built:
        built.resource.update(_claim(context, built.resource["resourceType"]))
    narrate(context.built)


def _claim(context: Context, type: str) -> Json:
    profile = context.region.profiles.get(type)
    return {"meta": {"profile": [profile]}} if profile else {}


def _finished(context: Context, bundle: Json) -> Json:
    """The bundle with the claim of its own, behind its id; with finer body sites where they may be written."""
    sited: Json = with_finer_sites(bundle) if context.licensed else bundle
    members = {k: v for k, v in sited.items() if k not in ("resourceType", "id")}
    return {"resourceType": "Bundle", "id": sited["id"], **_claim(context, "Bundle"), **members}
