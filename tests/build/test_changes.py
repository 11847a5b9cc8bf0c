"""What a correction says has changed, judged by the narratives of the two finished documents.

The oracle reads only finished bundles: the text of each resource and the words of each section without entries. It
knows nothing of how the comparison is made. `VISIT_BRIDGE_MANY=2000` runs more pairs.
"""

from __future__ import annotations

import os
import random
import re
from collections import Counter
from html import unescape
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from bridge.build import Options, build_document
from bridge.check import check_bundle
from bridge.cut import as_shown, cut
from bridge.issues import Severity
from bridge.receive import bundle_to_visits
from bridge.visit import Visit
from tests import generate

NAMESPACE = UUID("3d3b5a9c-52e5-4cf8-9a34-2b0c36a2f0aa")
ZONE = ZoneInfo("Europe/London")
MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "60"))
KINDS = ("summary", "referral")
UNCHANGED = (
    "What is said of the visit is the same as in version 1; only the version, the approval or the layout is new."
)
UNKNOWN = "What changed is not known here: version 1 of the record was not at hand when this letter was made."
PLAINLY_UNCHANGED = "We say the same about your visit as in version 1."
PLAINLY_UNKNOWN = "We cannot say here what is new: we did not have version 1 at hand."
DETAIL = "Changed in a detail, such as a number, a phone or a code: "
FIELDS = sorted(set(Visit.model_fields) - {"number", "version", "replaces", "client", "approved", "source_sha256"})


def made(visit: Visit, earlier: Visit | None = None, kind: str = "summary", region: str = "uk") -> dict[str, Any]:
    return build_document(visit, NAMESPACE, ZONE, kind, Options(region), earlier=earlier)


