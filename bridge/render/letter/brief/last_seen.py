"""How the rest of each ear looked when it was last looked at, what could not be seen, and what is only suspected."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.ear_words import EARS, Ear
from bridge.fhir.tell.words import listed
from bridge.render.letter.brief.clauses import Clause, both_ears, clause, spoken
from bridge.render.letter.brief.facts import PARTS, EarFacts, Seen
from bridge.wording import say

_NOW, _BEFORE = "brief.part", "brief.part.before"
_NORMAL = (f"{_NOW}.normal", f"{_BEFORE}.normal")
_PRESENT = (f"{_NOW}.present", f"{_BEFORE}.present")


def last_seen(right: EarFacts, left: EarFacts) -> tuple[list[str], list[str]]:
    """What was seen, the normal parts in one clause for each ear or both; and what was not, or is only suspected."""
    told = {"right": _clauses(right), "left": _clauses(left)}
    present = [[c for c in clauses if c.key in _PRESENT] for clauses in told.values()]
    rest = [[c for c in clauses if c.key not in _PRESENT + _NORMAL] for clauses in told.values()]
    normal = [said for key in _NORMAL for said in _looked_normal(key, told)]
    return normal + both_ears(*present), both_ears(*rest)


def _looked_normal(key: str, told: dict[str, list[Clause]]) -> Iterator[str]:
    """`The ear canal and the eardrum looked normal in both ears`, then what only one of them says."""
    right, left = ([dict(c.values)["part"] for c in told[side] if c.key == key] for side in EARS)
    shared = [part for part in right if part in left]
    sides: list[tuple[Ear | None, list[str]]] = [(None, shared)]
    sides += [(side, [p for p in parts if p not in shared]) for side, parts in zip(EARS, (right, left), strict=True)]
    yield from (spoken(clause(key, part=listed(parts)), side) for side, parts in sides if parts)


def _clauses(ear: EarFacts) -> list[Clause]:
    last = ear.last
    if last is None or ear.empty:
        return [clause("brief.suspected", findings=listed(ear.suspected))] if ear.suspected else []
    told: list[Clause] = []
    unseen = bool(last.view and last.view.limit in ("not-seen", "not-examined"))
    if last.view and last.view.limit == "partly":
        told.append(clause("brief.partly", last.view.reason))
    for part in PARTS:
        looks = {when: look.parts[part] for when, look in ear.looks.items() if part in look.parts}
        if looks:
            early = "after" not in looks and (ear.worked or "after" in ear.looks)
            told += _part(part, list(looks.values()), _BEFORE if early else _NOW)
        elif part == "drum" and not unseen and "cavity" not in last.parts:
            told.append(clause("brief.drum.not-recorded"))
    return told + ([clause("brief.suspected", findings=listed(ear.suspected))] if ear.suspected else [])


def _part(stem: str, looks: list[Seen], key: str) -> list[Clause]:
    """`key`: whether it was looked at again after the work, for what was seen before it may be so no more."""
    seen = looks[-1]
    part, place = say(f"brief.part.{stem}"), say(f"brief.place.{stem}")
    told: list[Clause] = []
    if seen.limit in ("not-seen", "not-examined"):
        told.append(clause(f"{key}.{seen.limit}", seen.reason, part=part))
    elif seen.limit == "partly" and seen.normal:
        told.append(clause(f"{key}.normal", part=say(f"brief.part.{stem}.partly")))
    elif seen.limit == "partly":
        told.append(clause(f"{key}.partly", seen.reason, part=part))
    elif seen.normal:
        told.append(clause(f"{key}.normal", part=part))
    if seen.present:
        told.append(clause(f"{key}.present", place=place, findings=listed(seen.present)))
    if seen.suspected:
        told.append(clause(f"{key}.suspected", place=place, findings=listed(seen.suspected)))
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
        told.append(clause(f"{_BEFORE}.present", place=place, findings=listed(gone)))
    if gone := [f for f in first.suspected if f not in [*last.suspected, *last.present]]:
        told.append(clause(f"{_BEFORE}.suspected", place=place, findings=listed(gone)))
    return told
