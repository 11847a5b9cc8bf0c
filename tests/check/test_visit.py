"""Checks of the record: what the cases cannot say. The cases themselves stand in tests/cases/C12x.yaml."""

from __future__ import annotations

from typing import Any

from bridge.check.visit import check_visit
from bridge.visit import Visit


def visit(**fields: Any) -> Visit:
    client = {"legal_name": {"family": "Quillfeather"}, "birth_date": "1950"}
    plain = {"number": "V7", "client": client, "start": "2026-05-03", "right": {"before": {"view": "full"}}}
    return Visit.model_validate({**plain, **fields})


def test_a_plain_visit_has_no_issues() -> None:
    assert check_visit(visit()) == []


def test_every_issue_names_the_visit() -> None:
    found = check_visit(visit(end="2026-05-02", right={"note": "left ear sore"}))
    assert [(i.rule, i.where.record) for i in found] == [("C123", "V7"), ("C122", "V7"), ("C142", "V7")]


def test_all_is_told_at_once_and_nobody_is_named() -> None:
    found = check_visit(
        visit(
            client={
                "legal_name": {"family": "Quillfeather"},
                "nhs_number": "943 476 5918",
                "birth_date": "2031-05-01",
            },
            end="2026-05-01",
            left={"note": "Quillfeather says the right ear hurts", "work": [{"method": "microsuction"}]},
            right={"after": {"wax": "none"}},
            requests=[{"action": "Please see Quillfeather about the left ear", "ear": "right"}],
        )
    )
    assert sorted(i.rule for i in found) == ["C120", "C121", "C122", "C123", "C124", "C125", "C126", "C143"]
    told = " ".join(f"{i.message} {i.where} {i.cause} {i.help}" for i in found)
    assert not any(secret in told for secret in ("Quillfeather", "943", "5918", "2031"))


def test_a_term_is_quoted_so_that_it_can_be_found() -> None:
    found = check_visit(visit(right={"symptoms": ["left ear blocked"]}))
    assert "left ear blocked" in found[0].message
