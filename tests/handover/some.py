"""Hand-overs for the tests: of visits made by hand, and of generated ones."""

from __future__ import annotations

import json
import re
from html import unescape
from pathlib import Path
from typing import Any

from bridge.coding import code_visit
from bridge.handover import Around, ClientRecord, Made, OneClient, Reader, contents
from bridge.issues import Issue, Where
from bridge.pipeline import Conversion, Converter
from bridge.practice import load_practice
from bridge.visit import Visit
from tests.remake import ROOT

DEMO = ROOT / "mappings/demo"
DAY = "2026-11-26"
TAG = re.compile(r"<[^>]*>")


def converter() -> Converter:
    """Of the clinic that the visits made by hand name as theirs."""
    practice, _ = load_practice(DEMO)
    assert practice is not None
    own = practice.clinic.model_copy(update={"name": "The invented clinic", "organisation_code": None})
    return Converter(practice.model_copy(update={"clinic": own}), DEMO)


def collected(
    *visits: Visit,
    asked: str = "C-1",
    reader: Reader = "clinic",
    failed: tuple[str, ...] = (),
    by: Converter | None = None,
) -> tuple[ClientRecord | None, list[Issue], OneClient]:
    """What becomes of visits; those named in `failed` (`V1/2`) have errors."""
    one = OneClient(by or converter(), asked, reader)
    kept: dict[tuple[str, int], Visit] = {(v.number, v.version): v for v in visits}
    for row, visit in enumerate(visits, start=2):
        state: Any = "need you" if f"{visit.number}/{visit.version}" in failed else "ready"
        earlier = kept.get((visit.number, visit.replaces or 0))
        one.take(Conversion(state, Where("sheet.csv", row=row), visit, earlier=earlier))
    record, issues = one.record()
    return record, issues, one


def made_of(
    *visits: Visit, reader: Reader = "clinic", sources: tuple[Path, ...] = (), around: Around | None = None
) -> Made:
    by = converter()
    record, issues, one = collected(*visits, asked=_number(visits[0]), reader=reader, by=by)
    assert record is not None, [(i.rule, i.message) for i in issues]
    made = contents(record, one, by, sources, around or Around(DAY))
    made.issues[:0] = issues
    return made


def _number(visit: Visit) -> str:
    assert visit.client.number
    return visit.client.number


def page_of(made: Made) -> str:
    return next(p.content for p in made.pieces if p.name == "index.html").decode()


def section(page: str, key: str) -> str:
    """The words of one section of a page, each tag a line."""
    found = re.search(rf'<section[^>]*aria-labelledby="section-{key}">(.*?)</section>', page, re.DOTALL)
    assert found is not None, f"the page has no section {key}"
    return said(found[1])


def said(html: str) -> str:
    lines = (unescape(part).strip() for part in TAG.split(html))
    return "\n".join(line for line in lines if line)


def coded(visit: Visit, by: Converter | None = None) -> Visit:
    return code_visit(visit, (by or converter()).maps)[0]


def content(made: Made, name: str) -> Any:
    return json.loads(next(p.content for p in made.pieces if p.name == name))
