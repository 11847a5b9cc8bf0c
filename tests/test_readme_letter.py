"""The letter shown in the README is the one that the demo makes."""

from __future__ import annotations

import re

from lxml import html

from tests.remake import DEMO_BUNDLES, ROOT


def test_every_word_of_the_picture_stands_in_the_letter() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    picture = readme.partition("M26-0110.html`")[2].partition("```text\n")[2].partition("```")[0]
    page = html.fromstring((DEMO_BUNDLES / "letters/M26-0110.html").read_bytes().decode("utf-8"))
    told = set(re.findall(r"\w+", page.text_content()))
    assert len(picture) > 500
    assert set(re.findall(r"\w+", picture)) - told == set()
