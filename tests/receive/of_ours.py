"""Documents of ours as they may arrive: of every kind, region, language and version, through the cut, with red flags,
of another clinic, in every form of data. What happened to them on their way is nothing."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from itertools import product
from typing import Any, Literal
from zoneinfo import ZoneInfo

from bridge.build import Options, build_collection, build_document, build_transaction
from bridge.cda import write_cda
from bridge.check.clinical import load_rules
from bridge.check.clinical.flags import look, named_services
from bridge.cut import Cut, as_shown, cut, own_copy
from bridge.fhir.ndjson import dump_lines
from bridge.fhir.write_json import dumps
from bridge.fhir.write_xml import write_xml
from bridge.shapes import Alert
from bridge.visit import Clinic, Visit
from tests import generate
from tests.own_elements import REGIONS
from tests.test_round_trip import NAMESPACE

Letter = Literal["summary", "referral", "client", "record"]
LETTERS: tuple[Letter, ...] = ("summary", "referral", "client", "record")
LANGUAGES = ("", "en", "de")
CLOCKS = {
    "Europe/London": "+00:00", "Europe/Berlin": "+01:00", "America/New_York": "-05:00", "Asia/Kolkata": "+05:30",
}  # fmt: skip
"""Zones and how far they are from Greenwich in November, when the generated visits are."""
FORMS: dict[str, Callable[[Any], bytes]] = {"json": dumps, "xml": write_xml, "cda": write_cda}


def document(seed: int) -> dict[str, Any]:
    """As visit-bridge would send it for a generated record."""
    rng = random.Random(seed)
    visit, letter, options, zone = _given(rng, seed)
    earlier = _earlier(visit, rng) if visit.replaces and rng.random() < 0.7 else None
    shown = _shown(visit, letter)
    if earlier:
        earlier = own_copy(earlier).visit if letter == "record" else as_shown(earlier, visit, letter)
    return build_document(shown.visit, NAMESPACE, zone, letter, options, _flags(visit, rng), shown.left, earlier)


def other_bundle(seed: int) -> dict[str, Any]:
    """A collection or a transaction."""
    rng = random.Random(seed)
    visit, _, options, zone = _given(rng, seed)
    if seed % 2:
        return build_collection(visit, NAMESPACE, zone, options=options)
    earlier = _earlier(visit, rng) if visit.replaces else None
    return build_transaction(visit, NAMESPACE, zone, options=options, alerts=_flags(visit, rng), earlier=earlier)


def written(bundle: dict[str, Any], seed: int) -> bytes:
    """In one of the forms of data."""
    if bundle["type"] == "document":
        return FORMS[sorted(FORMS)[seed % len(FORMS)]](bundle)
    return dump_lines(bundle) if bundle["type"] == "collection" and seed % 4 == 1 else dumps(bundle)


def _given(rng: random.Random, seed: int) -> tuple[Visit, Letter, Options, ZoneInfo]:
    visit = generate.visit(rng, fill=0.3 + 0.6 * (seed % 7) / 7)
    zone = rng.choice(sorted(CLOCKS))
    visit = Visit.model_validate_json(visit.model_dump_json().replace("+00:00", CLOCKS[zone]))
    own = rng.choice((None, visit.clinic, Clinic(name="Alder Hearing")))
    options = Options(rng.choice(REGIONS), rng.random() < 0.4, rng.choice(LANGUAGES), own)
    return visit, rng.choice(LETTERS), options, ZoneInfo(zone)


def _shown(visit: Visit, letter: Letter) -> Cut:
    return Cut(own_copy(visit).visit, {}) if letter == "record" else cut(visit, letter)


def _earlier(visit: Visit, rng: random.Random) -> Visit:
    """A version before, which says much the same: or another, of the same client or of somebody else."""
    other = generate.visit(rng, fill=0.5)
    kept = {"number": visit.number, "version": visit.replaces, "replaces": None}
    if rng.random() < 0.5:
        some = ("advice", "right", "reasons", "note", "follow_up", "not_referred", "family_doctor", "sharing")
        changed = {name: getattr(other, name) for name in rng.sample(some, 3)}
        return visit.model_copy(update={**changed, **kept})
    return other.model_copy(update={**kept, **({"client": visit.client} if rng.random() < 0.7 else {})})


def _flags(visit: Visit, rng: random.Random) -> list[Alert]:
    """Those that stand by the rules, and some that could."""
    reasons = ("", visit.not_referred.reason) if visit.not_referred else ("",)
    shipped = [r for r in load_rules() if r.flag and "{" not in r.message]
    found = [
        Alert(r.code, r.flag, None, r.urgency, r.message, r.source, named_services(r.to))
        for r in rng.sample(shipped, rng.choice((0, 0, 1, 3)))
    ]
    ears: tuple[Any, ...] = (None, "left", "right")
    alike = [*product(ears, reasons, (False, True))]
    told = [replace(one, ear=e, answered=a, slower=s) for one in found for e, a, s in (rng.choice(alike),)]
    return [*look(visit, load_rules()).alerts, *told]
