"""The page of a client's summary: of all visits, by this tool, and never taken for the letter of one visit."""

from __future__ import annotations

from typing import Any

from lxml import html

from bridge.build import Options
from bridge.build.ips import build_client_summary
from bridge.render.as_html import render
from tests.build.ips.some import NAMESPACE, ZONE, summary, visit
from tests.render.test_letter import pairs, text_of


def root_of(bundle: dict[str, Any]) -> Any:
    return html.document_fromstring(render(bundle).content.decode())


def test_all_visits_stand_in_its_head_and_none_alone() -> None:
    rows = pairs(root_of(summary(visit(1), visit(2))))
    number = rows["Reference"]
    assert rows["Visits"].startswith("2, ")
    assert " to " in rows["Visits"]
    assert "Visit" not in rows
    assert "Letter of" not in rows
    assert rows["Clinic’s number"] == number
    assert "Family doctor" in rows


def test_it_is_worded_as_its_region_is() -> None:
    visits = [visit(1), visit(2)]
    us = pairs(root_of(build_client_summary(visits, NAMESPACE, ZONE, Options("us"))))
    uk = pairs(root_of(build_client_summary(visits, NAMESPACE, ZONE, Options("uk"))))
    assert us["Visits"] == "2, January 10, 2026 to February 10, 2026"
    assert uk["Visits"] == "2, 10 January 2026 to 10 February 2026"
    assert "NHS number" not in us
    assert uk["NHS number"] == "Not recorded"


def test_one_visit_is_told_as_one() -> None:
    rows = pairs(root_of(summary(visit(1))))
    assert "Visits" not in rows
    assert "Visit" in rows


def test_it_is_ours_and_goes_to_no_family_doctor() -> None:
    root = root_of(summary(visit(1), visit(2)))
    assert "not written by" not in text_of(root)
    assert "as it was received" not in text_of(root)
    assert "Whoever looks after the client next" in text_of(root.xpath("//section[@aria-labelledby='head-2']")[0])


def test_nobody_has_approved_a_summary_with_a_draft_in_it() -> None:
    done, draft = visit(1), visit(2, approved=None)
    assert "Approved" in pairs(root_of(summary(done)))
    root = root_of(summary(done, draft))
    assert "Approved" not in pairs(root)
    assert "Draft" in text_of(root.xpath("//p[@class='mark']")[0])


def test_a_summary_of_others_with_several_visits_names_none_of_them_as_its_own() -> None:
    bundle = summary(visit(1), visit(2))
    composition = bundle["entry"][0]["resource"]
    composition["author"] = composition["author"][:1]
    rows = pairs(root_of(bundle))
    assert "Visit" not in rows
    assert rows["Reference"] == bundle["identifier"]["value"]
