"""V: the standard's own constraints, each a named function under its published key.

The published FHIRPath expressions stand in `mappings/standard/invariants.json`. Where one is known
not to say what its text says, the function follows the text and its docstring says so. An absent
element satisfies a constraint that speaks only about its value.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import Any

from bridge.check.look import codings, has, inside, part, parts, text
from bridge.check.structure import Node
from bridge.fhir import tables
from bridge.issues import Issue, Where, issue, rules
from bridge.moments import later
from bridge.shapes import Json

Holds = Callable[[Json, Node], bool]
RULES: dict[str, list[tuple[str, str, Holds]]] = {}
"""Type to (rule code, published key, function)."""
UCUM = "http://unitsofmeasure.org"
_TERMINOLOGY = "http://terminology.hl7.org/CodeSystem/"
_ERROR = "entered-in-error"


def invariant(code: str, key: str, *types: str) -> Callable[[Holds], Holds]:
    def note(function: Holds) -> Holds:
        for type in types:
            RULES.setdefault(type, []).append((code, key, function))
        return function

    return note


def check_invariants(nodes: list[Node]) -> Iterator[Issue]:
    """An issue for each constraint that an object breaks."""
    for node in nodes:
        for type in tables.lineage(node.type):
            for code, key, holds in RULES.get(type, ()):
                if not holds(node.value, node):
                    yield issue(code, f"{rules()[code].title} ({key}).", Where(path=node.path))


# Every object


@invariant("V101", "ele-1", "Element")
def ele_1(node: Json, at: Node) -> bool:
    """Empty objects are S107; this is the object with nothing but an id."""
    return node.keys() != {"id"}


@invariant("V102", "ext-1", "Extension")
def ext_1(node: Json, at: Node) -> bool:
    return has(node, "extension") != has(node, "value[x]")


# Data types


@invariant("V103", "per-1", "Period")
def per_1(node: Json, at: Node) -> bool:
    """Compared only as far as both are known, and where both or neither carry a time."""
    return not later(text(node, "start"), text(node, "end"))


@invariant("V104", "ref-1", "Reference")
def ref_1(node: Json, at: Node) -> bool:
    """`#` alone means the containing resource itself."""
    reference = text(node, "reference")
    return (
        not reference.startswith("#")
        or reference == "#"
        or reference[1:] in {text(c, "id") for c in parts(at.resource, "contained")}
    )


@invariant("V105", "qty-3", "Quantity")
def qty_3(node: Json, at: Node) -> bool:
    return not has(node, "code") or has(node, "system")


@invariant("V106", "sqty-1", "Quantity")
def sqty_1(node: Json, at: Node) -> bool:
    return at.element.shape != "SimpleQuantity" or not has(node, "comparator")


@invariant("V107", "rng-2", "Range")
def rng_2(node: Json, at: Node) -> bool:
    """Compared only in one unit."""
    low, high = part(node, "low"), part(node, "high")
    first, last = _number(low.get("value")), _number(high.get("value"))
    if (low.get("code"), low.get("unit")) != (high.get("code"), high.get("unit")):
        return True
    return first is None or last is None or first <= last


@invariant("V108", "rat-1", "Ratio")
def rat_1(node: Json, at: Node) -> bool:
    both = has(node, "numerator"), has(node, "denominator")
    return both[0] == both[1] and (both[0] or has(node, "extension"))


@invariant("V109", "att-1", "Attachment")
def att_1(node: Json, at: Node) -> bool:
    return not has(node, "data") or has(node, "contentType")


@invariant("V110", "cpt-2", "ContactPoint")
def cpt_2(node: Json, at: Node) -> bool:
    return not has(node, "value") or has(node, "system")


@invariant("V111", "age-1", "Age")
def age_1(node: Json, at: Node) -> bool:
    value = _number(node.get("value"))
    return _ucum(node) and (value is None or value > 0)


@invariant("V112", "drt-1", "Duration")
def drt_1(node: Json, at: Node) -> bool:
    return not has(node, "code") or (text(node, "system") == UCUM and has(node, "value"))


@invariant("V113", "tim-1, tim-2, tim-6, tim-7, tim-8", "Timing.repeat")
def tim_pairs(node: Json, at: Node) -> bool:
    pairs = (("duration", "durationUnit"), ("period", "periodUnit"), ("periodMax", "period"),
             ("durationMax", "duration"), ("countMax", "count"))  # fmt: skip
    return all(not has(node, one) or has(node, other) for one, other in pairs)


@invariant("V114", "tim-4, tim-5", "Timing.repeat")
def tim_signs(node: Json, at: Node) -> bool:
    return not any(v is not None and v < 0 for v in (_number(node.get("duration")), _number(node.get("period"))))


@invariant("V115", "tim-9, tim-10", "Timing.repeat")
def tim_when(node: Json, at: Node) -> bool:
    """tim-9 by its text: an offset needs a `when` that is not a meal itself."""
    when = node.get("when") if isinstance(node.get("when"), list) else []
    meals = any(w in ("C", "CM", "CD", "CV") for w in when or () if isinstance(w, str))
    return not (has(node, "offset") and (not when or meals)) and not (has(node, "timeOfDay") and has(node, "when"))


# Every resource with narrative


@invariant("V120", "dom-2", "DomainResource")
def dom_2(node: Json, at: Node) -> bool:
    return not any(has(c, "contained") for c in parts(node, "contained"))


@invariant("V121", "dom-3", "DomainResource")
def dom_3(node: Json, at: Node) -> bool:
    """By its text, for each contained resource; the published expression fails on more than one."""
    contained = parts(node, "contained")
    if not contained:
        return True
    pointed = {v for inner in inside(node) for v in inner.values() if isinstance(v, str) and v.startswith("#")}
    return all(
        f"#{text(c, 'id')}" in pointed or any(text(inner, "reference") == "#" for inner in inside(c)) for c in contained
    )


@invariant("V122", "dom-4, dom-5", "DomainResource")
def dom_4(node: Json, at: Node) -> bool:
    return not any(has(part(c, "meta"), "versionId", "lastUpdated", "security") for c in parts(node, "contained"))


@invariant("V123", "dom-6", "DomainResource")
def dom_6(node: Json, at: Node) -> bool:
    """Contained resources are left out, as the text of their container tells them too."""
    return at.element.name == "contained" or has(part(node, "text"), "div")


# Observation, Condition, Procedure and what hangs on them


@invariant("V130", "obs-3", "Observation.referenceRange")
def obs_3(node: Json, at: Node) -> bool:
    return has(node, "low", "high", "text")


@invariant("V131", "obs-6", "Observation")
def obs_6(node: Json, at: Node) -> bool:
    return not (has(node, "dataAbsentReason") and has(node, "value[x]"))


@invariant("V132", "obs-7", "Observation")
def obs_7(node: Json, at: Node) -> bool:
    own = set(codings(node, "code"))
    return not (has(node, "value[x]") and any(own.intersection(codings(c, "code")) for c in parts(node, "component")))


@invariant("V140", "con-1", "Condition.stage")
def con_1(node: Json, at: Node) -> bool:
    return has(node, "summary", "assessment")


@invariant("V141", "con-2", "Condition.evidence")
def con_2(node: Json, at: Node) -> bool:
    return has(node, "code", "detail")


@invariant("V142", "con-3", "Condition")
def con_3(node: Json, at: Node) -> bool:
    """By its text; the published expression compares a concept with a string and so speaks of every category."""
    problem = (_TERMINOLOGY + "condition-category", "problem-list-item") in codings(node, "category")
    return not problem or has(node, "clinicalStatus") or _is(node, "verificationStatus", "condition-ver-status", _ERROR)


@invariant("V143", "con-4", "Condition")
def con_4(node: Json, at: Node) -> bool:
    return not has(node, "abatement[x]") or any(
        _is(node, "clinicalStatus", "condition-clinical", code) for code in ("resolved", "remission", "inactive")
    )


@invariant("V144", "con-5", "Condition")
def con_5(node: Json, at: Node) -> bool:
    return not (has(node, "clinicalStatus") and _is(node, "verificationStatus", "condition-ver-status", _ERROR))


@invariant("V150", "ait-1", "AllergyIntolerance")
def ait_1(node: Json, at: Node) -> bool:
    wrong = _is(node, "verificationStatus", "allergyintolerance-verification", _ERROR)
    return wrong or has(node, "clinicalStatus")


@invariant("V151", "ait-2", "AllergyIntolerance")
def ait_2(node: Json, at: Node) -> bool:
    wrong = _is(node, "verificationStatus", "allergyintolerance-verification", _ERROR)
    return not (wrong and has(node, "clinicalStatus"))


@invariant("V152", "mad-1", "MedicationAdministration.dosage")
def mad_1(node: Json, at: Node) -> bool:
    return has(node, "dose", "rate[x]")


# Plans, people, consent, documents


@invariant("V160", "cpl-3", "CarePlan.activity")
def cpl_3(node: Json, at: Node) -> bool:
    return not (has(node, "detail") and has(node, "reference"))


@invariant("V161", "prr-1", "ServiceRequest")
def prr_1(node: Json, at: Node) -> bool:
    return not has(node, "orderDetail") or has(node, "code")


@invariant("V162", "inv-1", "Task")
def inv_1(node: Json, at: Node) -> bool:
    return not later(text(node, "authoredOn"), text(node, "lastModified"))


@invariant("V163", "ppc-1", "Consent")
def ppc_1(node: Json, at: Node) -> bool:
    return has(node, "policy", "policyRule")


@invariant("V164", "org-1", "Organization")
def org_1(node: Json, at: Node) -> bool:
    return has(node, "identifier", "name")


@invariant("V165", "org-2, org-3", "Organization")
def org_2(node: Json, at: Node) -> bool:
    return not any(text(c, "use") == "home" for key in ("address", "telecom") for c in parts(node, key))


@invariant("V166", "pat-1", "Patient.contact")
def pat_1(node: Json, at: Node) -> bool:
    return has(node, "name", "telecom", "address", "organization")


@invariant("V167", "Consent.provision.type", "Consent.provision")
def provision_type(node: Json, at: Node) -> bool:
    """Said in the definition of the element, which has no key. The root stands alone, nested ones in a list."""
    return has(node, "type") == at.element.many


@invariant("V170", "cmp-1", "Composition.section")
def cmp_1(node: Json, at: Node) -> bool:
    return has(node, "text", "entry", "section")


@invariant("V171", "cmp-2", "Composition.section")
def cmp_2(node: Json, at: Node) -> bool:
    return not (has(node, "emptyReason") and has(node, "entry"))


# Bundle


@invariant("V180", "bdl-1, bdl-2", "Bundle")
def bdl_1(node: Json, at: Node) -> bool:
    type = node.get("type")
    return (not has(node, "total") or type in ("searchset", "history")) and (
        type == "searchset" or not any(has(e, "search") for e in parts(node, "entry"))
    )


@invariant("V181", "bdl-3", "Bundle")
def bdl_3(node: Json, at: Node) -> bool:
    due = node.get("type") in ("batch", "transaction", "history")
    return all(has(e, "request") == due for e in parts(node, "entry"))


@invariant("V182", "bdl-4", "Bundle")
def bdl_4(node: Json, at: Node) -> bool:
    due = node.get("type") in ("batch-response", "transaction-response", "history")
    return all(has(e, "response") == due for e in parts(node, "entry"))


@invariant("V183", "bdl-5", "Bundle.entry")
def bdl_5(node: Json, at: Node) -> bool:
    return has(node, "resource", "request", "response")


@invariant("V184", "bdl-7", "Bundle")
def bdl_7(node: Json, at: Node) -> bool:
    if node.get("type") == "history":
        return True
    named = [
        (text(e, "fullUrl"), text(part(part(e, "resource"), "meta"), "versionId"))
        for e in parts(node, "entry")
        if text(e, "fullUrl")
    ]
    return len(named) == len(set(named))


@invariant("V185", "bdl-8", "Bundle.entry")
def bdl_8(node: Json, at: Node) -> bool:
    return "/_history/" not in text(node, "fullUrl")


@invariant("V186", "bdl-9", "Bundle")
def bdl_9(node: Json, at: Node) -> bool:
    named = part(node, "identifier")
    return node.get("type") != "document" or (has(named, "system") and has(named, "value"))


@invariant("V187", "bdl-10", "Bundle")
def bdl_10(node: Json, at: Node) -> bool:
    return node.get("type") != "document" or bool(text(node, "timestamp"))


@invariant("V188", "bdl-11, bdl-12", "Bundle")
def bdl_11(node: Json, at: Node) -> bool:
    first = {"document": "Composition", "message": "MessageHeader"}.get(text(node, "type"))
    entries = node.get("entry")
    head = entries[0] if isinstance(entries, list) and entries else {}
    return first is None or text(part(head, "resource"), "resourceType") == first


def _number(value: Any) -> Decimal | None:
    """The number as it is written, or None for anything else."""
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        return None
    number = Decimal(str(value))
    return number if number.is_finite() else None


def _ucum(node: Json) -> bool:
    return (has(node, "code") or not has(node, "value")) and (not has(node, "system") or text(node, "system") == UCUM)


def _is(node: Json, key: str, system: str, code: str) -> bool:
    return (_TERMINOLOGY + system, code) in codings(node, key)
