"""A correction's page says what changed where a reader looks first."""

from __future__ import annotations

from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from bridge.build import build_document
from bridge.render.letter import page_of
from bridge.render.page import Page
from bridge.visit import Visit
from tests.referrals import raw


def page(kind: str, **fields: object) -> Page:
    one = Visit.model_validate(raw())
    now = Visit.model_validate({**raw(), **fields})
    return page_of(build_document(now, UUID(int=5), ZoneInfo("Europe/London"), kind, earlier=one))


@pytest.mark.parametrize(("kind", "before"), [("summary", "asked"), ("referral", "asked"), ("client", "copies")])
def test_what_changed_stands_behind_what_comes_next_and_before_the_ears(kind: str, before: str) -> None:
    made = page(kind, version=2, replaces=1, follow_up={"plan": "call in a month"})
    keys = [section.key for section in made.sections]
    assert keys[keys.index("changes") - 1] == before
    assert keys.index("changes") < keys.index("ears")
    assert keys.count("changes") == 1


@pytest.mark.parametrize("kind", ["summary", "referral", "client"])
def test_a_first_version_has_nothing_of_it(kind: str) -> None:
    assert "changes" not in [section.key for section in page(kind).sections]
