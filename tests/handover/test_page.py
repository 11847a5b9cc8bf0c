"""The index page: the right ear, the four answers apart, hazards that stand, were denied, or that nobody recorded."""

from __future__ import annotations

import re
from typing import Any

import pytest

from bridge.data import load_csv, table_path
from bridge.handover import Around, contents
from bridge.pipeline import Converter
from bridge.render.handover.hazards import hazard_concepts
from tests.build.ips.some import visit
from tests.handover.some import DEMO, coded, collected, converter, made_of, page_of, section

EARS = {
    "right": {"before": {"view": "full", "drum": "normal", "canal": "normal"}},
    "left": {"before": {"view": "partial", "drum": "not seen (wax)", "canal": "not examined (declined)"}},
}


def cells(page: str, key: str, at: int) -> tuple[str, str]:
    """What one row of the ears of a visit says of the right ear and of the left ear."""
    found = [
        re.search(rf'<td headers="ear-{ear}-visit-{at} row-{key}-visit-{at}">(.*?)</td>', page, re.DOTALL)
        for ear in ("right", "left")
    ]
    right, left = ("" if one is None else " ".join(re.sub(r"<[^>]*>", " ", one[1]).split()) for one in found)
    return right, left


def test_the_four_answers_stay_apart_on_their_own_side() -> None:
    page = page_of(made_of(coded(visit(1, **EARS))))
    right, left = cells(page, "before", 1)
    assert "looked normal" in right
    assert "looked normal" not in left
    right, left = cells(page, "limits", 1)
    assert "could not be seen" in left
    assert "not examined" in left
    assert "could not be seen" not in right
    assert cells(page, "after", 1) == ("Not recorded", "Not recorded")
    told = section(page, "answers")
    for words in ("Looked normal", "Could not be seen", "Not examined", "Not recorded"):
        assert words in told


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_four_answers_are_explained_in_the_words_that_the_page_uses(language: str) -> None:
    practice = converter().practice.model_copy(update={"language": language})
    by = Converter(practice, DEMO)
    record, _, one = collected(coded(visit(1, approved=None, **EARS)), by=by)
    assert record is not None
    page = page_of(contents(record, one, by, (), Around("2026-11-26")))
    explained = [line.rstrip(":") for line in section(page, "answers").split("\n")[1::2]]
    ears = " ".join(" ".join(cells(page, row, 1)) for row in ("before", "after", "limits"))
    assert len(explained) == 4
    assert [words for words in explained if words.casefold() not in ears.casefold()] == []


def rows(page: str) -> list[list[str]]:
    told = re.search(r'aria-labelledby="section-hazards">(.*?)</section>', page, re.DOTALL)
    assert told
    found = re.findall(r"<tr>(.*?)</tr>", told[1], re.DOTALL)
    return [
        [re.sub(r"<[^>]*>", "", cell).strip() for cell in re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row)]
        for row in found
    ][1:]


def test_a_hazard_that_nobody_recorded_is_not_one_that_was_denied() -> None:
    page = page_of(made_of(coded(visit(1, right={"history": ["no perforation"]}))))
    found = {row[0]: row for row in rows(page)}
    assert found["Perforation of the drum"][3] == "looked for or asked, and denied"
    assert found["Ear surgery"][2:4] == ["Not recorded", "–"]


def test_hazards_of_the_right_ear_and_day() -> None:
    first = coded(visit(1, left={"history": ["perforation"]}, cautions=[{"term": "only hearing ear", "ear": "right"}]))
    second = coded(visit(2, left={"before": {"drum": ["?perforation"]}}, cautions=["warfarin", "anticoagulant"]))
    found = rows(page_of(made_of(first, second)))
    assert [
        "Perforation of the drum",
        "Left ear",
        "perforation (perforation of the drum)",
        "in the past",
        "10 January 2026",
    ] in found
    assert [r[1:2] + r[3:] for r in found if r[0] == "Perforation of the drum"] == [
        ["Left ear", "in the past", "10 January 2026"], ["Left ear", "suspected, not confirmed", "10 February 2026"],
    ]  # fmt: skip
    assert ["Only hearing ear", "Right ear", "only hearing ear", "stated", "10 January 2026"] in found
    assert any(r[0] == "Anticoagulant, or bleeds easily" and r[2].startswith("anticoagulant") for r in found)


