"""What is remembered of visits that are not wanted: enough to find a clash, in little memory, and no more."""

from __future__ import annotations

from typing import Any

import pytest

from bridge.issues import Where
from bridge.others_met import OthersMet
from tests.build.ips.some import CLIENT, visit

OTHER = {**CLIENT, "number": "C-2", "legal_name": {"family": "Reed"}, "birth_date": "1961-07-21"}
HERE = Where("sheet.csv", row=9)


def met(*visits: Any) -> OthersMet:
    found = OthersMet()
    for row, one in enumerate(visits, start=2):
        found.enter(one, Where("sheet.csv", row=row))
    return found


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({}, "row 2"),
        ({"number": "v1"}, "row 2"),
        ({"number": "V2"}, ""),
        ({"clinic": {"name": "THE INVENTED CLINIC"}}, "row 2"),
        ({"clinic": {"name": "Alder Hearing"}}, ""),
        ({"clinic": None}, "row 2"),
        ({"client": OTHER}, ""),
        ({"client": {**OTHER, "number": None}}, ""),
        ({"client": {**OTHER, "number": None, "birth_date": None}}, ""),
        ({"client": {**OTHER, "number": None, "birth_date": "1962"}}, "row 2"),
    ],
)
def test_a_version_of_another_client_is_found_where_it_stands(changed: dict[str, Any], told: str) -> None:
    assert (
        met(visit(1, client=OTHER), visit(1, client=OTHER, version=2)).other_version(visit(1, **changed), HERE) == told
    )


def test_what_stands_first_under_a_number_hides_nothing() -> None:
    clinics = [visit(1, client=OTHER, clinic={"name": f"Clinic {n}"}) for n in range(10)]
    assert met(*clinics).other_version(visit(1), HERE) == ""
    assert met(*clinics, visit(1, client=OTHER)).other_version(visit(1), HERE) == "row 12"
    assert met(visit(1, client={**CLIENT, "number": None}), visit(1, client=OTHER)).other_version(visit(1), HERE)


def test_many_under_one_number_stay_few() -> None:
    visits = [visit(1, client={**OTHER, "number": f"C-{n}"}) for n in range(2, 200)]
    found = met(*visits, *visits)
    assert (len(found._whose), len(found.clients)) == (16, 198)
    assert found.other_version(visit(1), HERE) == "row 2"


def test_a_visit_of_a_known_client_costs_two_numbers() -> None:
    found = met(*(visit(1, number=f"V{n}", client=OTHER) for n in range(500)))
    assert (len(found._whose), len(found._where), len(found.clients), len(found._clinics)) == (500, 500, 1, 1)