def plain(div: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", div)).split())


def section(bundle: dict[str, Any], key: str = "section-changes") -> dict[str, Any] | None:
    found = [s for s in bundle["entry"][0]["resource"]["section"] if key in {c["code"] for c in s["code"]["coding"]}]
    return found[0] if found else None


def told(bundle: dict[str, Any]) -> list[str]:
    """The lines of the section."""
    found = section(bundle)
    assert found is not None
    div = found["text"]["div"]
    lines = re.findall(r"<li>(.*?)</li>", div, re.DOTALL) or re.findall(r"<p>(.*?)</p>", div, re.DOTALL)
    return [plain(line) for line in lines]


def said(bundle: dict[str, Any]) -> Counter[str]:
    """What a finished document says of the visit: each resource's own text."""
    resources = [e["resource"] for e in bundle["entry"][1:]]
    return Counter(
        plain(r["text"]["div"])
        for r in resources
        if r["resourceType"] != "Provenance" and not any(n["name"] == "visit-bridge" for n in r.get("deviceName", ()))
    )


def empty(bundle: dict[str, Any]) -> set[str]:
    sections = bundle["entry"][0]["resource"]["section"]
    return {f"{s['title']}: {s['emptyReason']['text']}" for s in sections if "emptyReason" in s}


def version(visit: Visit, number: int, **fields: Any) -> Visit:
    dumped = visit.model_dump() | {"version": number, "replaces": number - 1 or None} | fields
    return Visit.model_validate(dumped)


def pair(seed: int) -> tuple[Visit, Visit, str] | None:
    """A visit, and the same with one field of another; None where that makes no visit."""
    rng = random.Random(seed)
    one, other = generate.visit(rng, 0.4), generate.visit(rng, 0.4)
    name = rng.choice(FIELDS)
    try:
        return version(one, 1), version(one, 2, **{name: getattr(other, name)}), name
    except ValueError:
        return None


@pytest.mark.parametrize("kind", KINDS)
def test_what_changed_is_named_and_nothing_else(kind: str) -> None:
    met: Counter[str] = Counter()
    for seed in range(MANY):
        found = pair(seed)
        if found is None:
            continue
        before, now, name = found
        old, new = made(before, kind=kind), made(now, before, kind)
        lines = " ".join(told(new))
        gone, added = said(old) - said(new), said(new) - said(old)
        for text in (*gone, *added):
            assert text in lines, (seed, name, text)
        for text in empty(old) ^ empty(new):
            assert text.rstrip(".") in lines, (seed, name, text)
        kept = [text for text, times in said(old).items() if len(text) > 30 and said(new)[text] == times]
        for line in told(new):
            assert line.startswith(DETAIL) or not any(f" {text}" == line[-len(text) - 1 :] for text in kept), (
                seed,
                line,
            )
        met[name] += lines != UNCHANGED
    assert len(met) > min(10, MANY // 8), met


def test_a_version_that_says_the_same_says_so() -> None:
    for seed in range(20):
        visit = generate.visit(random.Random(seed))
        one = version(visit, 1)
        again = {"recorded_at": "2026-11-04T09:00+00:00", "source_sha256": "0" * 64, "approved": None}
        for kind in ("summary", "referral", "client"):
            same = PLAINLY_UNCHANGED if kind == "client" else UNCHANGED
            assert told(made(version(visit, 2, **again), one, kind)) == [same], (seed, kind)


BASE = {
    "number": "V1",
    "start": "2026-05-03T10:00+01:00",
    "client": {"number": "C-1", "legal_name": {"family": "Rowe", "given": ["Ash"]}, "birth_date": "1950-02-03"},
    "practitioners": [{"key": "PS", "name": {"family": "Moss"}}],
    "follow_up": {"plan": "call in a week"},
    "advice": ["keep the ear dry"],
    "right": {"before": {"wax": "heavy", "drum": "not seen (wax)"}, "work": [{"method": "microsuction"}]},
    "referral": {"to": "audiology", "urgency": "routine", "reason": "hearing test", "ear": "right"},
}


def changed(**fields: Any) -> list[str]:
    one = Visit.model_validate(BASE)
    return told(made(Visit.model_validate({**BASE, "version": 2, "replaces": 1, **fields}), one))


def test_what_is_replaced_stands_beside_what_replaces_it() -> None:
    assert changed(follow_up={"plan": "call in a month"}) == [
        "No longer said: Follow-up: Call in a week. Now said: Follow-up: Call in a month."
    ]


def test_what_is_new_and_what_is_gone() -> None:
    assert changed(advice=["keep the ear dry", "no buds"]) == ["Now said: Advice: No buds."]
    assert changed(advice=["no buds", "keep the ear dry"]) == ["Now said: Advice: No buds."]
    gone = changed(advice=[])
    assert gone == ["No longer said: Advice: Keep the ear dry."]


def test_words_that_two_facts_share_stand_once() -> None:
    """A drum that was not seen is two Observations, the view and the state, told in the same words."""
    right = {"before": {"wax": "heavy", "drum": "normal"}, "work": [{"method": "microsuction"}]}
    unseen = "Right ear, before the work: eardrum: could not be seen (wax)."
    assert changed(right=right) == [f"No longer said: {unseen} Now said: {unseen.split(': could')[0]}: looked normal."]


def test_the_side_of_a_fact_that_moves_to_the_other_ear_is_told_both_times() -> None:
    lines = " ".join(changed(right=None, left=BASE["right"]))
    assert "No longer said: Right ear, before the work: wax" in lines
    assert "Now said: Left ear, before the work: wax" in lines


def test_a_detail_that_no_words_show() -> None:
    client = {**BASE["client"], "phones": ["07700 900123"]}  # type: ignore[dict-item]
    assert changed(client=client) == [f"{DETAIL}Client: Ash Rowe, born 3 February 1950."]


def test_who_saw_the_client_and_when() -> None:
    lines = " ".join(changed(practitioners=[{"key": "JM", "name": {"family": "Fenn"}}], start="2026-05-04T10:00+01:00"))
    assert "No longer said: Seen by: Moss" in lines
    assert "Now said: Seen by: Fenn" in lines
    assert re.search("No longer said: Visit of 3 May 2026.* Now said: Visit of 4 May 2026", lines)


def test_an_earlier_version_that_is_not_known() -> None:
    correction = Visit.model_validate({**BASE, "version": 2, "replaces": 1})
    for kind in ("summary", "referral", "client"):
        for region in ("uk", "us", "international"):
            unknown = PLAINLY_UNKNOWN if kind == "client" else UNKNOWN
            assert told(made(correction, None, kind, region)) == [unknown]


def test_a_visit_that_replaces_nothing_has_no_such_section() -> None:
    visit = Visit.model_validate(BASE)
    assert section(made(visit)) is None
    assert section(made(visit, visit)) is None


@pytest.mark.parametrize(
    "client",
    [
        {"number": "C-2", "legal_name": {"family": "Rowe", "given": ["Ash"]}, "birth_date": "1950-02-03"},
        {"number": "C-1", "legal_name": {"family": "Rowe", "given": ["Ash"]}, "birth_date": "1951-02-03"},
    ],
)
def test_what_was_said_of_another_person_is_never_repeated(client: dict[str, Any]) -> None:
    (line,) = changed(client=client, follow_up={"plan": "call in a month"})
    assert line.startswith("Version 1 of the record was about another person")
    assert "call" not in line
    assert "Rowe" not in line


def test_a_client_is_not_asked_to_mend_the_record_of_another() -> None:
    one = Visit.model_validate(BASE)
    other = {"number": "C-2", "legal_name": {"family": "Rowe", "given": ["Ash"]}, "birth_date": "1950-02-03"}
    now = Visit.model_validate({**BASE, "version": 2, "replaces": 1, "client": other})
    (line,) = told(made(now, one, "client"))
    assert line.startswith("We are not sure that version 1 was about you.")
    assert "record" not in line


def test_the_recipients_cut_holds_for_what_changed_too() -> None:
    """The old consent named pictures; the new one does not, so that they may not be told even as gone."""
    one = Visit.model_validate(
        {**BASE, "right": {"images": [{"file": "a.jpg", "view": "the drum"}]},
         "sharing": {"status": "given", "scope": ["visit summary", "images"]}}
    )  # fmt: skip
    now = version(one, 2, sharing={"status": "given", "scope": ["visit summary"]})
    shown = cut(now, "summary").visit
    bundle = made(shown, as_shown(one, now, "summary"))
    assert "drum" not in " ".join(told(bundle))
    assert "images" in " ".join(told(bundle))


@pytest.mark.parametrize("kind", ["summary", "referral", "client"])
@pytest.mark.parametrize("region", ["uk", "us", "international"])
def test_a_correction_conforms_and_comes_back(kind: str, region: str) -> None:
    for seed in range(max(3, MANY // 20)):
        found = pair(seed)
        if found is None:
            continue
        before, now, _ = found
        bundle = made(now, before, kind, region)
        assert bundle_to_visits(bundle) == ([now], [])
        errors = [i for i in check_bundle(bundle) if i.severity >= Severity.error and i.rule != "V103"]
        assert errors == [], seed  # V103: the generator's moments are in no order


def test_the_client_reads_it_in_plain_words() -> None:
    one = Visit.model_validate(BASE)
    now = Visit.model_validate({**BASE, "version": 2, "replaces": 1, "follow_up": {"plan": "call in a month"}})
    assert told(made(now, one, "client")) == [
        "Before: Our note says: “call in a week”. Now: Our note says: “call in a month”."
    ]
    noted = Visit.model_validate({**BASE, "version": 2, "replaces": 1, "note": "?carcinoma"})
    assert told(made(noted, one, "client")) == [
        "Something changed in our own notes and numbers too. You may ask to see them."
    ]
