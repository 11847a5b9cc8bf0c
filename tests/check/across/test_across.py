"""What visits of one client say of each other. The expectations are common practice of the trade."""

from __future__ import annotations

from itertools import permutations
from typing import Any

import pytest

from bridge.check.across import AcrossVisits
from bridge.check.across.lasting import facts
from bridge.coding import code_visit, load_term_maps
from bridge.issues import Where
from bridge.visit import Visit

MAPS = load_term_maps()
ADA = {"number": "C1", "legal_name": {"family": "Rowe", "given": ["Ada"]}}
BEN = {"number": "C2", "legal_name": {"family": "Hill", "given": ["Ben"]}}
LONG = "Wax was hard and deep; softened with oil for ten minutes, then taken out in several pieces without pain at all."


def visit(number: str, start: str = "2026-05-03", client: dict[str, Any] = ADA, **fields: Any) -> Visit:
    made = Visit.model_validate({"number": number, "start": start, "client": client, **fields})
    return code_visit(made, MAPS)[0]


def told(*visits: Visit) -> list[str]:
    across = AcrossVisits()
    return [i.rule for n, v in enumerate(visits) for i in across.enter(v, Where(file="a.csv", row=n + 2))]


def both_ways(one: Visit, other: Visit) -> list[str]:
    """What is told, which must be the same in either order."""
    assert told(one, other) == told(other, one)
    return told(one, other)


@pytest.mark.parametrize("field", ["note", "right"])
def test_a_long_note_of_the_same_client(field: str) -> None:
    again = {"note": f"{LONG.upper()}!"} if field == "note" else {"right": {"work": [{"method": "x", "note": LONG}]}}
    assert both_ways(visit("V1", note=LONG), visit("V2", "2026-06-01", **again)) == ["C580"]


def test_a_long_note_of_somebody_else() -> None:
    assert both_ways(visit("V1", note=LONG), visit("V2", client=BEN, note=LONG)) == ["C581"]


def test_notes_that_say_nothing() -> None:
    short = LONG[:70]
    assert both_ways(visit("V1", note=short), visit("V2", note=short)) == []
    assert both_ways(visit("V1", note=LONG), visit("V2", note=f"{LONG} Twice.")) == []
    assert told(visit("V1", note=LONG, right={"note": LONG})) == []
    assert told(visit("V1", note=LONG), visit("V1", version=2, replaces=1, note=LONG)) == []


def test_the_edge_of_a_long_note() -> None:
    words = "a" * 79
    assert both_ways(visit("V1", note=words), visit("V2", note=words)) == []
    assert both_ways(visit("V1", note=f"{words}a"), visit("V2", note=f"{words}a")) == ["C580"]


def test_a_note_in_many_visits_is_told_the_same_in_every_order() -> None:
    visits = [visit("V1", note=LONG), visit("V2", note=LONG), visit("V3", client=BEN, note=LONG)]
    assert {tuple(sorted(told(*order))) for order in permutations(visits)} == {("C580", "C581")}


HAD = {"history": ["mastoidectomy"]}
NEVER = {"history": ["none known"]}


def test_surgery_is_denied_later() -> None:
    assert both_ways(visit("V1", left=HAD), visit("V2", "2026-06-01", left=NEVER)) == ["C582"]
    assert both_ways(visit("V1", left=HAD), visit("V2", "2026-05-03", left=NEVER)) == ["C582"]
    assert both_ways(visit("V1", left=HAD), visit("V2", "2026-06", left={"history": ["no ear surgery"]})) == ["C582"]
    assert both_ways(visit("V1", left=HAD), visit("V2", "2026-06-01", left={"history": ["no mastoidectomy"]})) == [
        "C582"
    ]


def test_surgery_after_it_was_denied() -> None:
    later = visit("V2", "2026-06-01", left=HAD)
    assert both_ways(visit("V1", left=NEVER), later) == []
    dated = {"history": [{"term": "mastoidectomy", "date": "2010"}]}
    assert both_ways(visit("V1", left=NEVER), visit("V2", "2026-06-01", left=dated)) == ["C582"]
    same_year = {"history": [{"term": "mastoidectomy", "date": "2026"}]}
    assert both_ways(visit("V1", left=NEVER), visit("V2", "2026-06-01", left=same_year)) == []


def test_surgery_of_the_other_ear_or_client() -> None:
    assert both_ways(visit("V1", left=HAD), visit("V2", "2026-06-01", right=NEVER)) == []
    assert both_ways(visit("V1", left=HAD), visit("V2", "2026-06-01", BEN, left=NEVER)) == []
    assert both_ways(visit("V1", left=HAD), visit("V2", "2026-06-01", left={"history": ["no myringoplasty"]})) == []
    assert both_ways(visit("V1", left=HAD), visit("V2", "2026-06-01", left={"symptoms": ["itch"]})) == []
    assert both_ways(visit("V1", left={"history": ["?mastoidectomy"]}), visit("V2", "2026-06-01", left=NEVER)) == []


