"""General advice and the signs with which to get help, by mappings/client: beside what the record says, never instead.

They are fixed words with their sources; which advice is given depends on what the record holds.
"""

from __future__ import annotations

from dataclasses import dataclass

from bridge.data import load_csv, table_path
from bridge.fhir.own import own_code, word
from bridge.fhir.plain.ahead import helpers
from bridge.fhir.tell.around import is_past_event
from bridge.fhir.tell.by_ear import stage
from bridge.fhir.tell.clinical import nothing_done
from bridge.fhir.tell.observation import kind_of, parts
from bridge.fhir.tell.words import label, sentence
from bridge.render.entries import Entries
from bridge.shapes import Json
from bridge.wording import say

_SOON = ("emergency", "today", "days")
_UNPUBLISHED = ("common practice", "memory")


@dataclass(frozen=True, slots=True)
class General:
    aftercare: list[str]
    signs: list[tuple[str, list[str]]]
    """How soon and where to get help, and the signs."""
    sources: str
    """Where both come from, for the small print."""


def general(entries: Entries) -> General:
    """What fits the visit."""
    known = _concepts(entries)
    holds = {
        "seen": any(stage(r) for r in entries.resources),
        "worked": any(r.get("status") in ("completed", "stopped") for r in _work(entries)),
        "left": _left(entries),
        "aid": bool(entries.of("DeviceUseStatement")),
    }
    told = {own_code(c.get("topic")) for c in entries.of("Communication") if c.get("status") != "not-done"}
    fits = [
        row
        for row in load_csv(table_path("client", "aftercare.csv"))
        if (known & set(row["concepts"].split()) if row["when"] == "signs" else holds[row["when"]])
        and not told & set(row["instead"].split())
    ]
    signs = [*load_csv(table_path("client", "signs.csv"))]
    return General(
        [say(f"copy.aftercare.{row['advice']}") for row in fits],
        [
            (_where(soon, entries), [say(f"copy.sign.{s['sign']}") for s in signs if s["soon"] == soon])
            for soon in _SOON
        ],
        _sources([*fits, *signs]),
    )


def _where(soon: str, entries: Entries) -> str:
    """How soon, and where to go: by phone to the clinic, and where it is closed."""
    region = entries.region.name
    if soon == "emergency":
        return say("copy.help.emergency", how=helpers("emergency", region))
    clinic = entries.get(entries.composition.get("custodian")) or {}
    phone = next((str(p["value"]) for p in clinic.get("telecom", ()) if _is_phone(p)), "")
    if soon == "days":
        return say("copy.help.days", phone=phone) if phone else say("copy.help.days.none")
    return say("copy.help.today", how=f"{_call(clinic, phone)} {helpers('urgent', region)}")


def _call(clinic: Json, phone: str) -> str:
    hours = "; ".join(label(c["purpose"]) for c in clinic.get("contact", ()) if c.get("purpose"))
    if not phone:
        return say("copy.help.call.none")
    return say("copy.help.call.hours", phone=phone, hours=hours) if hours else say("copy.help.call", phone=phone)


def _is_phone(point: Json) -> bool:
    return point.get("system") == "phone" and bool(point.get("value"))


def _work(entries: Entries) -> list[Json]:
    return [r for r in entries.of("Procedure") if not is_past_event(r) and not nothing_done(r)]


def _left(entries: Entries) -> bool:
    """Whether wax was seen after the work, or the work did not come to its end."""
    wax = [r for r in entries.of("Observation") if kind_of(r) == "wax-state" and stage(r) == "after"]
    seen = (own_code(r.get("valueCodeableConcept")) for r in wax)
    ended = {own_code(r.get("outcome")) for r in _work(entries)}
    return any(code and code != "wax-none" for code in seen) or bool(ended & {"outcome-partial", "outcome-stopped"})


def _concepts(entries: Entries) -> set[str]:
    """What is recorded of an ear now, were it only suspected; not what was denied or ruled out."""
    found: set[str] = set()
    for resource in entries.resources:
        concepts = [resource.get("valueCodeableConcept"), resource.get("code")]
        denied = word("assertion", concepts[0]) in ("absent", "past") or _refuted(resource)
        asked = parts(resource).get("finding-in-question", ()) if resource["resourceType"] == "Observation" else ()
        concepts += [c.get("valueCodeableConcept") for c in asked]
        found |= set() if denied else {code for c in concepts if (code := own_code(c))}
    return found


def _refuted(resource: Json) -> bool:
    status = resource.get("verificationStatus") or {}
    return any(c.get("code") == "refuted" for c in status.get("coding", ()))


def _sources(rows: list[dict[str, str]]) -> str:
    """Publications in the order of the tables; what none of them says is called common practice."""
    known = {row["id"]: row for row in load_csv(table_path("clinical", "sources.csv"))}
    named = [known[row["source"]] for row in rows]
    published = [
        f"{s['publisher']}: {s['title'].partition(',')[0]}" for s in named if s["how_seen"] not in _UNPUBLISHED
    ]
    common = [say("copy.closing.common")] if any(s["how_seen"] in _UNPUBLISHED for s in named) else []
    return sentence("; ".join([*dict.fromkeys(published), *common])).rstrip(".")
