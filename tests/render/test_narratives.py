"""A section says the same on the page as in the bundle: the very XHTML of its narrative stands in the page, but for
line breaks, which HTML writes without a slash."""

from __future__ import annotations

from typing import Any

import pytest

from bridge.fhir.tell.by_ear import Told, by_ear, in_groups, lines, lines_xhtml, xhtml
from bridge.render.as_html import render
from tests.referrals import raw as referral
from tests.render.pages import bundle_of
from tests.render.raw_visits import Maker

FRAME = '<div xmlns="http://www.w3.org/1999/xhtml">'
ELSEWHERE = ("people", "doctor", "author", "examination", "procedures", "diagnoses", "problems", "notes")
"""Told in the head, under the author, in the table of the ears or as proposed for the record; of the notes, only what
the table does not hold."""
BOX = {"summary": "actions", "referral": "referral"}


def keys(section: Any) -> set[str]:
    return {str(c["code"]).removeprefix("section-") for c in section["code"]["coding"]}


def tells_of_the_visit(section: Any, bundle: Any) -> bool:
    """Whose day and people the page tells in its head and at its end."""
    (visit,) = (e["fullUrl"] for e in bundle["entry"] if e["resource"]["resourceType"] == "Encounter")
    return visit in [entry["reference"] for entry in section.get("entry", ())]


def shown(bundle: Any, kind: str) -> list[str]:
    sections = bundle["entry"][0]["resource"]["section"]
    here = [s for s in sections if not keys(s) & {*ELSEWHERE, BOX[kind]} and not tells_of_the_visit(s, bundle)]
    return [s["text"]["div"].removeprefix(FRAME).removesuffix("</div>").replace("<br/>", "<br>") for s in here]


@pytest.mark.parametrize("kind", ["summary", "referral"])
@pytest.mark.parametrize("seed", range(0, 60, 3))
def test_narratives_stand_in_the_page_as_they_are(seed: int, kind: str) -> None:
    bundle = bundle_of(Maker(seed).visit(), kind)
    page = render(bundle).content.decode()
    told = shown(bundle, kind)
    assert len(told) >= 5
    assert [inner for inner in told if inner not in page] == []


def test_so_do_those_of_a_referral_and_of_odd_words() -> None:
    hostile = "<b>x</b> & “y” 'z' \"q\"\nsecond line"
    for raw in (referral(), referral(referral__reason=hostile), referral(advice=[hostile])):
        for kind in BOX:
            bundle = bundle_of(raw, kind)
            page = render(bundle).content.decode()
            assert [inner for inner in shown(bundle, kind) if inner not in page] == []


@pytest.mark.parametrize(
    ("facts", "wanted"),
    [
        ([("right", "told", "itch"), ("left", "told", "itch")], {"Both ears": ["Told: itch."]}),
        ([("left", "told", "a"), ("right", "told", "b"), ("left", "told", "b"), ("right", "told", "a")],
         {"Both ears": ["Told: b; a."]}),
        ([("right", "told", "itch"), ("left", "told", "itch"), ("left", "told", "pain")],
         {"Right ear": ["Told: itch."], "Left ear": ["Told: itch; pain."]}),
        ([("right", "", "impacted wax"), ("left", "", "impacted wax"), ("left", "", "exostoses")],
         {"Both ears": [": Impacted wax."], "Left ear": [": Exostoses."]}),
    ],
)  # fmt: skip
def test_what_is_alike_for_both_ears_stands_once(
    facts: list[tuple[str, str, str]], wanted: dict[str, list[str]]
) -> None:
    made = in_groups((side, "", (subject, saying)) for side, subject, saying in facts)
    assert {group.title: [f"{line.subject}: {line.words}" for line in group.lines] for group in made} == wanted


def test_ears_are_alike_only_at_the_same_stage() -> None:
    facts = [("right", "before", ("wax", "none")), ("left", "after", ("wax", "none"))]
    assert [g.title for g in in_groups(facts)] == ["Right ear, before the work", "Left ear, after the work"]
    assert [g.title for g in in_groups([*facts, ("left", "before", ("wax", "none"))])] == [
        "Both ears, before the work",
        "Left ear, after the work",
    ]


def test_the_fuller_words_stand_for_the_shorter() -> None:
    for sayings in (["not seen", "not seen (wax)"], ["not seen (wax)", "not seen"]):
        assert [t.words for t in lines(("drum", s) for s in sayings)] == ["not seen (wax)."]
    assert [t.words for t in lines([("drum", "red"), ("drum", "red spot")])] == ["red; red spot."]


@pytest.mark.parametrize(
    ("facts", "wanted"),
    [
        (["a"], "<p>A.</p>"),
        (["a", "b"], "<p>A. B.</p>"),
        (["a" * 120, "b" * 120], f"<ul><li>A{'a' * 119}.</li><li>B{'b' * 119}.</li></ul>"),
        (["a\nb", "c"], "<ul><li>A<br/>b.</li><li>C.</li></ul>"),
    ],
)
def test_few_short_lines_run_on(facts: list[str], wanted: str) -> None:
    assert xhtml(in_groups(("", "", ("", fact)) for fact in facts)) == wanted


def test_words_stay_words_in_xhtml() -> None:
    assert (
        lines_xhtml("<t>", [("<s>", "a & b\nc")])
        == "<dl><dt>&lt;t&gt;</dt><dd><b>&lt;s&gt;:</b> a &amp; b<br/>c</dd></dl>"
    )
    assert lines_xhtml("", []) == ""
    assert by_ear([]) == []
    assert Told("A", ["b?"]).words == "b?"
