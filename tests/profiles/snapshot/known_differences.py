"""Where a published or derived snapshot is not what we make of the same differential, each with the reason.

{file: {(definition, what): (reason, ids)}}. tests/profiles/snapshot/test_published.py asks that each of them is met.
"""

from __future__ import annotations

Reasons = dict[tuple[str, str], tuple[str, set[str]]]

UNSLICED = "the tool that derived the file writes no slicing where the differential leaves it out"
NO_SET = "the differential gives a strength alone; the tool forgets the value set of the base"
NO_MAX = "the tool forgets the largest value set that the base of R4 allows"
LEAST_OF_ALL = "the tool gives a slice the minimum of all extensions together; it even makes 2..1 of it"
OF_THE_TYPE_BELOW = "the publisher forgets the limits of string or integer, from which the type is made"
ODD_BASE = "published as if nothing had made it from DomainResource"
LOST_WHOLE = "the publisher loses an element when slices of it come in the differential without it"
LATE_SLICE = "the publisher gives the slice and the repeated element what stands elsewhere in this differential"
INSIDE_SLICES = (
    "the publisher restricts the choice itself where the short name stands inside a slice; the same is meant"
)
OF_THE_PROFILE = "the publisher copies the constraints of SimpleQuantity, which the type names anyway"
UNFOLDED = "the publisher unfolds two extensions that the differential does not go into"

_SLICED_ALONE = ("AllergyIntolerance", "Composition", "Condition", "MedicationStatement", "Observation", "Organization")
_SIDES = ("SystolicBP", "DiastolicBP")
_OF_QUANTITY = ("id", "extension", "value", "comparator", "unit", "system", "code")


def _under(start: str, names: tuple[str, ...] | str) -> set[str]:
    return {f"{start}.{name}" for name in (names.split() if isinstance(names, str) else names)}


UK_CORE: Reasons = {
    ("Extension-UKCore-DeathNotificationStatus", "min"): (LEAST_OF_ALL, {"Extension.extension:systemEffectiveDate"}),
    ("Extension-UKCore-ObservationTriggeredBy", "min"): (LEAST_OF_ALL, {"Extension.extension:reason"}),
    ("UKCore-Observation", "min"): (LEAST_OF_ALL, {"Observation.extension:triggeredByR5.extension:reason"}),
    **{
        (f"UKCore-{name}", "slicing"): (UNSLICED, {f"{name}.extension"})
        for name in [
            "AllergyIntolerance",
            "Composition",
            "Condition",
            "MedicationStatement",
            "Observation",
            "Organization",
        ]
    },
    ("UKCore-Encounter", "slicing"): (UNSLICED, _under("Encounter", "extension hospitalization.extension")),
    ("UKCore-ServiceRequest", "slicing"): (UNSLICED, _under("ServiceRequest", "extension priority.extension")),
    ("UKCore-Patient", "slicing"): (
        UNSLICED,
        _under("Patient", "extension telecom.system.extension birthDate.extension contact.extension")
        | _under("Patient", "contact.telecom.system.extension communication.extension"),
    ),
    **{
        (f"UKCore-{name}", "binding"): (NO_SET, {f"{name}.bodySite"})
        for name in ("Condition", "Procedure", "ServiceRequest")
    },
    ("UKCore-Observation", "binding"): (NO_SET, {"Observation.bodySite", "Observation.method"}),
    ("UKCore-MedicationStatement", "binding"): (NO_SET, {"MedicationStatement.dosage.asNeeded[x]"}),
    ("UKCore-Patient", "binding"): (NO_MAX, {"Patient.communication.language"}),
    ("UKCore-Practitioner", "binding"): (NO_MAX, {"Practitioner.communication"}),
}

TYPES: Reasons = {
    **{(name, "maxLength"): (OF_THE_TYPE_BELOW, {f"{name}.value"}) for name in ("code", "id", "markdown")},
    **{
        (name, limit): (OF_THE_TYPE_BELOW, {f"{name}.value"})
        for name in ("positiveInt", "unsignedInt")
        for limit in ("minValueInteger", "maxValueInteger")
    },
}

RESOURCES: Reasons = {
    ("MetadataResource", "base"): (ODD_BASE, {"MetadataResource"}),
    ("MetadataResource", "constraint"): (ODD_BASE, {"MetadataResource"}),
    ("MetadataResource", "slicing"): (ODD_BASE, _under("MetadataResource", "extension modifierExtension")),
}

OTHERS: Reasons = {
    ("familymemberhistory-genetic", "more"): (
        LOST_WHOLE,
        _under("FamilyMemberHistory", "relationship sex born[x] age[x] deceased[x] condition")
        | _under("FamilyMemberHistory.condition", "id extension modifierExtension code outcome contributedToDeath")
        | _under("FamilyMemberHistory.condition", "onset[x] note"),
    ),
    ("catalog", "more"): (LOST_WHOLE, {"Composition.date"}),
    ("provenance-relevant-history", "binding"): (LATE_SLICE, {"Provenance.agent:Author.type"}),
    ("provenance-relevant-history", "contentReference"): (LATE_SLICE, {"Provenance.entity.agent"}),
    ("bp", "missing"): (
        INSIDE_SLICES,
        {id for side in _SIDES for id in _under(f"Observation.component:{side}.value[x]", _OF_QUANTITY)},
    ),
    ("bp", "more"): (
        INSIDE_SLICES,
        {f"Observation.component:{side}.value[x]:valueQuantity" for side in _SIDES}
        | {
            id for side in _SIDES for id in _under(f"Observation.component:{side}.value[x]:valueQuantity", _OF_QUANTITY)
        },
    ),
    ("bp", "slicing"): (INSIDE_SLICES, {f"Observation.component:{side}.value[x]" for side in _SIDES}),
    ("cholesterol", "constraint"): (OF_THE_PROFILE, {"Observation.referenceRange.high"}),
    ("hdlcholesterol", "constraint"): (OF_THE_PROFILE, {"Observation.referenceRange.low"}),
    ("ldlcholesterol", "constraint"): (OF_THE_PROFILE, {"Observation.referenceRange.high"}),
    ("elementdefinition-de", "missing"): (
        UNFOLDED,
        _under("ElementDefinition.extension:Question", "id extension url value[x]")
        | _under("ElementDefinition.extension:AllowedUnits", "id extension url value[x]"),
    ),
}

PROBLEMS = {
    "familymemberhistory-genetic": {"relationship:Relationship", "sex:Sex", "condition:Condition"},
    "catalog": {"date:IssueDate"},
}
"""Slices of which nothing published says how they are told from others."""
