"""Head, asks, the four answers and the end of the letter, in the very words."""

from __future__ import annotations

from typing import Any

import pytest
from lxml import html

from bridge.render.as_html import render
from tests.render.pages import bundle_of, page_of

CLIENT = {
    "number": "C-1010",
    "legal_name": {"prefix": "Mr", "given": ["Osric"], "family": "Holm"},
    "usual_name": {"given": ["Ozzie"], "family": "Holm"},
    "former_names": [{"given": ["Osric"], "family": "Dunleavey"}],
    "birth_date": "1958-11-23",
    "sex": "male",
    "nhs_number": "9990000018",
    "nhs_number_status": "01",
    "address": {"lines": ["31 Weirside"], "city": "Aldersby", "postcode": "ZX9 1JR"},
}
RAW: dict[str, Any] = {
    "number": "M-7",
    "client": CLIENT,
    "clinic": {"name": "Millbrook Ear Care", "phone": "01632 960100", "hours": "Mon to Fri 9 to 17"},
    "practitioners": [
        {"key": "JM", "name": {"given": ["Jo"], "family": "Moss"}, "role": "Ear-care nurse", "no_register": True}
    ],
    "family_doctor": {"practice": "Hill Surgery", "doctor": "Dr Ada Fell"},
    "start": "2026-11-03T10:15+00:00",
    "end": "2026-11-03T10:40+00:00",
}


def root_of(**changes: Any) -> Any:
    return html.document_fromstring(page_of({**RAW, **changes}).content.decode())


def text_of(node: Any) -> str:
    return " ".join(node.text_content().split())


def pairs(root: Any) -> dict[str, str]:
    return {text_of(dt): text_of(dt.getnext()) for dt in root.iter("dt")}


def cell(root: Any, ear: str, row: str) -> str:
    return text_of(root.xpath(f"//td[@headers='ear-{ear} row-{row}']")[0])


def test_the_client_can_be_matched() -> None:
    assert pairs(root_of()) == {
        "Visit": "3 November 2026, 10:15 to 10:40",
        "Letter of": "3 November 2026, 10:40",
        "Reference": "M-7, version 1",
        "Name": "Mr Osric Holm",
        "Usual name": "Ozzie Holm",
        "Former name": "Osric Dunleavey",
        "Born": "23 November 1958",
        "Sex": "Male",
        "Address": "31 Weirside, Aldersby, ZX9 1JR",
        "NHS number": "999 000 0018 (number present and verified)",
        "Clinic’s number": "C-1010",
    }


def test_what_is_not_known_of_the_client_is_said() -> None:
    found = pairs(root_of(client={"legal_name": {"family": "Holm"}}))
    assert [found[k] for k in ("Born", "Sex", "Address", "NHS number")] == ["Not recorded"] * 4


@pytest.mark.parametrize(
    ("doctor", "words"),
    [
        ({"practice": "Hill Surgery", "doctor": "Dr Ada Fell"}, "To Dr Ada Fell Hill Surgery"),
        ("none", "To No registered family doctor"),
        ("unknown", "To Family doctor not known"),
        ("abroad", "To Family doctor abroad"),
        ({"answer": "abroad", "note": "Lyon"}, "To Family doctor abroad Lyon"),
        (None, "To Family doctor not recorded"),
    ],
)
def test_the_recipient(doctor: Any, words: str) -> None:
    assert text_of(root_of(family_doctor=doctor).xpath("//section[@aria-labelledby='head-2']")[0]) == words


def test_draft_approval_and_correction_are_said() -> None:
    marks = [text_of(p) for p in root_of().xpath("//p[@class='mark']")]
    assert marks == ["Draft - not yet approved by the practitioner"]
    approved = root_of(version=3, replaces=2, approved={"by": "JM", "at": "2026-11-03T12:00+00:00"})
    assert [text_of(p) for p in approved.xpath("//p[@class='mark']")] == [
        "Corrected: this letter replaces what was sent for version 2 of this record, if anything was"
    ]
    assert pairs(approved)["Reference"] == "M-7, version 3"
    assert pairs(approved)["Approved"] == "by Jo Moss, 3 November 2026, 12:00"


