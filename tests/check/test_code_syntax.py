"""Codes by the syntax of their standard. Oracles: RFC 5646 (appendix A) and what FHIR itself publishes."""

from __future__ import annotations

import re
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.check import check_bundle
from bridge.check.code_syntax import (
    coding_fits,
    has_syntax,
    media_type_problem,
    syntax_problem,
    system_problem,
    usual_codes,
)
from bridge.fhir import tables
from tests.no_hang import no_hang
from tests.standards import standard_json

RFC_5646_APPENDIX_A = [
    "de", "fr", "ja", "i-enochian", "zh-Hant", "zh-Hans", "sr-Cyrl", "sr-Latn", "zh-cmn-Hans-CN",
    "cmn-Hans-CN", "zh-yue-HK", "yue-HK", "zh-Hans-CN", "sr-Latn-RS", "sl-rozaj", "sl-rozaj-biske",
    "sl-nedis", "de-CH-1901", "sl-IT-nedis", "hy-Latn-IT-arevela", "de-DE", "en-US", "es-419",
    "de-CH-x-phonebk", "az-Arab-x-AZE-derbend", "x-whatever", "qaa-Qaaa-QM-x-southern", "de-Qaaa-CH",
    "sr-Latn-QM", "sr-Qaaa-RS", "en-US-u-islamcal", "zh-CN-a-myext-x-private", "en-a-myext-b-another",
]  # fmt: skip
NOT_THERE = ["de-419-DE", "a-DE", "ar-a-aaa-b-bbb-a-ccc"]
"""The appendix's own wrong ones."""


@pytest.mark.parametrize("code", RFC_5646_APPENDIX_A)
def test_the_examples_of_the_rfc(code: str) -> None:
    assert syntax_problem("all-languages", code) is None
    assert system_problem("urn:ietf:bcp:47", code) is None
    assert syntax_problem("all-languages", code.upper()) is None


@pytest.mark.parametrize(
    "code", [*NOT_THERE, "english", "", " en", "en ", "en\n", "zz", "en-ZZZ1", "e", "x", "x-", "en-x", "en-a", "ｅｎ"]
)
def test_wrong_languages(code: str) -> None:
    assert syntax_problem("all-languages", code)


def test_every_published_language_is_one() -> None:
    """The standard's own set of common languages."""
    sets = standard_json("fhir-r4/valueset-expansions.json.gz")["entry"]
    common = next(e["resource"] for e in sets if e["resource"]["url"].endswith("/ValueSet/languages"))
    codes = [row["code"] for row in common["expansion"]["contains"]]
    assert len(codes) > 50
    assert [code for code in codes if syntax_problem("all-languages", code)] == []


def test_every_required_set_has_a_list_or_a_syntax() -> None:
    wanted = {e.codes for type in tables.types() for e in tables.elements(type).values() if e.codes}
    assert {name for name in wanted if tables.codes(name) is None} == {
        name for name in (*usual_codes(), "ucum-units", "http://loinc.org/vs/LL379-9") if has_syntax(name)
    }


def test_a_server_may_name_its_formats_in_short() -> None:
    assert syntax_problem("mimetypes", "json", "format") is None
    assert syntax_problem("mimetypes", "json", "sigFormat")
    assert syntax_problem("mimetypes", "pdf", "contentType")


@pytest.mark.parametrize(
    ("value_set", "coding", "fits"),
    [
        ("ucum-units", {"system": "http://unitsofmeasure.org", "code": "mm[Hg]"}, True),
        ("ucum-units", {"system": "http://unitsofmeasure.org", "code": "mmHg"}, False),
        ("ucum-units", {"system": "https://example.org", "code": "mm"}, False),
        ("ucum-units", {"code": "mm"}, False),
        ("ucum-units", {"system": "http://unitsofmeasure.org"}, False),
        ("ucum-units", {"system": "http://unitsofmeasure.org", "code": 3}, False),
        ("ucum-units", "mm", False),
        ("http://loinc.org/vs/LL379-9", {"system": "http://loinc.org", "code": "LA6692-3"}, True),
        ("http://loinc.org/vs/LL379-9", {"system": "http://loinc.org", "code": "deletion"}, False),
        ("anything else", {}, True),
    ],
)
def test_codings(value_set: str, coding: Any, fits: bool) -> None:
    assert coding_fits(value_set, coding) is fits


def test_a_concept_under_a_required_syntax() -> None:
    def found(unit: Any) -> set[tuple[str, str]]:
        risk = {
            "resourceType": "RiskEvidenceSynthesis",
            "status": "draft",
            "population": {"reference": "EvidenceVariable/a"},
            "outcome": {"reference": "EvidenceVariable/b"},
            "riskEstimate": {"unitOfMeasure": unit},
        }
        return {(i.rule, i.where.path) for i in check_bundle(risk) if i.rule in ("S111", "T110")}

    path = "RiskEvidenceSynthesis.riskEstimate.unitOfMeasure"
    assert found({"coding": [{"system": "http://unitsofmeasure.org", "code": "%"}]}) == set()
    assert found({"text": "percent"}) == {("S111", path)}
    wrong = {"coding": [{"system": "http://unitsofmeasure.org", "code": "percent"}]}
    assert found(wrong) == {("S111", path), ("T110", f"{path}.coding[0].code")}


LETTERS = st.text(st.sampled_from("aeinzxGB419/-+;= .p"), max_size=12)


@pytest.mark.parametrize("value_set", sorted(usual_codes()))
@settings(max_examples=400)
@given(
    code=st.one_of(LETTERS, st.sampled_from(["en", "en-GB", "application/pdf", "text/plain", "en\n", "text/x-a.b+c"]))
)
def test_usual_codes_have_nothing_wrong(value_set: str, code: str) -> None:
    if re.fullmatch(usual_codes()[value_set], code):
        assert syntax_problem(value_set, code) is None


def test_common_codes_are_usual() -> None:
    usual = {name: re.compile(pattern) for name, pattern in usual_codes().items()}
    assert all(usual["all-languages"].fullmatch(code) for code in ("en", "en-GB", "de", "pt-BR"))
    assert all(
        usual["mimetypes"].fullmatch(code)
        for code in ("application/pdf", "image/jpeg", "text/html", "application/fhir+xml")
    )


@pytest.mark.parametrize("more", [';a="' * 5_000, "; a=b " * 20_000, ';a="\\' * 5_000, ";a=b" + " " * 90_000])
def test_parameters_without_an_end_are_refused_in_time(more: str) -> None:
    with no_hang():
        assert media_type_problem(f"text/plain{more}\u00e9")
