"""Letters of generated visits say what their bundles say, each on its ear, and nothing else.

The oracle reads the bundle's JSON and the text of the finished letter, and imports nothing of what it judges.
`VISIT_BRIDGE_MANY=10000 python -m pytest tests/letters` runs the full count on pages for the screen, and a twentieth of
it on paper.
"""

from __future__ import annotations

import json
import os
import shutil
from collections import Counter
from decimal import Decimal
from pathlib import Path

import pytest

from bridge.render.as_html import render
from bridge.render.as_pdf import render as printed
from tests.letters.brief import GRAMMAR, claim_of, clauses
from tests.letters.evidence import Evidence
from tests.letters.marked import MARK, bundle_of, marked
from tests.letters.oracle import faults
from tests.letters.paper import read_pdf
from tests.letters.places import fixed_words
from tests.letters.screen import read_html

MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "120"))
ON_PAPER = max(16, MANY // 20)
SHARES = 4
"""The full count is parted, so that it can be spread over processors."""


@pytest.mark.parametrize("share", range(SHARES))
def test_pages_on_screen(share: int) -> None:
    for seed in range(share, MANY, SHARES):
        raw = marked(seed)
        bundle = bundle_of(raw)
        assert faults(raw, bundle, read_html(render(bundle).content)) == [], f"seed {seed}"


def test_referrals_on_screen() -> None:
    """Each second visit has one."""
    for seed in range(MANY // 2):
        raw = marked(seed)
        if "referral" in raw:
            bundle = bundle_of(raw, "referral")
            assert faults(raw, bundle, read_html(render(bundle).content)) == [], f"seed {seed}"


@pytest.mark.skipif(not shutil.which("pdftotext"), reason="pdftotext (poppler-utils) is not installed")
@pytest.mark.parametrize("share", range(SHARES))
def test_pages_on_paper(share: int, tmp_path: Path) -> None:
    for seed in range(share, ON_PAPER, SHARES):
        raw = marked(seed)
        bundle = bundle_of(raw)
        said = read_pdf(printed(bundle, None).content, tmp_path / "letter.pdf")
        assert faults(raw, bundle, said) == [], f"seed {seed}"


DEMO = sorted((Path(__file__).parents[2] / "demo_bundles").glob("*.bundle.json"))


@pytest.mark.skipif(not shutil.which("pdftotext"), reason="pdftotext (poppler-utils) is not installed")
def test_letters_of_the_demo(tmp_path: Path) -> None:
    assert len(DEMO) >= 12
    for path in DEMO:
        bundle = json.loads(path.read_text(encoding="utf-8"), parse_float=Decimal)
        assert faults({}, bundle, read_html(render(bundle).content)) == [], path.name
        said = read_pdf(printed(bundle, None).content, tmp_path / "letter.pdf")
        assert faults({}, bundle, said) == [], path.name


def test_the_letters_hold_what_is_judged() -> None:
    """An oracle that never meets a case judges nothing."""
    met: Counter[str] = Counter()
    for seed in range(60):
        raw = marked(seed)
        bundle = bundle_of(raw)
        said = read_html(render(bundle).content)
        evidence = Evidence(bundle)
        met.update(c.name for text in clauses(said.text_of("In brief")) if (c := claim_of(text)))
        met.update(f.answer for f in evidence.facts if f.answer)
        met.update(f"doubt {f.doubt}" for f in evidence.facts if f.doubt)
        met.update(mark[0] for mark in set(MARK.findall(said.everything)))
        met.update(f"drawn {d.title}" for d in said.drawn)
    wanted = ("normal", "not-seen", "not-examined", "doubt suspected", "doubt absent", "doubt past", "R", "L", "N")
    assert min(met[w] for w in wanted) >= 20, met
    assert sum(1 for name in GRAMMAR if met[name]) >= 30, met


def test_few_words_are_the_letter_s_own() -> None:
    assert len(fixed_words()) < 650