def test_asks_in_their_order() -> None:
    root = root_of(requests=[{"action": "Please look.", "ear": "left", "by_when": "2026-12-01"}, "Please note"])
    found = [text_of(li) for li in root.xpath("//ol/li")]
    assert found == ["Please look. Left ear. By 1 December 2026.", "Please note. No date is recorded."]


def test_no_ask_and_no_record_of_one_are_two_things() -> None:
    box = "//section[@class='box']"
    assert text_of(root_of(no_request=True).xpath(box)[0]) == (
        "Action for you None. Nothing is asked of the family doctor."
    )
    assert text_of(root_of().xpath(box)[0]) == "Action for you No request to the family doctor is recorded."


@pytest.mark.parametrize(
    ("drum", "seen", "limits"),
    [
        ("normal", "Eardrum: looked normal. Not recorded: wax and ear canal.", "Nothing of this kind is recorded"),
        (
            "not seen (wax)",
            "No finding; see what could not be seen, below",
            "Eardrum, before the work: could not be seen (wax).",
        ),
        (
            "not examined (declined)",
            "No finding; see what could not be seen, below",
            "Eardrum, before the work: not examined (declined).",
        ),
    ],
)
def test_three_answers_are_three_wordings(drum: str, seen: str, limits: str) -> None:
    root = root_of(right={"before": {"drum": drum}})
    assert (cell(root, "right", "before"), cell(root, "right", "limits")) == (seen, limits)


@pytest.mark.parametrize(
    ("before", "after", "limits"),
    [
        ("not seen (wax)", "not seen (wax)", "Eardrum, before and after the work: could not be seen (wax)."),
        (
            "not seen (wax)",
            "not seen (blood)",
            "Eardrum, before the work: could not be seen (wax). Eardrum, after the work: could not be seen (blood).",
        ),
        (
            "not seen",
            "not examined",
            "Eardrum, before the work: could not be seen. Eardrum, after the work: not examined.",
        ),
    ],
)
def test_what_was_seen_at_neither_look_is_said_once(before: str, after: str, limits: str) -> None:
    root = root_of(right={"before": {"drum": before}, "after": {"drum": after}})
    assert cell(root, "right", "limits") == limits


@pytest.mark.parametrize(
    ("before", "line"),
    [
        ({"wax": "none"}, "Not recorded: ear canal and eardrum."),
        ({"wax": "none", "canal": "normal"}, "Not recorded: eardrum."),
        ({"view": "full", "outer_ear": "normal"}, "Not recorded: wax, ear canal and eardrum."),
        ({"wax": "none", "canal": "normal", "drum": "not seen (wax)"}, None),
        ({"wax": "none", "canal": "normal", "drum": "normal"}, None),
    ],
)
def test_a_part_without_a_word_is_said_to_be_not_recorded(before: dict[str, str], line: str | None) -> None:
    told = cell(root_of(right={"before": before}), "right", "before")
    assert told.endswith(line) if line else "Not recorded" not in told


def test_the_fourth_answer_is_not_recorded() -> None:
    root = root_of(right={"before": {"drum": "normal"}})
    assert cell(root, "right", "after") == "Not recorded"
    assert [cell(root, "left", row) for row in ("before", "done", "after", "limits")] == ["Not recorded"] * 4


def test_a_whole_ear_not_examined_says_so_where_one_looks_first() -> None:
    root = root_of(left="not examined (declined)")
    assert cell(root, "left", "before") == "Not examined (declined)."
    assert cell(root, "left", "limits") == "The ear, before the work: not examined (declined)."


def test_the_work_with_all_that_belongs_to_it() -> None:
    work = {
        "method": "microsuction",
        "why": "Quick.",
        "instruments": [{"name": "fine end", "size": {"value": "18", "scale": "G"}}],
        "suction": {"pressure": {"value": "120", "unit": "mm[Hg]"}},
        "pain_before": 0,
        "pain_peak": 2,
        "events": [{"term": {"text": "bleeding", "assertion": "absent"}}],
        "outcome": "partial",
        "outcome_reason": "pain",
    }
    assert cell(root_of(right={"work": [work]}), "right", "done") == (
        "Microsuction. Outcome: partial (reason: pain). Why this method: Quick. Instrument: fine end, size 18 G. "
        "Settings: suction 120 mmHg. Pain from 0 to 10: before the work 0; worst during the work 2. "
        "Event: “bleeding” (that is, not present)."
    )


