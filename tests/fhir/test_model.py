"""The second opinion of fhir.resources: it objects where it should, and its words quote no value."""

from bridge.fhir.model import second_opinion, typed

PATIENT = {"resourceType": "Patient", "birthDate": "1950-12-31"}


def test_a_good_resource_is_taken() -> None:
    assert second_opinion(PATIENT) == []
    assert typed(PATIENT).birthDate.year == 1950


def test_an_objection_names_the_place_and_not_the_value() -> None:
    (found,) = second_opinion({**PATIENT, "birthDate": "31/12/1950"})
    assert found.rule == "S180"
    assert "birthDate" in found.where.path
    assert "1950" not in found.message


def test_an_unknown_type_is_no_fault() -> None:
    (found,) = second_opinion({"resourceType": "Nothing"})
    assert found.rule == "S180"
