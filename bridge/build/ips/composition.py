"""The Composition of the summary: whose record it is, of which visits, who stands by it, and its sections."""

from __future__ import annotations

from collections.abc import Sequence

from bridge.build.context import Built, Context, Json, one
from bridge.build.ips.gather import Told
from bridge.build.ips.plan import plan
from bridge.build.ips.section import section
from bridge.fhir.ids import reference
from bridge.fhir.times import to_datetime
from bridge.same_clinic import of_another
from bridge.visit import Visit


def build_composition(context: Context, told: Sequence[Told], visits: Sequence[Visit], written: str) -> Built:
    """`context` is the newest visit's, `written` the moment that the newest of the records was written or approved."""
    shape, patient = plan(), context.ids.client(context.visit.client)
    clinic = _custodian(context, told)
    sections = [s for s in (section(heading, told, visits) for heading in shape.headings) if s]
    return Built(
        "composition",
        {
            "resourceType": "Composition",
            "id": context.ids.of("Composition", shape.name, patient),
            "language": context.language,
            "identifier": {"system": context.ids.system("letter"), "value": f"{shape.name}/{patient}"},
            "status": "final" if all(v.approved for v in visits) else "preliminary",
            "type": {**one(shape.type), "text": shape.title},
            "subject": context.patient,
            "date": to_datetime(written),
            "author": [*_authors(told, visits), context.device],
            "title": shape.title,
            **({"attester": attesters} if (attesters := _attesters(context, visits)) else {}),
            **({"custodian": reference(clinic.id)} if clinic else {}),
            "event": [{"code": [one("v3-ActClass:PCPR")], "period": _period(visits)}],
            "section": sections,
        },
    )


def _custodian(context: Context, told: Sequence[Told]) -> Built | None:
    """The practice's own clinic, whichever saw the client; the only one there is where nobody says which is own."""
    own = context.ids.of("Organization", "clinic")
    return next((t.built for t in told if t.built.id == own), None)


def _authors(told: Sequence[Told], visits: Sequence[Visit]) -> list[Json]:
    """Whoever saw the client, those of the newest visits first."""
    place = {visit.number: n for n, visit in enumerate(visits)}
    roles = [t for t in told if t.built.topic == "practitioner-role"]
    return [reference(t.built.id) for t in sorted(roles, key=lambda t: place[t.visits[-1].number], reverse=True)]


def _attesters(context: Context, visits: Sequence[Visit]) -> list[Json]:
    """Who approved the records that this is made of, and when; nobody while one of them is a draft, for who approved
    another stands by that one alone. Another clinic's people stand by their own documents."""
    if not all(v.approved for v in visits):
        return []
    own = [v for v in visits if not of_another(v.clinic, context.own)]
    approvals = dict.fromkeys((v.approved.by, v.approved.at) for v in reversed(own) if v.approved)
    return [
        {"mode": "professional", "time": to_datetime(at), "party": context.practitioner(by)} for by, at in approvals
    ]


def _period(visits: Sequence[Visit]) -> Json:
    return {"start": to_datetime(visits[0].start), "end": to_datetime(visits[-1].end or visits[-1].start)}
