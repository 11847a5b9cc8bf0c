"""No published definition is called wrong, but those whose file breaks the standard's own text.

Oracle: the definition files of FHIR R4 4.0.1, IPS 2.0.0 and UK Core (5,166 resources): value sets, code systems,
search parameters, structure and operation definitions, statements of capability. All of them are checked, by the
gate and by the careful walk.
"""

from __future__ import annotations

import pytest

from bridge.check import check_bundle
from bridge.check.conformance import careful, check_conformance
from bridge.issues import Issue, Severity, rules
from tests.check.published import FILES, name_of, published

FLAWED: dict[str, dict[str, set[str]]] = {
    "valueset-expansions": {
        # A parameter of type uri holds an OID with a version after a bar, as only a canonical may.
        "ValueSet/list-item-flag": {"S109"},
    },
}
"""File, resource and the rules that its file breaks."""
COUNTS = {
    "profiles-types": 63,
    "profiles-resources": 202,
    "profiles-others": 44,
    "extension-definitions": 393,
    "valuesets": 1167,
    "valueset-expansions": 553,
    "v2-tables": 852,
    "v3-codesystems": 359,
    "search-parameters": 1375,
    "uk-core-terminology": 90,
    "ips": 68,
}


@pytest.mark.parametrize("name", FILES)
def test_only_what_is_flawed_is_called_wrong(name: str) -> None:
    wrong: dict[str, set[str]] = {}
    count = 0
    for resource in published(name):
        count += 1
        if errors := {i.rule for i in check_bundle(resource) if is_error(i)}:
            wrong.setdefault(name_of(resource), set()).update(errors)
    assert count == COUNTS[name]
    assert wrong == FLAWED.get(name, {})


@pytest.mark.parametrize("name", FILES)
def test_the_gate_says_what_the_careful_walk_says(name: str) -> None:
    differing = [name_of(r) for r in published(name) if told(check_conformance(r)) != told(careful(r))]
    assert differing == []


def told(issues: list[Issue]) -> list[str]:
    return sorted(str(issue) for issue in issues)


def is_error(issue: Issue) -> bool:
    return issue.severity >= Severity.error and not rules()[issue.rule].trade
