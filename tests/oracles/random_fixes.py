"""What random objects need so that they hold to the published constraints: one small mending for each type of object.

Source: the text (`human`) of the constraints in profiles-types.json and profiles-resources.json of R4 4.0.1.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from functools import cache
from typing import Any

from tests.oracles.random_quantities import QUANTITIES
from tests.oracles.seed_definitions import Json, spellings, structures

Mend = Callable[[Json, Any], Json | None]
WORD = {"text": "word"}
AT = "2026-03-01T10:00:00Z"


def mended(made: Json, owner: str, maker: Any) -> Json:
    """The object as it may stand; a mending changes what it gets, or answers with another."""
    mend = MENDS.get(owner)
    if mend:
        made = mend(made, maker) or made
    if "name" in made and owner in _machine_named():
        made["name"] = "OwnName"
    return made


@cache
def _machine_named() -> frozenset[str]:
    rows = [(s["type"], e) for s in structures() for e in s["snapshot"]["element"][:1]]
    return frozenset(t for t, e in rows if any(c["key"].endswith("-0") for c in e.get("constraint", ())))


def drop(made: Json, *names: str) -> None:
    for name in names:
        for key in [k for k in made if k.removeprefix("_") in spellings(name)]:
            del made[key]


def dropping(*names: str) -> Mend:
    return lambda made, maker: drop(made, *names)  # type: ignore[func-returns-value]


def setting(**values: Any) -> Mend:
    """Sets these, whatever was there; None takes out."""

    def mend(made: Json, maker: Any) -> None:
        drop(made, *values)
        made.update({k: v for k, v in values.items() if v is not None})

    return mend


def one_of(first: str, value: Any, *others: str) -> Mend:
    """Just one of these elements: `first` with `value` where there is none."""

    def mend(made: Json, maker: Any) -> None:
        there = [n for n in (first, *others) if not spellings(n).isdisjoint(made)]
        keep = maker.choose.choice(there) if there else first
        drop(made, *(n for n in (first, *others) if n != keep))
        if keep == first:
            drop(made, first)
            made[first] = value

    return mend


def all_of(*mends: Mend) -> Mend:
    def mend(made: Json, maker: Any) -> None:
        for each in mends:
            each(made, maker)

    return mend


def _extension(made: Json, maker: Any) -> None:
    value = next((k for k in made if k.removeprefix("_").startswith("value")), None)
    if value is not None:
        drop(made, "extension")
    elif "extension" not in made:
        made["valueString"] = "a"


def _period(made: Json, maker: Any) -> Json:
    return maker.choose.choice(
        (
            {"start": "2026"},
            {"end": "2026-02"},
            {"start": "2026", "end": "2026-12-31"},
            {"start": "2026-01-01", "end": "2026-01-01"},
            {"start": "2026-01-01T10:00:00+01:00", "end": "2026-01-01T09:00:00Z"},
            {"start": "2026-01-01T23:30:00-05:00", "end": "2026-01-02T04:30:00Z"},
            {"id": f"p{maker.choose.getrandbits(40)}", "start": "2026-01-01", "end": "2026-02-01T00:00:00Z"},
            {"start": "2026-05", "_end": {"extension": [{"url": "https://example.org/a", "valueCode": "a"}]}},
        )
    )


def _range(made: Json, maker: Any) -> Json:
    unit = maker.choose.choice(
        ({}, {"unit": "mm"}, {"system": "http://unitsofmeasure.org", "code": "mm", "unit": "mm"})
    )
    low, high = {"value": Decimal("1.0"), **unit}, {"value": Decimal("10"), **unit}
    return maker.choose.choice(({"low": low}, {"high": high}, {"low": low, "high": high}, {"low": low, "high": low}))


def _ratio(made: Json, maker: Any) -> Json:
    more = {"extension": [{"url": "https://example.org/a", "valueBoolean": True}]}
    return maker.choose.choice(
        (
            {"numerator": {"value": 1, "comparator": "<"}, "denominator": {"value": 128}},
            more,
            {"numerator": {"value": 1, "unit": "a"}, "denominator": {"value": Decimal("2.50")}, **more},
        )
    )


def _attachment(made: Json, maker: Any) -> None:
    drop(made, "size", "hash")
    if "data" in made or "_data" in made:
        setting(contentType="text/plain")(made, maker)


def _repeat(made: Json, maker: Any) -> Json:
    return maker.choose.choice(
        (
            {"frequency": 2, "period": Decimal("1.0"), "periodUnit": "d"},
            {"count": 3, "countMax": 5, "duration": 1, "durationMax": 2, "durationUnit": "h"},
            {"when": ["ACM", "PCV"], "offset": 30},
            {"dayOfWeek": ["mon", "sun"], "timeOfDay": ["08:00:00", "20:00:00.5"]},
            {"boundsPeriod": {"start": "2026"}, "period": 1, "periodMax": 2, "periodUnit": "wk"},
            {"boundsDuration": {"value": 10, "system": "http://unitsofmeasure.org", "code": "d"}},
        )
    )


def _trigger(made: Json, maker: Any) -> Json:
    return maker.choose.choice(
        (
            {"type": "named-event", "name": "a"},
            {"type": "periodic", "timingDate": "2026-01-01"},
            {
                "type": "data-added",
                "data": [{"type": "Observation"}],
                "condition": {"language": "text/cql", "expression": "true"},
            },
        )
    )


def _element(made: Json, maker: Any) -> Json:
    return maker.choose.choice(
        (
            {"id": "Patient.name", "path": "Patient.name", "min": 0, "max": "*", "type": [{"code": "HumanName"}]},
            {
                "path": "Observation.value[x]",
                "sliceName": "a",
                "type": [{"code": "Quantity"}],
                "patternQuantity": {"unit": "mm"},
                "mustSupport": True,
            },
            {
                "path": "Patient",
                "short": "a",
                "constraint": [{"key": "a-1", "severity": "error", "human": "a", "expression": "true"}],
            },
        )
    )


def _appointment(made: Json, maker: Any) -> None:
    setting(status="booked", start=AT, end="2026-03-01T10:15:00Z", cancelationReason=None)(made, maker)


def _bundle(made: Json, maker: Any) -> Json:
    from tests.oracles.random_values import uuid

    basic = {"resourceType": "Basic", "code": WORD}
    entry = {"fullUrl": uuid(maker.choose), "resource": basic}
    named = {"fullUrl": "https://example.org/fhir/Basic/a", "resource": {**basic, "id": "a"}}
    return maker.choose.choice(
        (
            {"type": "collection", "entry": [entry, named]},
            {"type": "searchset", "total": 0, "link": [{"relation": "self", "url": "https://example.org/fhir/Basic"}]},
            {"type": "transaction", "entry": [{**entry, "request": {"method": "POST", "url": "Basic"}}]},
            {
                "type": "batch",
                "entry": [
                    {"request": {"method": "DELETE", "url": "Basic/a"}},
                    {"request": {"method": "GET", "url": "Patient?name=a"}},
                ],
            },
            {
                "type": "transaction-response",
                "entry": [{"response": {"status": "201 Created", "location": "Basic/a/_history/1"}}],
            },
        )
    )


def _numbered(key: str, more: Json | None = None) -> Mend:
    """A key that no other object has."""

    def mend(made: Json, maker: Any) -> None:
        setting(**{key: f"n{maker.choose.getrandbits(48)}"}, **(more or {}))(made, maker)

    return mend


def _observation(made: Json, maker: Any) -> None:
    if "component" in made or not spellings("value[x]").isdisjoint({k.removeprefix("_") for k in made}):
        drop(made, "dataAbsentReason")
    if "component" in made:
        drop(made, "value[x]")


def _sample(made: Json, maker: Any) -> None:
    setting(data=maker.choose.choice(("1 2 3", "E U L", "-1.5 0 0.5 E", "7")))(made, maker)


def _definition(made: Json, maker: Any) -> Json:
    return {
        "url": "https://example.org/fhir/StructureDefinition/a",
        "name": "OwnName",
        "status": "draft",
        "kind": "resource",
        "abstract": False,
        "type": "Patient",
        "baseDefinition": "http://hl7.org/fhir/StructureDefinition/Patient",
        "derivation": "constraint",
        "differential": {
            "element": [{"id": "Patient", "path": "Patient"}, {"id": "Patient.name", "path": "Patient.name", "min": 1}]
        },
    }


def _kept(key: str) -> Mend:
    """At most the first of a list."""

    def mend(made: Json, maker: Any) -> None:
        if isinstance(made.get(key), list):
            made[key] = made[key][:1]
            drop(made, f"_{key}")
            if made[key] == [None]:
                del made[key]

    return mend


def concept(list: str, code: str) -> Json:
    return {"coding": [{"system": f"http://terminology.hl7.org/CodeSystem/{list}", "code": code}]}


OPERATION = {"sourceId": "a", "encodeRequestUrl": True}
ASSERT = {"expression": "true", "warningOnly": False}
_STATEMENT = setting(kind="requirements", description="a", software=None, implementation=None)

MENDS: dict[str, Mend] = {
    **QUANTITIES,
    "Extension": _extension,
    "Period": _period,
    "Range": _range,
    "Ratio": _ratio,
    "Attachment": _attachment,
    "Timing.repeat": _repeat,
    "ContactPoint": lambda made, maker: (
        setting(system="phone")(made, maker) if "value" in made or "_value" in made else None
    ),
    "Expression": lambda made, maker: one_of("expression", "true", "reference")(made, maker),
    "TriggerDefinition": _trigger,
    "ElementDefinition": _element,
    "SampledData": _sample,
    "DataRequirement": dropping("mustSupport"),
    "DataRequirement.sort": setting(path="a.b"),
    "DataRequirement.codeFilter": one_of("path", "code", "searchParam"),
    "DataRequirement.dateFilter": one_of("path", "date", "searchParam"),
    "AllergyIntolerance": setting(
        clinicalStatus=concept("allergyintolerance-clinical", "active"), verificationStatus=None
    ),
    "Appointment": _appointment,
    "Appointment.participant": setting(type=[WORD]),
    "AppointmentResponse": setting(participantType=[WORD]),
    "AuditEvent.entity": dropping("query"),
    "Bundle": _bundle,
    "CapabilityStatement": all_of(
        _STATEMENT,
        setting(fhirVersion="4.0.1"),
        setting(rest=[{"mode": "server"}]),
        _kept("document"),
        dropping("messaging"),
    ),
    "CapabilityStatement.rest": _kept("resource"),
    "CapabilityStatement.rest.resource": _kept("searchParam"),
    "CarePlan.activity": one_of("reference", {"display": "a"}, "detail"),
    "CareTeam.participant": dropping("onBehalfOf"),
    "CodeSystem": dropping("count"),
    "CodeSystem.concept": all_of(_numbered("code"), dropping("property")),
    "Composition.section": all_of(
        dropping("emptyReason"),
        one_of("text", {"status": "empty", "div": '<div xmlns="http://www.w3.org/1999/xhtml">a</div>'}, "entry"),
    ),
    "ConceptMap.group.element.target": setting(comment="a"),
    "ConceptMap.group.unmapped": setting(mode="fixed", code="a", url=None),
    "Condition": setting(clinicalStatus=concept("condition-clinical", "resolved"), verificationStatus=None),
    "Condition.stage": setting(summary=WORD),
    "Condition.evidence": setting(code=[WORD]),
    "Consent": setting(policyRule=WORD, patient={"reference": "Patient/1"}),
    "Consent.provision": dropping("type", "provision"),
    "CoverageEligibilityResponse.insurance.item": one_of("category", WORD, "productOrService"),
    "FamilyMemberHistory": all_of(dropping("born[x]", "estimatedAge")),
    "Goal.target": setting(measure=WORD),
    "Group": setting(actual=True),
    "Immunization.education": setting(documentType="a"),
    "ImmunizationRecommendation.recommendation": setting(vaccineCode=[WORD]),
    "ImplementationGuide.definition.resource": dropping("groupingId", "fhirVersion"),
    "InsurancePlan": setting(name="a"),
    "RelatedArtifact": lambda made, maker: one_of("resource", "https://example.org/a", "url", "document")(made, maker),
    "StructureMap.group.rule.source": lambda made, maker: setting(max="*")(made, maker) if "max" in made else None,
    "VisionPrescription.lensSpecification": dropping("axis"),
    "TestScript": dropping("origin", "destination"),
    "ParameterDefinition": lambda made, maker: setting(max="*")(made, maker) if "max" in made else None,
    "GraphDefinition.link": lambda made, maker: setting(max="*")(made, maker) if "max" in made else None,
    "GraphDefinition.link.target": setting(params="a={ref}"),
    "PlanDefinition.action": dropping("goalId"),
    "Group.member": setting(entity={"display": "a"}),
    "Claim.insurance": dropping("claimResponse"),
    "Invoice": setting(cancelledReason="a"),
    "MedicationRequest.dispenseRequest.initialFill": setting(quantity={"value": 1}),
    "Subscription.channel": dropping("endpoint"),
    "Linkage": lambda made, maker: made["item"].append({"type": "source", "resource": {"display": "a"}}),
    "List": all_of(setting(mode="working"), dropping("emptyReason")),
    "List.entry": dropping("deleted"),
    "MedicationAdministration.dosage": setting(dose={"value": 1}),
    "MedicationDispense": dropping("whenPrepared"),
    "MessageDefinition.focus": setting(max="*"),
    "Measure.group.stratifier": lambda made, maker: (
        None
        if dropping("code", "description")(made, maker)
        else one_of("component", [{"criteria": {"language": "text/cql", "expression": "a"}}], "criteria")(made, maker)
    ),
    "MeasureReport": setting(type="summary"),
    "MeasureReport.group.stratifier.stratum": one_of("value", WORD, "component"),
    "MolecularSequence": setting(coordinateSystem=1),
    "NamingSystem": setting(kind="codesystem"),
    "NamingSystem.uniqueId": dropping("preferred"),
    "MolecularSequence.referenceSeq": all_of(
        dropping("chromosome", "genomeBuild"),
        one_of("referenceSeqString", "a", "referenceSeqId", "referenceSeqPointer"),
    ),
    "NutritionOrder": setting(supplement=[{"instruction": "a"}]),
    "Observation": _observation,
    "Observation.referenceRange": setting(text="a"),
    "OperationDefinition.parameter": all_of(setting(type="string", max="*"), dropping("targetProfile", "part")),
    "Organization": setting(name="a", address=None, telecom=None),
    "Parameters.parameter": setting(valueString="a", resource=None, part=None, **{"value[x]": None}),
    "Patient.contact": setting(telecom=[{"system": "phone", "value": "1"}]),
    "Questionnaire.item": all_of(
        _numbered("linkId", {"type": "string"}),
        _kept("initial"),
        dropping("answerOption", "answerValueSet", "item", "enableWhen"),
        setting(enableBehavior="all"),
    ),
    "QuestionnaireResponse.item": all_of(_numbered("linkId"), one_of("text", "a", "item", "answer")),
    "RequestGroup.action": one_of("resource", {"display": "a"}, "action"),
    "RiskAssessment.prediction": setting(probabilityDecimal=Decimal("12.5"), **{"probability[x]": None}),
    "SearchParameter": dropping("xpath", "chain"),
    "ServiceRequest": setting(code=WORD),
    "StructureDefinition": _definition,
    "StructureMap.group.rule.target": setting(context="a", contextType="variable"),
    "Task": dropping("lastModified"),
    "TerminologyCapabilities": _STATEMENT,
    "TerminologyCapabilities.codeSystem": _kept("version"),
    "TestReport.setup.action": one_of("operation", {"result": "pass"}, "assert"),
    "TestReport.test.action": one_of("operation", {"result": "skip"}, "assert"),
    "TestScript.metadata.capability": setting(required=True, validated=False),
    "TestScript.variable": dropping("expression", "path"),
    **{f"TestScript.{part}.action": one_of("operation", OPERATION, "assert") for part in ("setup", "test")},
    **{
        f"TestScript.{part}.action.operation": setting(sourceId="a", origin=None, destination=None)
        for part in ("setup", "test", "teardown")
    },
    "TestScript.setup.action.assert": lambda made, maker: dict(ASSERT),
    "TestScript.test.action.assert": lambda made, maker: dict(ASSERT),
    "ValueSet.compose.include": all_of(setting(system="https://example.org/a"), dropping("filter")),
    "ValueSet.expansion.contains": setting(code="a", system="https://example.org/a", display="a"),
}
