"""A letter says at its top that a red flag stands; what it says there is no fact of the visit."""

from __future__ import annotations

from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from lxml import html

from bridge.build import Options, build_collection, build_document, build_transaction
from bridge.check import check_bundle
from bridge.clinical_caution import clinical_caution
from bridge.receive import bundle_to_visits
from bridge.render.as_html import render
from bridge.shapes import Alert
from bridge.visit import Visit

GIVEN = UUID(int=5), ZoneInfo("Europe/London")
SOURCE = "Hearing loss in adults, NG98, NICE, 1.1.2"
WORDS = "The left ear lost hearing over 2 days, 5 days before the visit."
REFERRAL = {"to": "ENT", "urgency": "routine", "reason": "hearing loss", "question": "Why?", "ear": "left"}


def _visit(**more: Any) -> Visit:
    client = {"number": "C1", "legal_name": {"family": "Rowe", "given": ["Ann"]}, "birth_date": "1950-02-03"}
    start = "2026-05-03T10:00+01:00"
    return Visit.model_validate({"number": "V1", "client": client, "start": start, "practitioners": ["JM"], **more})


def _alert(**more: Any) -> Alert:
    return Alert(**{"rule": "C201", "flag": "RF01", "ear": "left", "urgency": "immediate", "words": WORDS,
                    "source": SOURCE, **more})  # fmt: skip


def _first(bundle: dict[str, Any]) -> dict[str, Any]:
    composition = bundle["entry"][0]["resource"]
    assert composition["resourceType"] == "Composition"
    section: dict[str, Any] = composition["section"][0]
    return section


def _said(bundle: dict[str, Any]) -> list[str]:
    return [str(p.text_content()) for p in html.fromstring(_first(bundle)["text"]["div"]).iter("p")]


@pytest.mark.parametrize("region", ["uk", "us", "international"])
@pytest.mark.parametrize("kind", ["summary", "referral"])
def test_an_immediate_flag_is_the_first_section_of_every_letter(region: str, kind: str) -> None:
    visit = _visit(referral=REFERRAL)
    bundle = build_document(visit, *GIVEN, kind, Options(region), [_alert()])
    section = _first(bundle)
    assert (section["title"], set(section)) == ("Needs attention now", {"title", "code", "text"})
    assert [c["code"] for c in section["code"]["coding"]][-2:] == ["104605-1", "section-alert"]
    found, caution = _said(bundle)
    assert caution == clinical_caution()
    assert found.startswith(f"{WORDS} The rule asks that the client be seen within 24 hours, by ")
    assert found.endswith(f". No referral is recorded. Source: {SOURCE}.")
    assert [code for code in ("RF01", "C201") if code in found] == []
    assert [i for i in check_bundle(bundle) if i.severity > 0 and "section[0]" in str(i.where)] == []
    assert bundle_to_visits(bundle)[0] == [visit]


def test_by_when_is_24_hours_from_the_start_of_the_visit() -> None:
    assert ", by 4 May 2026, 10:00. " in _said(build_document(_visit(), *GIVEN, alerts=[_alert()]))[0]
    by_day = build_document(_visit(start="2026-05-03"), *GIVEN, alerts=[_alert()])
    assert "seen within 24 hours. " in _said(by_day)[0]


@pytest.mark.parametrize(
    ("words", "ear", "begins"),
    [
        ("Hearing was lost.", "left", "Left ear: Hearing was lost."),
        ("The LEFT ear drips.", "left", "The LEFT ear drips."),
        ("The face droops.", None, "The face droops."),
        ("Unlike the left ear.", "right", "Right ear: Unlike the left ear."),
    ],
)
def test_every_flag_is_told_with_its_ear(words: str, ear: Any, begins: str) -> None:
    assert _said(build_document(_visit(), *GIVEN, alerts=[_alert(words=words, ear=ear)]))[0].startswith(
        f"{begins} The rule"
    )


def test_where_to_is_told_of_an_open_flag_only() -> None:
    to = ("emergency department", "ear, nose and throat service")
    said = _said(build_document(_visit(), *GIVEN, alerts=[_alert(to=to), _alert(to=to, ear="right", answered="Seen.")]))
    assert "Where to: emergency department; ear, nose and throat service. No referral is recorded." in said[0]
    assert "Where to" not in said[1]


def test_a_slower_referral_is_not_called_no_referral() -> None:
    said = _said(build_document(_visit(referral=REFERRAL), *GIVEN, alerts=[_alert(slower=True)]))
    assert said[0].count(". The referral recorded is slower than that. Source: ") == 1


def test_a_recorded_reason_is_told_after_what_nobody_answered() -> None:
    answered = _alert(ear="right", words="The right ear drips.", answered="seen there <today>")
    said = _said(build_document(_visit(), *GIVEN, alerts=[answered, _alert()]))
    assert said[0].startswith(WORDS)
    assert said[1].startswith("The right ear drips. This was noted as a red flag: the rule asks that the client")
    assert said[1].endswith(f"No referral was made. The reason recorded: Seen there <today>. Source: {SOURCE}.")
    assert len(said) == 3


@pytest.mark.parametrize("alerts", [[], [_alert(urgency="urgent")], [_alert(urgency="routine")]])
def test_a_letter_without_an_immediate_flag_says_nothing_of_flags(alerts: list[Alert]) -> None:
    bundle = build_document(_visit(), *GIVEN, alerts=alerts)
    assert _first(bundle)["title"] != "Needs attention now"
    assert bundle == build_document(_visit(), *GIVEN)
    assert b'class="attention"' not in render(bundle).content


def test_the_page_has_it_in_a_box_before_anything_else() -> None:
    page = html.fromstring(render(build_document(_visit(), *GIVEN, alerts=[_alert()])).content.decode())
    (box,) = page.xpath('//section[@class="alert"]')
    assert next(e.tag for e in box.itersiblings(preceding=True)) == "h1"
    assert [p.text_content() for p in box.iter("p")][1] == clinical_caution()
    assert str(page.text_content()).count(WORDS) == 1


def test_words_of_a_record_cannot_break_out_of_the_box() -> None:
    told = "</p></div><script>alert(1)</script>"
    bundle = build_document(_visit(), *GIVEN, alerts=[_alert(answered=told)])
    assert [i for i in check_bundle(bundle) if i.rule[0] == "N"] == []
    page = render(bundle).content.decode()
    assert ("<script" in page, "&lt;script&gt;" in page) == (False, True)


def test_a_transaction_says_it_and_a_collection_has_no_letter_to_say_it_in() -> None:
    sent = build_transaction(_visit(), *GIVEN, alerts=[_alert()])
    assert [e for e in sent["entry"] if "Needs attention now" in str(e)] != []
    assert "Needs attention now" not in str(build_collection(_visit(), *GIVEN))
    assert bundle_to_visits(sent)[0] == [_visit()]


def test_where_every_flag_has_a_reason_the_title_does_not_call_for_attention() -> None:
    bundle = build_document(_visit(), *GIVEN, alerts=[_alert(answered="seen there today")])
    assert _first(bundle)["title"] == "Red flag noted"
