"""The referral's page: what its receiver must meet first, and what the record says of the call."""

from __future__ import annotations

from typing import Any

import pytest
from lxml import html

from tests.referrals import raw, visit
from tests.render.pages import page_of


def page(kind: str = "referral", **changes: Any) -> Any:
    return html.document_fromstring(page_of(visit(**changes).model_dump(), kind).content.decode())


def text_of(node: Any) -> str:
    return " ".join(" ".join(node.itertext()).split())


def box(root: Any) -> str:
    return text_of(root.xpath("//section[@class='box']")[0])


def marks(root: Any) -> list[str]:
    return [text_of(p) for p in root.xpath("//p[@class='mark']")]


def pairs(root: Any) -> dict[str, str]:
    return {text_of(dt): text_of(dt.getnext()) for dt in root.iter("dt")}


def section(root: Any, title: str) -> str:
    return next(text_of(s) for s in root.iter("section") if s.find("h2") is not None and text_of(s.find("h2")) == title)


def test_receiver_urgency_question_and_client_come_before_the_ears() -> None:
    root = page()
    whole = text_of(root)
    ears = whole.index("The ears")
    for words in ("Dr Isolde Penhallow Overby ear clinic Ward Lane, Overby Phone 01632 960400", "Tobias Larkfell",
                  "8 February 1968", "07700 900311", "Hill Surgery", "Immediate. To be seen by 27 May 2026, 11:30",
                  "Please see him today."):  # fmt: skip
        assert words in whole[:ears], words


def test_the_box_tells_what_is_asked_and_why() -> None:
    found = pairs(page())
    assert {k: found[k] for k in ("Question", "Why", "About", "Rule", "Receiver told", "Client told")} == {
        "Question": "Please see him today.",
        "Why": "Hearing lost since yesterday, drum normal.",
        "About": "Left ear.",
        "Rule": "RF01: hearing loss that came on over 3 days or less, within the past 30 days, without a cause in the "
        "outer or middle ear (NICE NG98 1.1.2).",
        "Receiver told": "Phone, 26 May 2026, 12:00; taken by Dr Penhallow, ENT doctor on duty; agreed: He comes at "
        "14:00; receipt: called back at 12:20.",
        "Client told": "To go there today.",
    }


@pytest.mark.parametrize(
    ("changes", "headline"),
    [
        (
            {"referral__urgency": "urgent"},
            "Urgent. To be seen by 9 June 2026, that is within 2 weeks of the visit.",
        ),
        ({"referral__urgency": "urgent", "referral__by": "2026-06-05"}, "Urgent. To be seen by 5 June 2026. "),
        ({"referral__urgency": "routine"}, "Routine. "),
    ],
)
def test_how_soon(changes: dict[str, Any], headline: str) -> None:
    assert box(page(**changes)).startswith(f"Action for you {headline}")


CALLED = (
    "Immediate - a letter alone is not enough: the receiver is to be called at once. Told: Phone, 26 May 2026, 12:00; "
    "taken by Dr Penhallow, ENT doctor on duty; agreed: He comes at 14:00; receipt: called back at 12:20."
)
AT_ONCE = "Immediate - a letter alone is not enough: the receiver is to be called at once."
TAKEN = "taken by Dr Penhallow, ENT doctor on duty; agreed: He comes at 14:00; receipt: called back at 12:20)."
ALONE = {f"referral__{name}": None for name in ("told_by", "told_at", "told_to", "agreed", "receipt")}


@pytest.mark.parametrize(
    ("changes", "mark"),
    [
        ({}, [CALLED]),
        (ALONE, [f"{AT_ONCE} No call is recorded."]),
        (
            {"referral__told_by": "letter by post"},
            [f"{AT_ONCE} No call is recorded (noted as “letter by post”, 26 May 2026, 12:00; {TAKEN}"],
        ),
        (
            {**ALONE, "referral__told_by": "phone, no answer"},
            [f"{AT_ONCE} No call is recorded (noted as “phone, no answer”)."],
        ),
        ({"referral__told_at": None}, [f"{AT_ONCE} No call is recorded with its time (noted as “phone”; {TAKEN}"]),
        ({"referral__urgency": "urgent"}, []),
    ],
)
def test_an_immediate_one_says_first_that_a_letter_is_not_enough(changes: dict[str, Any], mark: list[str]) -> None:
    assert marks(page(**changes))[1:] == mark


