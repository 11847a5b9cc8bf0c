"""Fixed values and patterns, by the text of https://hl7.org/fhir/R4/elementdefinition-definitions.html."""

from decimal import Decimal
from typing import Any

import pytest

from bridge.check.profiles.same import fits, fixed

CODING = {"system": "http://loinc.org", "code": "8480-6"}
MORE = {**CODING, "display": "Systolic blood pressure"}
OTHER = {"system": "http://loinc.org", "code": "8462-4"}


@pytest.mark.parametrize(
    ("wanted", "value", "is_fixed", "is_fitting"),
    [
        ("a", "a", True, True),
        ("a", "A", False, False),
        ("1", 1, False, False),
        (True, 1, False, False),
        (True, True, True, True),
        (1, Decimal("1.0"), True, True),
        (0.1, Decimal("0.10"), True, True),
        (CODING, CODING, True, True),
        (CODING, MORE, False, True),
        (MORE, CODING, False, False),
        ({"coding": [CODING]}, {"coding": [CODING]}, True, True),
        ({"coding": [CODING]}, {"coding": [OTHER, MORE], "text": "x"}, False, True),
        ({"coding": [CODING, OTHER]}, {"coding": [OTHER, CODING]}, False, True),
        ({"coding": [CODING, OTHER]}, {"coding": [CODING]}, False, False),
        ({"coding": [CODING]}, {"text": "x"}, False, False),
        ({"coding": [CODING]}, {"coding": CODING}, False, False),
        (CODING, "8480-6", False, False),
        (CODING, None, False, False),
        ({"given": ["A"], "_given": [{"id": "1"}]}, {"given": ["A"], "_given": [{"id": "1"}]}, True, True),
    ],
)
def test_fixed_is_all_and_a_pattern_is_the_least(wanted: Any, value: Any, is_fixed: bool, is_fitting: bool) -> None:
    assert fixed(wanted, value) is is_fixed
    assert fits(wanted, value) is is_fitting