def test_what_one_visit_names_and_another_denies() -> None:
    first, second = visit(1, left={"history": ["perforation"]}), visit(2, left={"history": ["no perforation"]})
    told = section(page_of(made_of(coded(first), coded(second))), "hazards")
    assert "Some visit names and another denies: Perforation of the drum." in told
    other = visit(2, right={"history": ["no perforation"]})
    assert "Some visit names" not in section(page_of(made_of(coded(first), coded(other))), "hazards")


def test_standing_words_without_a_code_are_not_lost() -> None:
    told = section(
        page_of(made_of(coded(visit(1, right={"history": ["zonked by a gong"]}, cautions=["glass bones"])))), "hazards"
    )
    assert "zonked by a gong" in told
    assert "glass bones" in told


def test_every_medicine_stands_at_the_top_also_one_that_no_table_knows() -> None:
    """A blood thinner spelt in a way that nobody coded is the one that matters most."""
    taken = {"items": ["warfarin", "wafrarin 3 mg"]}
    found = [row[::2] for row in rows(page_of(made_of(coded(visit(1, medicines=taken)))))]
    assert ["Medicines", "wafrarin 3 mg", "10 January 2026"] in found
    assert [row[0] for row in found if row[1].startswith("warfarin")] == ["Anticoagulant, or bleeds easily"]
    none = {row[0]: row[2] for row in rows(page_of(made_of(visit(1, medicines={"answer": "none"}))))}
    assert (none["Medicines"], none["Other cautions and history"]) == ("asked: takes no medicines", "Not recorded")


def test_consents_that_are_alike_are_told_together_with_every_day() -> None:
    asked = {"consent": {"status": "given"}}
    refused = visit(4, sharing={"status": "refused"}, **asked)
    told = section(page_of(made_of(visit(1, **asked), visit(2, **asked), refused, visit(5, **asked))), "consents")
    assert told.count("To share") == 3, "five and four by themselves, two and one together"
    newest, without, alike = told.index("10 May 2026"), told.index("10 April 2026"), told.index("10 February 2026")
    assert newest < without < alike
    assert re.search(r"Answered so at 2 visits:?\s+10 February 2026, visit V2; 10 January 2026, visit V1", told)


def test_a_recall_without_a_day_is_two_sentences() -> None:
    told = section(page_of(made_of(visit(1, follow_up={"plan": "review in 6 months"}))), "open")
    assert "eview in 6 months. No day is recorded." in told


def test_each_visit_says_where_and_amendments_say_who_by_name() -> None:
    before = visit(1, clinic={"name": "Alder Hearing"})
    after = before.model_copy(update={"version": 2, "replaces": 1, "note": "Corrected."})
    page = page_of(made_of(before, after, visit(2)))
    assert len(re.findall(r"Seen at.{0,80}Alder Hearing", page, re.DOTALL)) == 1
    assert len(re.findall(r"Seen at.{0,80}The invented clinic", page, re.DOTALL)) == 1
    assert "approved by Moss (JM)" in page


def test_every_concept_of_the_hazards_is_one() -> None:
    known = {
        row["concept"]
        for path in table_path("terms").glob("*.csv")
        if path.name != "kinds.csv"
        for row in load_csv(path)
    }
    named = [concept for concepts in hazard_concepts().values() for concept in concepts]
    assert set(named) <= known
    assert len(named) == len(set(named))
    assert [*hazard_concepts()][-1] == "other"


@pytest.mark.parametrize(
    ("drums", "day", "words"),
    [
        ([{"seen": "whole", "findings": ["scar"]}, "not seen (wax)"], "10 January 2026", "Whole drum last seen"),
        (
            [{"seen": "whole", "findings": ["scar"]}, {"seen": "partly", "findings": ["scar"]}],
            "10 January 2026",
            "Whole drum last seen",
        ),
        (
            [{"seen": "whole", "findings": ["scar"]}, {"seen": "whole", "answer": "normal"}],
            "10 February 2026",
            "Whole drum last seen",
        ),
        (["not seen (wax)", {"seen": "partly", "findings": ["scar"]}], "10 February 2026", "Last look at the drum"),
    ],
)
def test_the_baseline_is_the_last_full_view(drums: list[Any], day: str, words: str) -> None:
    made = made_of(*(coded(visit(n, left={"before": {"drum": drum}})) for n, drum in enumerate(drums, 1)))
    told = section(page_of(made), "baseline")
    assert f"{words} on {day}" in told
    assert "No visit records a view of the whole drum." in told, "of the right ear nothing is recorded"