def test_who_wrote_it_and_where_it_came_from() -> None:
    root = root_of(source_sha256="ab" * 32)
    author = text_of(root.xpath("//section[@aria-labelledby='section-who']")[0])
    assert author == "Who wrote this Jo Moss (JM), Ear-care nurse, On no statutory register."
    sender = text_of(root.xpath("//*[@id='head-1']/..")[0])
    assert "Phone 01632 960100 Mon to Fri 9 to 17" in sender
    footer = text_of(root.find(".//footer"))
    assert f"The record’s SHA-256 begins {'ab' * 8}." in footer
    assert "The doctor decides what follows; local rules come first." in footer


def test_every_text_of_every_resource_is_on_the_page() -> None:
    """Whatever a narrative of the bundle says in words is on the page, under whichever heading."""
    raw = {**RAW, "note": "Came by bus.", "advice": ["keep dry"], "follow_up": "six months", "access_needs": []}
    raw["medicines"] = [{"name": "apixaban", "dose": "5 mg"}]
    raw["allergies"] = [{"term": "latex", "reaction": "rash"}]
    raw["softeners"] = [{"name": "olive oil"}]
    page = text_of(html.document_fromstring(page_of(raw).content.decode()))
    for words in ("Came by bus", "Keep dry", "Six months", "apixaban, 5 mg", "latex", "rash", "olive oil"):
        assert words in page


def test_a_fact_under_no_heading_is_still_told() -> None:
    bundle = bundle_of({**RAW, "note": "Came by bus."})
    composition = bundle["entry"][0]["resource"]
    composition["section"] = [s for s in composition["section"] if s["title"] != "Clinical summary"]
    page = text_of(html.document_fromstring(render(bundle).content.decode()))
    assert "Also in this document Came by bus." in page


def test_a_referral_stands_in_the_first_box() -> None:
    """Whoever reads only the box must learn that the client was sent on, and that a call is needed."""
    from uuid import UUID
    from zoneinfo import ZoneInfo

    from lxml import html

    from bridge.build import build_document
    from bridge.render.as_html import render
    from bridge.visit import Visit

    visit = Visit.model_validate(
        {
            "number": "R1",
            "client": {"legal_name": {"family": "Quill"}},
            "start": "2026-11-03",
            "referral": {
                "to": "ENT",
                "urgency": "immediate",
                "reason": "Sudden loss of hearing since yesterday.",
                "ear": "left",
            },
        }
    )
    page = render(build_document(visit, UUID(int=7), ZoneInfo("Europe/London")))
    (box,) = html.fromstring(page.content.decode()).xpath("//section[@class='box']")
    told = " ".join(box.text_content().split())
    assert "Referred to ENT, for the left ear. Immediate. A letter alone is not enough for this" in told


def test_a_percentage_says_of_what_it_is() -> None:
    drum = {"findings": [{"term": "perforation", "percent": 30}]}
    canal = {"findings": [{"term": "exostoses", "percent": 50}]}
    (page,) = [root_of(right={"before": {"drum": drum, "canal": canal}})]
    said = cell(page, "right", "before")
    assert "30% of the pars tensa missing" in said
    assert "50% of the width narrowed" in said


@pytest.mark.parametrize(
    ("scope", "said"),
    [
        ([], "Scope not recorded, taken to be the visit summary."),
        (["referral"], "What may be shared: referral."),
    ],
)
def test_the_scope_of_consent_is_said(scope: list[str], said: str) -> None:
    root = root_of(sharing={"status": "given", **({"scope": scope} if scope else {})})
    assert said in text_of(root.find(".//main"))
    assert ("Scope not recorded" in text_of(root.find(".//main"))) == (not scope)


def test_the_visit_s_day_and_the_author_stand_once() -> None:
    root = root_of(reasons=["itch"])
    told = text_of(root.xpath("//section[@aria-labelledby='section-reason']")[0])
    assert "Jo Moss" not in told
    assert "2026" not in told
    assert "Came because of: " in told
