"""How the rest of each ear looked when it was last looked at, what could not be seen, and what is only suspected."""

from __future__ import annotations

from bridge.ear_words import Ear
from bridge.fhir.tell.words import listed
from bridge.render.letter.brief.clauses import Clause, both_ears, clause, spoken
from bridge.render.letter.brief.facts import PARTS, EarFacts, Seen
from bridge.wording import say

_NORMAL = "brief.part.normal"
_SEEN = (_NORMAL, "brief.part.present", "brief.part.before.present")


def last_seen(right: EarFacts, left: EarFacts) -> tuple[list[str], list[str]]:
    """What was seen, the normal parts in one clause for each ear or both; and what was not, or is only suspected."""
    told = {"right": _clauses(right), "left": _clauses(left)}
    normal = {side: [c for c in clauses if c.key == _NORMAL] for side, clauses in told.items()}
    shared = [c for c in normal["right"] if c in normal["left"]]
    sides: list[tuple[Ear | None, list[Clause]]] = [(None, shared)]
    sides += [(ear.side, [c for c in normal[ear.side] if c not in shared]) for ear in (right, left)]
    looked_normal = [_together(clauses, side) for side, clauses in sides if clauses]
    seen = [[c for c in clauses if c.key in _SEEN and c.key != _NORMAL] for clauses in told.values()]
    rest = [[c for c in clauses if c.key not in _SEEN] for clauses in told.values()]
    return looked_normal + both_ears(*seen), both_ears(*rest)


def _together(normal: list[Clause], side: Ear | None) -> str:
    parts = listed([dict(c.values)["part"] for c in normal])
    return spoken(clause(_NORMAL, part=parts), side)


def _clauses(ear: EarFacts) -> list[Clause]:
    last = ear.last
    if last is None or ear.empty:
        return [clause("brief.suspected", findings=listed(ear.suspected))] if ear.suspected else []
    told: list[Clause] = []
    unseen = bool(last.view and last.view.limit in ("not-seen", "not-examined"))
    if last.view and last.view.limit == "partly":
        told.append(clause("brief.partly", last.view.reason))
    for part in PARTS:
        looks = [(when, look.parts[part]) for when, look in ear.looks.items() if part in look.parts]
        if looks:
            told += _part(part, [seen for _, seen in looks])
        elif part == "drum" and not unseen and "cavity" not in last.parts:
            told.append(clause("brief.drum.not-recorded"))
    return told + ([clause("brief.suspected", findings=listed(ear.suspected))] if ear.suspected else [])


def _part(stem: str, looks: list[Seen]) -> list[Clause]:
    seen = looks[-1]
    part, place = say(f"brief.part.{stem}"), say(f"brief.place.{stem}")
    told: list[Clause] = []
    if seen.limit in ("not-seen", "not-examined"):
        told.append(clause(f"brief.part.{seen.limit}", seen.reason, part=part))
    elif seen.limit == "partly" and seen.normal:
        told.append(clause(_NORMAL, part=say(f"brief.part.{stem}.partly")))
    elif seen.limit == "partly":
        told.append(clause("brief.part.partly", seen.reason, part=part))
    elif seen.normal:
        told.append(clause(_NORMAL, part=part))
    if seen.present:
        told.append(clause("brief.part.present", place=place, findings=listed(seen.present)))
    if seen.suspected:
        told.append(clause("brief.part.suspected", place=place, findings=listed(seen.suspected)))
    if seen.words:
        told.append(clause("brief.part.words", part=part))
    return [*_earlier(place, looks), *told]


def _earlier(place: str, looks: list[Seen]) -> list[Clause]:
    """Findings of a first look that the last one does not repeat."""
    if len(looks) == 1:
        return []
    first, last = looks[0], looks[-1]
    told = []
    if gone := [f for f in first.present if f not in last.present]:
        told.append(clause("brief.part.before.present", place=place, findings=listed(gone)))
    if gone := [f for f in first.suspected if f not in [*last.suspected, *last.present]]:
        told.append(clause("brief.part.before.suspected", place=place, findings=listed(gone)))
    return told
