"""Composition: the letter's order of facts, by a section plan."""

from __future__ import annotations

from bridge.build.alert import any_open, attention
from bridge.build.changes import changes
from bridge.build.context import Built, Context, Json, one
from bridge.build.copies import copies
from bridge.build.for_client import flagged, plain_facts, told_others
from bridge.build.kept import kept
from bridge.build.narrative import generated, said, said_in_list, said_in_turn, section_narrative
from bridge.build.plan_of_sections import DocumentPlan, SectionPlan, document_plan
from bridge.build.practitioner import role_id
from bridge.fhir.ids import reference
from bridge.fhir.letter_kind import CLIENT, RECORD
from bridge.fhir.own import coding, fixed, word
from bridge.fhir.tell.by_ear import xhtml
from bridge.fhir.tell.words import label
from bridge.fhir.times import to_datetime
from bridge.visit.people import FamilyDoctor
from bridge.wording import say

ALERT, CHANGES, COPIES, KEPT = WORDS_ALONE = "alert", "changes", "copies", "kept"
"""Sections that hold words and no facts."""
AS_TOLD = ("doctor", "reason", "people", "history", "needs", "medications", "allergies", "consent", "sharing", "author")
"""What the client told us, or knows better than we do: told to them as to anybody."""


def build_composition(context: Context, kind: str) -> Built:
    plan = document_plan(context.region.name, kind, licensed=context.licensed)
    visit = context.visit
    identifier = {"system": context.ids.system("letter"), "value": f"{plan.name}/{visit.number}"}
    authors = [reference(role_id(context, p.key)) for p in visit.practitioners]
    status = "preliminary" if not visit.approved else "amended" if visit.version > 1 else "final"
    replaces = (
        {
            "relatesTo": [
                {
                    "code": "replaces",
                    "targetIdentifier": context.ids.issue_identifier(visit, plan.name, visit.replaces),
                }
            ]
        }
        if visit.replaces
        else {}
    )
    attester = (
        {
            "attester": [
                {
                    "mode": "professional",
                    "time": to_datetime(visit.approved.at),
                    "party": context.practitioner(visit.approved.by),
                }
            ]
        }
        if visit.approved
        else {}
    )
    sections = [s for s in (_section(context, row, plan.name == CLIENT) for row in plan.sections) if s]
    sections = _with_changes(context, plan, sections)
    return context.make(
        "composition",
        "Composition",
        (plan.name,),
        {
            "language": context.language,
            "identifier": identifier,
            "status": status,
            "type": _type(plan),
            "subject": context.patient,
            "encounter": context.encounter,
            "date": to_datetime(visit.recorded_at or visit.start),
            "author": [*authors, context.device],
            "title": plan.title,
            **attester,
            **({"custodian": context.clinic} if visit.clinic else {}),
            **replaces,
            "section": sections,
        },
    )


def _with_changes(context: Context, plan: DocumentPlan, sections: list[Json]) -> list[Json]:
    """The sections with the one that says what changed in its place, where the letter replaces another."""
    row = next((row for row in plan.sections if row.key == CHANGES), None)
    earlier = context.earlier
    before = _answers(earlier, plan) if earlier else []
    said = changes(context, _answers(context, plan), earlier, before, plainly=plan.name == CLIENT)
    if row is None or not said:
        return sections
    keys = {r.key for r in plan.sections[: plan.sections.index(row)]}
    at = sum(word("section", s["code"]) in keys for s in sections)
    made = {**_head(row), "text": said_in_list(said)}
    return [*sections[:at], made, *sections[at:]]


def _answers(context: Context, plan: DocumentPlan) -> list[str]:
    """What the letter says under headings without facts, and who gets which letter."""
    built = {b.topic for b in context.built}
    bare = [row for row in plan.sections if row.key not in WORDS_ALONE and not built & set(row.topics)]
    empty = ((row.title, _nothing(context, row)) for row in bare)
    told = told_others(context) if plan.name == CLIENT else copies(context)
    return [*(say("changes.answer", title=t, said=e["text"]) for t, e in empty if e), *told]


def _type(plan: DocumentPlan) -> Json:
    if plan.name == CLIENT:
        return fixed("document", CLIENT, plan.title)
    if plan.name == RECORD:
        own = fixed("document", RECORD)["coding"][-1]
        return {"coding": [*one(plan.type)["coding"], own], "text": plan.title}
    return {**one(plan.type), "text": plan.title}


def _head(plan: SectionPlan) -> Json:
    codes = [*map(coding, plan.codes), *fixed("section", plan.key)["coding"]]
    return {"title": plan.title, "code": {"coding": codes, "text": plan.title}}


def _section(context: Context, plan: SectionPlan, plainly: bool) -> Json | None:
    """`plainly`: for the client, in words without terms of the trade."""
    head = _head(plan)
    codes = head["code"]["coding"]
    entries = [b for topic in plan.topics for b in context.built if b.topic == topic]
    if entries:
        lay = plainly and plan.key not in AS_TOLD
        text = generated(xhtml(plain_facts(entries))) if lay else section_narrative(entries)
        return {**head, "text": text, "entry": [reference(b.id) for b in entries]}
    if plan.key == ALERT:
        return _attention(context, plan, codes, flagged(context) if plainly else attention(context))
    if plan.key == COPIES:
        told = told_others(context) if plainly else copies(context)
        return {**head, "text": said_in_list(told)} if told else None
    if plan.key == KEPT:
        behind = kept(context.left)
        return {**head, "text": said(behind)} if behind else None
    empty = _nothing(context, plan)
    if empty is None:
        return None
    reason = {"coding": [coding(f"list-empty-reason:{empty['reason']}")], "text": empty["text"]}
    return {**head, "text": said(empty["text"]), "emptyReason": reason}


def _attention(context: Context, plan: SectionPlan, codes: list[Json], told: list[str]) -> Json | None:
    """Red flags that stand, in words; under another title where the record says of each why nobody was asked."""
    title = plan.title if any_open(context) else plan.answered_title
    return {"title": title, "code": {"coding": codes, "text": title}, "text": said_in_turn(told)} if told else None


def _nothing(context: Context, plan: SectionPlan) -> dict[str, str] | None:
    """What to say under a heading without facts; None leaves an optional heading out."""
    visit = context.visit
    if plan.key == "actions" and visit.no_request:
        return plan.asked
    if plan.key == "sharing" and visit.sharing and visit.sharing.status == "not asked":
        return {**plan.asked, **({"text": visit.sharing.reason} if visit.sharing.reason else {})}
    if plan.key == "allergies" and visit.allergies and visit.allergies.answer:
        return plan.asked if visit.allergies.answer == "not asked" else plan.none
    if plan.key == "medications" and visit.medicines and visit.medicines.answer:
        return plan.asked if visit.medicines.answer == "not asked" else plan.none
    if plan.key == "doctor" and visit.family_doctor:
        return _no_practice(visit.family_doctor)
    if plan.need != "M":
        return None
    noted = any(b.topic in ("visit-note", "ear-note") for b in context.built)
    return plan.noted if noted and plan.noted else plan.empty


def _no_practice(doctor: FamilyDoctor) -> dict[str, str]:
    """Why there is no practice to name: the client has none, or which it is is not known."""
    said = label(fixed("doctor", doctor.answer)) + (f" ({doctor.note})" if doctor.note else "")
    return {"reason": "nilknown" if doctor.answer == "none" else "unavailable", "text": said}
