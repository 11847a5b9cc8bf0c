"""Observations of another system: findings of one ear, symptoms, hearing thresholds, notes."""

from __future__ import annotations

from decimal import Decimal

from bridge.fhir.systems import LOINC, SCT
from bridge.phrases.sides import side_words
from bridge.receive.foreign.facts import Case, Fact, doubted, sided
from bridge.receive.foreign.moments import stage, within
from bridge.receive.foreign.nodes import Node, Taking, decimal, valid
from bridge.receive.foreign.sides import Site, site_of
from bridge.receive.foreign.statements import doubt, doubt_around, standing
from bridge.receive.foreign.tables import denying_mark, kinds_of_codes, thresholds
from bridge.visit.ear import Finding, Symptom, Threshold

_FIELDS = {
    "contents": "contents",
    "canal": "canal",
    "drum": "drum",
    "outer-ear": "outer_ear",
    "cavity": "mastoid_cavity",
}
_PRESENT, _ABSENT, _NORMAL = "52101004", "2667000", "17621005"
"""Codes of SNOMED CT that answer whether something is there (qualifier values)."""
_EXAMINATIONS = {(LOINC, "8698-3"), (LOINC, "32428-5")}
"""LOINC: physical findings of ear, of external ear."""
_MARK = 5
"""Letters up to which a value may be a mere sign for no."""
_LEVELS = ("dB", "dB[HL]", "dB HL", "dBHL")


def read_observation(node: Node, case: Case) -> list[Fact]:
    take = Taking()
    if standing(node, take) != "stated" or case.not_today.get(node.source.number):
        return []
    if node.any("focus", "dataAbsentReason", "specimen", "_valueBoolean", "_valueString"):
        return []
    if within(node, "effective", case.encounter) not in ("in", "untold"):
        return []
    if found := _hearing(node, case, take):
        return found
    if node.any("component", "interpretation") or not node.has("code"):
        return []
    value, said = node.at("valueCodeableConcept"), _answer(node)
    about = [node.at("code"), *([value] if value.data is not None else [])]
    site = site_of(node, about, case.addresses, take)
    if not sided(node, site, case):
        return []
    if node.has("valueString"):
        return _note(node, site, case, take)
    finding = node.at("code") if said in ("present", "absent") else value
    if finding.data is None or said == "unknown":
        return []
    if doubt(finding) or doubt_around(node) or (finding is value and doubt(node.at("code"))):
        doubted(node, case)
        return []
    if said == "normal":
        return _normal(site, node, case, take)
    if finding is value and not _examined(node):
        return []
    field = _field(finding, site)
    term = take.term(finding, said or "present")
    if not field or not term:
        return []
    take.mean(node, "valueBoolean")
    return _facts(node, field, {"term": term}, site, case, take)


def _answer(node: Node) -> str:
    """`present`, `absent`, `normal` or `unknown` where the value only answers; empty where it says what was found."""
    if node.has("valueBoolean"):
        answers = {True: "present", False: "absent"}
        told = node.at("valueBoolean").data
        return answers[told] if isinstance(told, bool) else "unknown"
    value = node.at("valueCodeableConcept")
    codes = set(value.codes())
    named = [
        answer
        for code, answer in ((_PRESENT, "present"), (_ABSENT, "absent"), (_NORMAL, "normal"))
        if (SCT, code) in codes
    ]
    if named:
        return named[0] if len(codes) == 1 else "unknown"
    words = value.words().strip().casefold()
    if words in ("", "unknown", "present", "absent", "positive", "negative", "yes", "no", "normal", "nad", "detected"):
        return "unknown"
    return "unknown" if len(words) <= _MARK and denying_mark().search(words) else ""


def _examined(node: Node) -> bool:
    """Whether the value says what was seen in an examination; other questions may have findings as answers too."""
    exam = any("exam" in {code for _, code in category.codes()} for category in node.each("category"))
    return exam or bool(_EXAMINATIONS & set(node.at("code").codes()))


def _field(finding: Node, site: Site) -> str:
    """The field that the code of a finding belongs to, or the body site, where both agree or one is silent."""
    kinds: frozenset[str] = frozenset()
    for code in finding.codes():
        kinds |= kinds_of_codes().get(code, frozenset())
    fields = {_FIELDS[kind] for kind in kinds if kind in _FIELDS} | ({"wax"} if "wax-amount" in kinds else set())
    if site.field and (not fields or site.field in fields):
        return site.field
    if len(fields) == 1:
        only = fields.pop()
        return only if not site.field or (site.field, only) in _TOGETHER else ""
    return "symptoms" if not fields and "symptom" in kinds and not site.field else ""


_TOGETHER = {("canal", "contents"), ("canal", "wax")}
"""A body site, and what can lie there."""