def test_what_worked_stands_apart_from_what_did_not() -> None:
    def work(outcome: str, **more: Any) -> dict[str, Any]:
        return {"right": {"work": [{"method": "microsuction", "outcome": outcome, **more}]}}

    tube = {"instruments": [{"name": "suction tube", "size": {"value": 18, "scale": "G"}}]}
    suction = {"suction": {"pressure": {"value": 120, "unit": "mm[Hg]"}, "taken": "set"}}
    good = coded(visit(1, **work("complete", **tube, **suction), softeners=["olive oil"]))
    bad = coded(visit(2, **work("stopped", events=["vertigo"], note="lay flat")))
    told = section(page_of(made_of(good, bad)), "worked")
    worked, other = told.split("Ended otherwise")
    for words in ("18 gauge", "suction 120 mmHg as set", "before the visit: olive oil", "complete", "10 January 2026"):
        assert words in worked
    for words in ("vertigo", "lay flat", "stopped", "10 February 2026"):
        assert words in other
    assert "not recorded" in other
    assert "Right ear, 10 January 2026, V1" in worked
    assert "Left ear" not in told


def test_softeners_without_any_work_are_told() -> None:
    drops = [{"name": "olive oil", "when": "advised"}]
    first = visit(1, softeners=["olive oil", "sodium bicarbonate"])
    second = visit(2, left={"work": [{"method": "softening", "products": drops}]})
    told = section(page_of(made_of(coded(first), coded(second))), "worked")
    after = told.split("Softeners and drops")[1]
    for words in ("olive oil, advised", "olive oil, before the visit", "sodium bicarbonate, before the visit"):
        assert words in after
    assert after.index("10 February 2026") < after.index("10 January 2026")
    assert "None are recorded." in section(page_of(made_of(visit(1))), "worked").split("Softeners and drops")[1]


def test_what_is_open() -> None:
    first = visit(
        1,
        referral={"to": "ENT", "urgency": "urgent", "reason": "a polyp", "ear": "left"},
        requests=["please examine the drum"],
        follow_up={"plan": "come back", "due": "2026-07"},
        left={"after": {"drum": ["perforation"]}},
    )
    told = section(page_of(made_of(coded(first), coded(visit(2, no_request=True)))), "open")
    for words in ("a polyp", "ask whether one came", "lease examine the drum", "Due: July 2026.", "perforation"):
        assert words in told
    right, left = told.split("Left ear: what the last look found")
    assert "No look at this ear is recorded." in right
    assert "Eardrum:\nperforation" in left
    bare = section(page_of(made_of(visit(1))), "open")
    assert "No referral is recorded." in bare
    assert "No request to the family doctor is recorded." in bare
    assert bare.count("No look at this ear is recorded.") == 2
    asked = section(page_of(made_of(visit(1, no_request=True))), "open")
    assert "Nothing is asked, as the newest visit says." in asked


WAX = {"before": {"wax": "impacted", "view": "partial", "drum": "not seen (wax)"}, "impressions": ["impacted wax"]}
CLEAR = {"after": {"wax": "none", "drum": "normal", "view": "full"}}


def work(outcome: str) -> dict[str, Any]:
    return {"work": [{"method": "microsuction", "outcome": outcome}]}


def test_what_the_same_visit_removed_is_not_open() -> None:
    told = section(page_of(made_of(coded(visit(1, right={**WAX, **work("complete"), **CLEAR}, left=WAX)))), "open")
    _, _, thought = told.partition("and not called past")
    still, _, settled = thought.partition("ended by the work of the same visit")
    assert "Left ear" in still
    assert "Right ear" not in still
    assert "Right ear" in settled
    assert "Left ear" not in settled
    partly = section(page_of(made_of(coded(visit(1, right={**WAX, **work("partial")})))), "open")
    assert "ended by the work" not in partly
    later = visit(2, right={**WAX, **work("complete"), **CLEAR})
    standing = {**WAX, "impressions": [{"term": "impacted wax", "standing": True}]}
    told = section(page_of(made_of(coded(visit(1, right=standing)), coded(later))), "open")
    assert "and not called past" not in told


def test_a_drawing_without_any_work_is_not_called_one_before_it() -> None:
    page = page_of(made_of(coded(visit(1, **EARS))))
    told = section(page, "baseline")
    _, _, after = page.partition("section-baseline")
    assert "before the work" not in after.partition("</section>")[0], "nor in the words for who cannot see it"
    assert "Right ear, " in told
    done = {"right": {"before": {"drum": "normal", "view": "full"}, **work("complete")}}
    assert "Right ear before the work" in section(page_of(made_of(coded(visit(1, **done)))), "baseline")


