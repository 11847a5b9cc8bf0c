"""In which language and by which habits a document is written, and read."""

from __future__ import annotations

import json
import random
from decimal import Decimal
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from bridge.build import Options, build_document
from bridge.check import check_bundle
from bridge.fhir.tell.words import amount, day, label, listed, moment, noted, told_in, words
from bridge.fhir.write_json import dumps
from bridge.issues import Severity
from bridge.receive import bundle_to_visits
from bridge.regions import document_language, region, region_of_language
from bridge.visit import Visit
from bridge.wording import catalogue, languages
from tests.generate import visit
from tests.wording.pseudo import TAG, pseudo_language

RAW = {
    "number": "V1", "start": "2026-11-03T14:05+00:00", "client": {"legal_name": {"family": "Ash"}},
    "sharing": {"status": "not asked"},
}  # fmt: skip


def _letter(raw: dict[str, object], options: Options, kind: str = "summary") -> dict[str, object]:
    return build_document(Visit.model_validate(raw), UUID(int=5), ZoneInfo("Europe/London"), kind, options)


@pytest.mark.parametrize(
    ("pack", "language", "tag"),
    [
        ("uk", "", "en-GB"), ("uk", "en", "en-GB"), ("uk", "qps", "qps-GB"), ("us", "qps", "qps-US"),
        ("us", "", "en-US"),
        ("international", "", "en"), ("international", "qps", "qps"),
    ],
)  # fmt: skip
def test_the_tag_tells_language_and_pack(pack: str, language: str, tag: str) -> None:
    assert document_language(region(pack), language) == tag == Options(pack, language=language).tag
    assert region_of_language(tag).name == pack


def test_days_are_written_as_the_pack_has_it_in_its_own_language_and_as_the_catalogue_in_another(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    when = "2026-11-03T14:05+00:00"
    with told_in("en-US"):
        assert (moment(when), day("2026-11")) == ("November 3, 2026, 2:05 pm", "November 2026")
    with told_in("en-GB"):
        assert moment(when) == "3 November 2026, 14:05"
    with pseudo_language(monkeypatch), told_in(f"{TAG}-US"):
        assert moment(when) == "3 ⟦Ńóṽéḿƀéŕ~~~⟧ 2026, 14:05"
    assert moment(when) == "3 November 2026, 14:05"


@pytest.mark.parametrize(
    ("items", "said"), [([], ""), (["a"], "a"), (["a", "b"], "a and b"), (["a", "b", "c"], "a, b and c")]
)
def test_lists(items: list[str], said: str) -> None:
    assert listed(items) == said


@pytest.mark.parametrize(
    ("quantity", "said"),
    [
        ({"value": "95", "code": "%", "unit": "%"}, "95%"), ({"value": 1, "code": "wk", "unit": "wk"}, "1 week"),
        ({"value": "2", "code": "wk", "unit": "wk"}, "2 weeks"),
        ({"value": "0.5", "code": "a", "unit": "a"}, "0.5 years"),
        ({"value": "1", "code": "[drp]", "unit": "drops"}, "1 drop"), ({"value": "3", "code": "1", "unit": "1"}, "3"),
        ({"value": "2", "code": "[drp]", "unit": "drops"}, "2 drops"), ({"value": "4", "unit": "mmHg"}, "4 mmHg"),
    ],
)  # fmt: skip
def test_amounts(quantity: dict[str, object], said: str) -> None:
    assert amount(quantity) == said


OWN = "urn:oid:2.25.315634712590341250083437118789586142799"
NORMAL = {"coding": [{"system": OWN, "code": "answer-normal", "display": "normal"}], "text": "normal"}


def test_the_display_of_our_own_code_is_no_local_word_in_another_language(monkeypatch: pytest.MonkeyPatch) -> None:
    with pseudo_language(monkeypatch), told_in(TAG):
        assert words(NORMAL) == label(NORMAL) == "⟦ńóŕḿáĺ~~⟧"
        assert noted({**NORMAL, "text": "NAD"}) == "NAD"
        practice = {"coding": [{"system": OWN, "code": "of-the-practice", "display": "ours"}]}
        assert label(practice) == "ours"
    assert words(NORMAL) == "normal"


@pytest.mark.parametrize("kind", ["summary", "client"])
@pytest.mark.parametrize("tag", sorted(languages()))
@pytest.mark.parametrize("reason", [None, "came in a hurry"])
def test_that_nobody_asked_is_read_back_from_any_language(tag: str, reason: str | None, kind: str) -> None:
    raw = {**RAW, "sharing": {"status": "not asked", **({"reason": reason} if reason else {})}}
    bundle = _letter(raw, Options("uk", language=tag), kind)
    assert bundle_to_visits(bundle)[0] == [Visit.model_validate(raw)]


@pytest.mark.parametrize("tag", sorted(languages()))
def test_a_letter_in_any_language_is_valid_and_read_back(tag: str) -> None:
    for seed in range(10):
        given = visit(random.Random(seed))
        options = Options(("uk", "us", "international")[seed % 3], language=tag)
        made = build_document(given, UUID(int=5), ZoneInfo("Europe/London"), options=options)
        bundle = json.loads(dumps(made), parse_float=Decimal)
        wanted = given if catalogue(tag).reviewed else given.model_copy(update={"approved": None})
        assert bundle_to_visits(bundle)[0] == [wanted]
        assert [i for i in check_bundle(bundle) if i.severity >= Severity.error] == []