def _facts(node: Node, field: str, found: dict[str, object], site: Site, case: Case, take: Taking) -> list[Fact]:
    note = take.notes(node)
    if field == "symptoms":
        symptom = valid(Symptom, {**found, "note": note})
        return [Fact("symptoms", symptom, take, ear) for ear in sorted(site.ears)] if symptom else []
    if field == "wax":
        term = found["term"]
        if getattr(term, "assertion", None) != "present":
            return []
        value = valid(type(term), {"text": term.text, "codings": term.codings})  # type: ignore[attr-defined]
        return _staged(node, "wax.amount", value, site, case, take)
    return _staged(node, f"{field}.findings", valid(Finding, found), site, case, take, note)


def _staged(
    node: Node, field: str, value: object, site: Site, case: Case, take: Taking, note: str | None = None
) -> list[Fact]:
    """A fact of an examination of each ear; nothing where it is not clear whether that was before or after the work."""
    facts = []
    if value is None:
        return []
    for ear in sorted(site.ears):
        at = stage(node, case.works.get(ear, []))
        if at is None:
            case.ask("X156", node, "It is not clear whether this was seen before or after the work on the ear.")
            return []
        facts.append(Fact(field, value, take, ear, at))
        if note:
            facts.append(Fact(f"{field.partition('.')[0]}.note", note, take, ear, at))
    return facts


def _normal(site: Site, node: Node, case: Case, take: Taking) -> list[Fact]:
    """A part that was seen and is normal; an ear as a whole has no such answer."""
    if site.field not in _FIELDS.values():
        return []
    for coding in node.at("valueCodeableConcept").each("coding"):
        take.mean(coding, "system", "code", "display")
    return _staged(node, f"{site.field}.answer", "normal", site, case, take)


def _note(node: Node, site: Site, case: Case, take: Taking) -> list[Fact]:
    """Words about an ear, which stay words: a note on the part, or on the ear."""
    text = take.say(node, "valueString", 20_000)
    code = node.at("code")
    shown = [c for c in code.each("coding") if c.text("display")]
    label = take.say(code, "text") if code.text("text") else take.say(shown[0], "display") if shown else None
    if not text or not (label or _EXAMINATIONS & set(code.codes())) or doubt(code):
        return []
    if not side_words(text) <= site.ears:
        sided(node, Site(at_odds=True), case)
        return []
    words = f"{label}: {text}" if label else text
    if site.field in _FIELDS.values():
        return _staged(node, f"{site.field}.note", words, site, case, take)
    return [Fact("note", words, take, ear) for ear in sorted(site.ears)]


def _hearing(node: Node, case: Case, take: Taking) -> list[Fact]:
    """Thresholds by the LOINC codes of ear and frequency, alone or as the parts of an audiogram."""
    facts = []
    for part in (node, *node.each("component")):
        named = {thresholds()[code] for code in part.at("code").codes() if code in thresholds()}
        if len(named) != 1 or part.any("dataAbsentReason", "interpretation", "method") or _another_way(node, part):
            continue
        ear, frequency = named.pop()
        inner = Taking()
        level = _level(part, inner)
        site = site_of(node, [part.at("code")], case.addresses, inner)
        if level is None or site.ears != {ear}:
            if site.at_odds:
                sided(node, site, case)
            continue
        at = stage(node, case.works.get(ear, []))
        if at is None:
            case.ask("X156", node, "It is not clear whether this was measured before or after the work on the ear.")
            continue
        value = valid(Threshold, {"frequency": frequency, "level": level})
        if value:
            inner.add(take)
            for coding in part.at("code").each("coding"):
                inner.mean(coding, "system", "code", "display")
            inner.mean(part.at("code"), "text")
            facts.append(Fact("hearing.thresholds", value, inner, ear, at))
    return facts


def _another_way(node: Node, part: Node) -> bool:
    """Whether the words say that the tone was masked or went over the bone, which the codes do not."""
    concepts = (node.at("code"), part.at("code"))
    texts = [c.text("text") for c in concepts] + [d.text("display") for c in concepts for d in c.each("coding")]
    texts += [note.text("text") for note in node.each("note")]
    told = " ".join(texts).casefold()
    return node.has("method") or "bone" in told or "mask" in told


def _level(part: Node, take: Taking) -> Decimal | None:
    """The level in dB HL; None for another unit, and with a comparator, which would change it."""
    quantity = part.at("valueQuantity")
    units = {quantity.text(key) for key in ("code", "unit")} - {""}
    if not units or units - set(_LEVELS) or quantity.has("comparator"):  # dB SPL has the code dB too
        return None
    take.held.append((quantity.source, f"{quantity.path}.value"))
    take.mean(quantity, "unit", "system", "code")
    return decimal(quantity.at("value").data)
