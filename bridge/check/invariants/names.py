"""V: Names by which programs know a definition."""

from __future__ import annotations

import re
from collections.abc import Iterator

from bridge.check.invariants.registry import each
from bridge.check.node import Node
from bridge.shapes import Json

_IDENTIFIER = re.compile(r"[A-Z][A-Za-z0-9_]{0,254}")
_KEYS = {
    "ActivityDefinition": "adf-0",
    "CapabilityStatement": "cpb-0",
    "ChargeItemDefinition": "cid-0",
    "CodeSystem": "csd-0",
    "CompartmentDefinition": "cpd-0",
    "ConceptMap": "cmd-0",
    "EffectEvidenceSynthesis": "ees-0",
    "EventDefinition": "evd-0",
    "Evidence": "evi-0",
    "EvidenceVariable": "evv-0",
    "ExampleScenario": "esc-0",
    "GraphDefinition": "gdf-0",
    "ImplementationGuide": "ig-0",
    "Library": "lib-0",
    "Measure": "mea-0",
    "MessageDefinition": "msd-0",
    "NamingSystem": "nsd-0",
    "OperationDefinition": "opd-0",
    "PlanDefinition": "pdf-0",
    "Questionnaire": "que-0",
    "ResearchDefinition": "rsd-0",
    "ResearchElementDefinition": "red-0",
    "RiskEvidenceSynthesis": "rvs-0",
    "SearchParameter": "spd-0",
    "StructureDefinition": "sdf-0",
    "StructureMap": "smp-0",
    "TerminologyCapabilities": "tcp-0",
    "TestScript": "tst-0",
    "ValueSet": "vsd-0",
}
"""Type to published key; text and expression are the same for each."""


def name_for_programs(node: Json, at: Node) -> Iterator[str]:
    """The whole name, as its text means; an engine that looks for the pattern anywhere in it lets nearly all pass."""
    name = node.get("name")
    if isinstance(name, str) and _IDENTIFIER.fullmatch(name) is None:
        yield ".name"


for _type, _key in _KEYS.items():
    each("V250", _key, _type)(name_for_programs)