def test_a_corrected_visit_does_not_contradict_itself() -> None:
    corrected = visit("V1", version=2, replaces=1, left=NEVER)
    assert told(visit("V1", left=HAD), corrected) == []


HOLE = {"before": {"drum": ["perforation"]}}


def test_a_perforation_is_denied_later() -> None:
    later = visit("V2", "2026-08-01", right={"history": ["none known"]})
    assert both_ways(visit("V1", right=HOLE), later) == ["C583"]
    assert both_ways(visit("V1", right=HOLE), visit("V2", "2026-08-01", right={"history": ["no perforation"]})) == [
        "C583"
    ]


def test_a_healed_drum_is_no_denial() -> None:
    assert both_ways(visit("V1", right=HOLE), visit("V2", "2026-08-01", right={"before": {"drum": "normal"}})) == []
    healed = {"history": [{"term": "perforation", "ended": "2026-07"}]}
    assert both_ways(visit("V1", right=HOLE), visit("V2", "2026-08-01", right=healed)) == []


@pytest.mark.parametrize(
    ("ended", "said"), [("2025", ["C584"]), ("2026-05-02", ["C584"]), ("2026-05-03", []), ("2026", [])]
)
def test_a_perforation_that_ended_before_it_was_found(ended: str, said: list[str]) -> None:
    healed = {"history": [{"term": "perforation", "ended": ended}]}
    assert both_ways(visit("V1", right=HOLE), visit("V2", "2026-08-01", right=healed)) == said
    assert both_ways(visit("V1", right=HOLE), visit("V2", "2026-04-01", right=healed)) == []


def test_a_lasting_caution_is_denied_later() -> None:
    had, none = visit("V1", cautions=["bleeding disorder"]), visit("V2", "2026-06-01", cautions=["none known"])
    assert both_ways(had, none) == ["C585"]
    assert both_ways(had, visit("V2", "2026-06-01")) == []
    assert both_ways(had, visit("V2", "2026-04-01", cautions=["none known"])) == []
    assert both_ways(visit("V1", cautions=["pregnant"]), none) == []


def test_an_allergy_is_denied_later() -> None:
    had = visit("V1", allergies=["latex"])
    assert both_ways(had, visit("V2", "2026-06-01", allergies="none known")) == ["C586"]
    assert both_ways(had, visit("V2", "2026-06-01", allergies="not asked")) == []
    assert both_ways(had, visit("V2", "2026-06-01")) == []
    assert both_ways(had, visit("V2", "2026-04-01", allergies="none known")) == []


def only(ear: str | None) -> dict[str, Any]:
    return {"cautions": [{"term": "only hearing ear", **({"ear": ear} if ear else {})}]}


def test_the_only_hearing_ear() -> None:
    assert both_ways(visit("V1", **only("right")), visit("V2", **only("left"))) == ["C587"]
    assert both_ways(visit("V1", **only("right")), visit("V2", **only("right"))) == []
    assert both_ways(visit("V1", **only("right")), visit("V2", **only(None))) == []
    assert both_ways(visit("V1", **only("right")), visit("V2", client=BEN, **only("left"))) == []


def aids(right: bool | None, left: bool | None) -> dict[str, Any]:
    return {e: {"hearing_aid": {"uses": w}} for e, w in (("right", right), ("left", left)) if w is not None}


def test_a_hearing_aid_changes_ears() -> None:
    one = visit("V1", **aids(True, False))
    assert both_ways(one, visit("V2", **aids(False, True))) == ["C588"]
    for quiet in (aids(True, False), aids(True, True), aids(None, True), aids(False, False)):
        assert both_ways(one, visit("V2", **quiet)) == []


def test_clients_without_a_number() -> None:
    named = {"legal_name": ADA["legal_name"], "birth_date": "1950-02-03"}
    unnamed = {"legal_name": ADA["legal_name"]}
    assert both_ways(visit("V1", client=named, left=HAD), visit("V2", "2026-06-01", named, left=NEVER)) == ["C582"]
    assert both_ways(visit("V1", client=unnamed, left=HAD), visit("V2", "2026-06-01", unnamed, left=NEVER)) == []


def test_the_place_is_told_and_nothing_of_the_client() -> None:
    across = AcrossVisits()
    across.enter(visit("V1", left=HAD), Where(file="a.csv", row=2))
    (found,) = across.enter(visit("V2", "2026-06-01", left=NEVER), Where(file="a.csv", row=7))
    assert found.message == "This visit denies ear surgery of the left ear, which row 2 records."
    assert (found.where.path, found.where.record) == ("left.history[0]", "V2")


def test_what_lasts_are_meanings_of_the_term_maps() -> None:
    named = {c for of in facts().values() for fact in of for c in (*fact.tells, *fact.denied, *fact.none)}
    assert named <= set(MAPS.concepts)