@pytest.mark.parametrize("told_by", ["phone, no answer", "left voicemail"])
@pytest.mark.parametrize("kind", ["summary", "referral"])
def test_a_call_that_did_not_come_about_is_nowhere_told_as_one(told_by: str, kind: str) -> None:
    whole = text_of(page(kind, **{**ALONE, "referral__told_by": told_by}).body)
    assert f"No call is recorded (noted as “{told_by}”)." in whole
    assert "The receiver was called" not in whole
    assert whole.count(told_by) == whole.count(f"“{told_by}”")


def test_a_call_without_answer_is_quoted_whatever_the_urgency() -> None:
    told = pairs(page(referral__urgency="urgent", referral__told_by="phone, no answer"))["Receiver told"]
    assert told.startswith("Noted as “phone, no answer”, 26 May 2026, 12:00;")


def test_24_hours_are_not_counted_from_a_day() -> None:
    root = page(start="2026-05-26")
    assert "Immediate. To be seen within 24 hours of the visit." in text_of(root)
    assert "27 May 2026" not in text_of(root)


def test_the_emergency_services_and_local_rules_are_named() -> None:
    assert "Local rules come first; in an emergency, the emergency services." in box(page())


def test_the_receiver_meets_symptoms_medicines_and_needs() -> None:
    root = page()
    assert "sudden hearing loss, since 25 May 2026, came on over 1 day" in section(
        root, "Symptoms, with onset and speed"
    )
    assert "apixaban" in section(root, "Medications and medical devices")
    assert "anticoagulant" in section(root, "Relevant history and cautions")
    assert "lip-reads" in section(root, "Individual requirements")
    assert "Petra Sandholt (PS), Ear-care nurse, On no statutory register" in section(root, "Who refers")
    assert section(root, "Consent to refer and to share").endswith("What may be shared: visit summary and referral.")


def test_nothing_done_is_said_as_such() -> None:
    assert "Nothing was done (noted as “none”)." in text_of(page().xpath("//td[@headers='ear-left row-done']")[0])


def test_the_summary_names_the_referral_and_both_say_who_gets_which() -> None:
    root = page("summary")
    headline = "Referred to ear, nose and throat service (noted as “ENT”): Overby ear clinic, for the left ear."
    assert f"{headline} Immediate. The receiver was called." in box(root)
    lines = (
        "Who gets which letter Referral letter: Overby ear clinic (ENT). Visit summary: Hill Surgery (family doctor)."
    )
    assert section(root, "Who gets which letter") == section(page(), "Who gets which letter") == lines


def test_a_matter_of_no_ear_is_said() -> None:
    assert pairs(page(referral__ear="neither"))["About"] == "Not a matter of one ear."
    assert pairs(page(referral__ear="both"))["About"] == "Right ear and left ear."


def test_what_is_missing_is_said_and_not_filled_in() -> None:
    found = pairs(page(referral__rule=None, referral__client_told=None, referral__question=None, referral__ear=None))
    assert {found[k] for k in ("Question", "About", "Rule", "Client told")} == {"Not recorded."}


@pytest.mark.parametrize("path", ["question", "reason", "client_told", "agreed", "rule", "told_to"])
def test_markup_in_words_stays_words(path: str) -> None:
    hostile = "<script>alert(1)</script><b>x</b> & “y”"
    content = page_of(raw(**{f"referral__{path}": hostile}), "referral").content.decode()
    assert "<script" not in content
    assert "&lt;script&gt;alert(1)" in content


def test_a_name_of_its_own() -> None:
    assert [page_of(raw(), kind).name for kind in ("summary", "referral")] == [
        "M26-0201.html",
        "M26-0201.referral.html",
    ]