def test_words_stand_beside_their_codes() -> None:
    told = section(page_of(made_of(coded(visit(1, right={"before": {"wax": "+++", "drum": ["clarty"]}})))), "words")
    assert re.search(r"\+\+\+\nurn:oid:2\.25\.[\d]+\n\S+\nwax-heavy\nheavy\n1\n", told)
    assert "clarty\nno code: the words alone" in told


def test_an_unsigned_page_says_so_and_a_sealed_one_how_to_open() -> None:
    assert "not signed" in section(page_of(made_of(visit(1))), "check")
    around = Around("2026-11-26", "0123 4567", "key", "C-1-handover.zip.age")
    told = section(page_of(made_of(visit(1), around=around)), "check")
    assert "age -d -i my-age-key.txt -o parcel.zip C-1-handover.zip.age" in told
    assert "signed by 0123 4567" in told


def test_numbers_of_bytes_stay_whole_and_no_letter_has_the_rule() -> None:
    rule = ".files td:nth-child(3) { white-space: nowrap;"
    made = made_of(visit(1))
    assert rule in page_of(made)
    assert not any(rule.encode() in piece.content for piece in made.pieces if piece.name != "index.html")


def test_nothing_of_the_record_is_markup() -> None:
    evil = "<img src=x onerror=alert(1)><script>alert(1)</script>"
    page = page_of(made_of(coded(visit(1, note=evil, reasons=[evil], right={"note": evil, "history": [evil]}))))
    assert "<script" not in page
    assert "<img" not in page
    assert "default-src &#39;none&#39;" in page or "default-src 'none'" in page


def test_german_has_the_same_page() -> None:
    from bridge.handover import OneClient, contents
    from bridge.issues import Where
    from bridge.pipeline import Conversion, Converter

    by = converter()
    german = Converter(by.practice.model_copy(update={"language": "de"}), by.folder)
    one = OneClient(german, "C-1")
    one.take(Conversion("ready", Where("sheet.csv", row=2), visit(1, approved=None)))
    record, _ = one.record()
    assert record is not None
    page = page_of(contents(record, one, german, (), Around("2026-11-26")))
    assert "Übergebene Ohrpflege-Akte" in page
    assert "Standing hazards" not in page


def test_a_family_doctor_of_an_earlier_visit_stands_beside_not_known() -> None:
    grove = {"key": "AG", "practice": "Ash Grove Surgery", "doctor": "Dr Alder"}
    page = page_of(made_of(visit(1, family_doctor=grove), visit(2, family_doctor="unknown")))
    shown = " ".join(re.sub(r"<[^>]*>", " ", page).split())
    assert "Family doctor not known; Named at the visit of 10 January 2026: Dr Alder; Ash Grove Surgery" in shown


def test_what_an_allergy_did_and_what_was_noted_stands_with_the_hazard() -> None:
    allergies = [{"term": "penicillin", "reaction": "rash", "note": "as a child"}]
    cautions = [
        {"term": "perforation", "since": "2019", "note": "told by her surgeon"},
        {"term": "perforation", "ear": "left"},
    ]
    page = section(page_of(made_of(coded(visit(1, allergies=allergies, cautions=cautions)))), "hazards").split("\n")
    row = page.index("penicillin; reaction: rash; as a child")
    assert page[row - 2 : row] == ["Allergies and reactions", "–"]
    row = page.index("perforation (known perforation of the drum); since 2019; told by her surgeon")
    assert page[row - 2 : row] == ["Perforation of the drum", "ear not named"]
    row = page.index("perforation (known perforation of the drum)")
    assert page[row - 2 : row] == ["Perforation of the drum", "Left ear"]


def test_which_visits_are_drafts_where_others_are_not() -> None:
    mixed = page_of(made_of(visit(1, approved=None), visit(2), visit(3, approved=None)))
    assert "Draft - not every visit is approved; not yet: V1, V3" in mixed
    every = page_of(made_of(visit(1, approved=None), visit(2, approved=None)))
    assert "Draft - not yet approved by the practitioner" in every
    assert "Draft" not in page_of(made_of(visit(1), visit(2)))


def test_at_which_stage_a_picture_was_taken() -> None:
    images = [{"file": "a.jpg", "stage": "before"}, {"file": "b.jpg", "stage": "after"}, {"file": "c.jpg"}]
    told = section(page_of(made_of(visit(1, right={"images": images}))), "baseline")
    gone = "named by the record, and not in this parcel"
    for words in (f"before the work; {gone}", f"after the work; {gone}", f"V1; {gone}"):
        assert words in told
