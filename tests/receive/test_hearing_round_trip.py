"""Hearing tests, hearing aids, pictures, access needs and the referral come back as they were, in their order."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.check import check_bundle
from bridge.issues import Severity
from bridge.receive import bundle_to_visits
from bridge.visit import Visit
from tests.care_visits import (
    OWN,
    document,
    maybe_remark,
    maybe_when,
    maybe_words,
    records,
    remarks,
    visit,
    words,
)

Json = dict[str, Any]
FREQUENCIES = (125, 250, 500, 750, 1000, 1500, 2000, 3000, 4000, 5000, 6000, 8000)

measures = st.none() | st.builds(
    lambda value, unit: {"value": value, "unit": unit},
    st.decimals(-400, 400, places=1),
    st.sampled_from(("daPa", "mL", "mmho", "Hz")),
)
thresholds = records(
    frequency=st.sampled_from(FREQUENCIES),
    level=st.decimals(-20, 130, places=0) | st.decimals(-20, 130, places=1),
    conduction=st.sampled_from((None, "air", "bone")),
    masked=st.none() | st.booleans(),
    no_response=st.none() | st.booleans(),
)
tympanometry = records(
    type=st.sampled_from((None, "A", "As", "Ad", "B", "C")),
    peak_pressure=measures,
    admittance=measures,
    canal_volume=measures,
    probe=measures,
).filter(bool)
hearing = records(
    thresholds=st.lists(thresholds, max_size=6),
    tympanometry=st.none() | tympanometry,
    rinne=st.sampled_from((None, "positive", "negative")),
    whisper=maybe_words,
    note=maybe_remark,
).filter(lambda found: bool(found["thresholds"]) or len(found) > 1)
styles = st.none() | st.builds(
    lambda text, codes, said: {"text": text, "codings": [{"system": OWN, "code": c} for c in codes], "assertion": said},
    words | st.sampled_from(("none", "no hearing aid", "?BTE", "previously BTE")),
    st.sampled_from(([], ["aid-bte"], ["aid-none"])),
    st.sampled_from((None, None, "suspected", "absent", "past")),
)
aids = records(style=styles, uses=st.booleans(), note=maybe_remark)
images = records(file=words, stage=st.sampled_from((None, "before", "after")), view=maybe_words, taken_at=maybe_when)
ears = records(
    hearing_aid=st.none() | aids,
    hearing_before=st.none() | hearing,
    hearing_after=st.none() | hearing,
    images=st.lists(images, max_size=3),
    note=st.just("seen"),
)
referrals = records(
    to=words,
    urgency=st.sampled_from(("immediate", "urgent", "routine")),
    reason=remarks,
    rule=maybe_words,
    question=maybe_remark,
    ear=st.sampled_from((None, "right", "left")),
    told_by=maybe_words,
    told_at=maybe_when,
    receipt=maybe_words,
    client_told=maybe_remark,
)
visits = st.builds(
    visit,
    right=st.none() | ears,
    left=st.none() | ears,
    weber=st.sampled_from((None, "right", "left", "middle")),
    access_needs=st.lists(words, max_size=3),
    referral=st.none() | referrals,
    requests=st.none() | st.lists(records(action=remarks, reason=maybe_remark), max_size=2),
)


@given(visits)
@settings(max_examples=150, deadline=None)
def test_it_comes_back_and_conforms(of: Visit) -> None:
    bundle = document(of)
    assert bundle_to_visits(bundle) == ([of], [])
    assert [i for i in check_bundle(bundle) if i.severity >= Severity.error and i.rule[0] != "C"] == []


@pytest.mark.parametrize("level", ["45", "45.0", "-5", "0", "0.5", "120"])
@pytest.mark.parametrize("silent", [True, False])
def test_a_level_keeps_its_digits(level: str, silent: bool) -> None:
    item = {"frequency": 1000, "level": level, "no_response": silent}
    (back,), _ = bundle_to_visits(document(visit(left={"hearing_after": {"thresholds": [item]}})))
    assert back.left is not None
    assert back.left.hearing_after is not None
    (threshold,) = back.left.hearing_after.thresholds
    assert (str(threshold.level), threshold.no_response) == (level, silent)
    assert back.left.hearing_before is None


def test_a_referral_and_a_request_stay_apart() -> None:
    of = visit(referral={"to": "ENT", "urgency": "routine", "reason": "polyp"}, requests=[{"action": "look again"}])
    (back,), _ = bundle_to_visits(document(of))
    assert back.referral == of.referral
    assert back.requests == of.requests
