"""V: the standard's own constraints, each a named function under its published key.

The published FHIRPath expressions stand in `mappings/standard/invariants.json`. Where one is known
not to say what its text says, the function follows the text and its docstring says so. An absent
element satisfies a constraint that speaks only about its value. A room of constraints is opened when
an object of one of its types is met.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from importlib import import_module

from bridge.check.invariants.registry import RULES, Holds, places
from bridge.check.invariants.values import forget
from bridge.check.node import Node
from bridge.fhir import tables
from bridge.issues import Issue, Where, issue, rule_of

_ALWAYS = ("element", "data_types", "amounts", "timing", "domain", "extensions", "prose_types")
_ROOMS = {
    "bundle": "Bundle Parameters",
    "care": """CarePlan CareTeam FamilyMemberHistory Goal Immunization ImmunizationRecommendation
        MedicationAdministration MedicationDispense MolecularSequence NutritionOrder RequestGroup RiskAssessment
        ServiceRequest""",
    "clinical": "AllergyIntolerance Condition Observation",
    "composition": "Composition",
    "conformance": """CapabilityStatement ImplementationGuide MessageDefinition OperationDefinition SearchParameter
        StructureMap TerminologyCapabilities""",
    "element_definition": "ElementDefinition",
    "measures": "Measure MeasureReport",
    "names": """ActivityDefinition CapabilityStatement ChargeItemDefinition CodeSystem CompartmentDefinition ConceptMap
        EffectEvidenceSynthesis EventDefinition Evidence EvidenceVariable ExampleScenario GraphDefinition
        ImplementationGuide Library Measure MessageDefinition NamingSystem OperationDefinition PlanDefinition
        Questionnaire ResearchDefinition ResearchElementDefinition RiskEvidenceSynthesis SearchParameter
        StructureDefinition StructureMap TerminologyCapabilities TestScript ValueSet""",
    "people": "Consent CoverageEligibilityResponse Group InsurancePlan Organization Patient",
    "prose_definitions": """ActivityDefinition CapabilityStatement ChargeItemDefinition CodeSystem
        CompartmentDefinition ConceptMap Contract DataRequirement EffectEvidenceSynthesis ElementDefinition
        EventDefinition Evidence EvidenceVariable ExampleScenario GraphDefinition ImplementationGuide Library Measure
        MessageDefinition OperationDefinition ParameterDefinition PlanDefinition Questionnaire ResearchDefinition
        ResearchElementDefinition RiskEvidenceSynthesis SearchParameter StructureDefinition StructureMap
        TerminologyCapabilities TestScript ValueSet""",
    "prose_records": """AllergyIntolerance AuditEvent Bundle Claim CoverageEligibilityRequest ExplanationOfBenefit Group
        Invoice List MedicationRequest Subscription VisionPrescription""",
    "questionnaire": "Questionnaire QuestionnaireResponse",
    "structure_definition": "StructureDefinition",
    "terminology": "CodeSystem ConceptMap NamingSystem TerminologyCapabilities ValueSet",
    "testing": "TestReport TestScript",
    "work": "Appointment AppointmentResponse AuditEvent Linkage List Task",
}
"""Module of this package to the root types that it has constraints on."""


def check_invariants(nodes: list[Node]) -> Iterator[Issue]:
    """An issue for each constraint that an object breaks."""
    forget()
    for node in nodes:
        for code, key, holds in constraints(node.type):
            if not holds(node.value, node):
                page = rule_of(code)
                assert page is not None  # tests/test_rules.py
                for place in places(holds, node):
                    yield issue(code, f"{page.title} ({key}).", Where(path=node.path + place))
    forget()


@cache
def constraints(type: str) -> tuple[tuple[str, str, Holds], ...]:
    """Every constraint on objects of a type, those of what it is a kind of included: (rule code, keys, function)."""
    found: list[tuple[str, str, Holds]] = []
    for kind in tables.lineage(type):
        _open(kind.partition(".")[0])
        found += RULES.get(kind, ())
    return tuple(found)


@cache
def _open(root: str) -> None:
    for room in _ALWAYS:
        import_module(f"{__name__}.{room}")
    for room, types in _ROOMS.items():
        if root in types.split():
            import_module(f"{__name__}.{room}")


def own_constraints(type: str) -> list[tuple[str, str, Holds]]:
    """The constraints on just this type, without those of what it is a kind of."""
    _open(type.partition(".")[0])
    return RULES.get(type, [])
