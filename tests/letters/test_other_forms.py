"""Sides in the client's own copy and in CDA: no mark of one ear in a line that speaks of the other alone."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator

import pytest
from lxml import etree, html

from bridge.cda import write_cda
from bridge.render.as_html import render
from tests.letters.evidence import Evidence, codes
from tests.letters.marked import MARK, bundle_of, marked
from tests.letters.test_oracle import MANY

LETTERS = {"right": "R", "left": "L"}


def lines_of_page(page: bytes) -> Iterator[tuple[str, str]]:
    """Each paragraph and list item with the title that it stands under."""
    root = html.document_fromstring(page.decode())
    for node in root.find("body").iter("p", "li", "dd", "td"):
        title = node.getparent().findtext("dt") or "" if node.tag == "dd" else " ".join(node.xpath("../dt//text()"))
        headers = node.get("headers", "")
        yield f"{title} {headers.replace('ear-right', 'right ear').replace('ear-left', 'left ear')}", _text(node)
    for figure in root.iter("figure"):
        caption = " ".join(figure.xpath(".//figcaption/b//text()"))
        yield caption, " ".join(figure.xpath(".//@aria-label"))


def lines_of_document(document: bytes) -> Iterator[tuple[str, str]]:
    """Each paragraph and item of the narratives with the caption of its list."""
    root = etree.fromstring(document)
    for text in root.iter("{urn:hl7-org:v3}text"):
        for node in text.iter("{urn:hl7-org:v3}paragraph", "{urn:hl7-org:v3}item"):
            yield " ".join(node.xpath("../h:caption//text()", namespaces={"h": "urn:hl7-org:v3"})), _text(node)


def _text(node: etree._Element) -> str:
    return " ".join("".join(str(t) for t in node.itertext()).split())


def crossed(lines: list[tuple[str, str]]) -> tuple[list[str], Counter[str]]:
    found, met = list[str](), Counter[str]()
    for title, text in lines:
        named = {side.lower() for side in re.findall(r"\b(right|left) ear\b", f"{title} {text}", re.IGNORECASE)}
        if len(named) == 1:
            (ear,) = named
            marks = {mark[0] for mark in MARK.findall(text)} & {"R", "L"}
            met.update(marks)
            if marks - {LETTERS[ear]}:
                found.append(f"{ear}: {title} {text}")
        elif "both ears" in f"{title} {text}".lower() and re.search(r"[RL]q\d+z", text):
            found.append(f"of both: {title} {text}")
    return found, met


@pytest.mark.parametrize("form", ["copy", "cda"])
def test_no_mark_crosses(form: str) -> None:
    met: Counter[str] = Counter()
    for seed in range(max(MANY // 2, 60)):
        raw = marked(seed)
        if form == "copy":
            lines = list(lines_of_page(render(bundle_of(raw, "client")).content))
        else:
            lines = list(lines_of_document(write_cda(bundle_of(raw))))
        faults, judged = crossed(lines)
        met += judged
        assert faults == [], f"seed {seed}"
    assert min(met["R"], met["L"]) >= 20, met


def test_what_was_done_is_not_denied() -> None:
    """Where a visit is told to have been missed and work or a look is recorded, the copy does not say otherwise."""
    met = 0
    for seed in range(60):
        bundle = bundle_of(marked(seed), "client")
        evidence = Evidence(bundle)
        away = any("attendance-left" in codes(t) or "attendance-did-not-attend" in codes(t)
                   for f in evidence.of("Encounter") for t in f.resource.get("type", ()))  # fmt: skip
        page = " ".join(text for _, text in lines_of_page(render(bundle).content)).lower()
        done = any(evidence.work(ear) or evidence.looked(ear, when) for ear in LETTERS for when in ("before", "after"))
        met += away and done
        assert not (done and "we did nothing" in page), f"seed {seed}"
    assert met >= 5


def test_a_crossed_mark_is_seen() -> None:
    assert crossed([("Right ear", "Lq1z")])[0]
    assert crossed([("", "In the left ear: Rq1z")])[0]
    assert crossed([("Both ears", "Rq1z")])[0]
    assert not crossed([("Right ear", "Rq1z"), ("", "Lq2z")])[0]
