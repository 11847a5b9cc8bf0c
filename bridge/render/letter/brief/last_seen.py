"""How the rest of each ear looked when it was last looked at, what could not be seen, and what is only suspected."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.ear_words import EARS, Ear
from bridge.fhir.own import own_code
from bridge.fhir.tell.words import listed
from bridge.render.letter.brief.clauses import Clause, both_ears, clause, spoken
from bridge.render.letter.brief.facts import PARTS, EarFacts, Look, Seen
from bridge.render.letter.brief.named import Named, among, with_articles
from bridge.wording import say

_NOW, _BEFORE, _AFTER = "brief.part", "brief.part.before", "brief.part.after"
_NORMAL = (f"{_NOW}.normal", f"{_BEFORE}.normal")
_KEPT_FROM_SIGHT = ("not-seen", "not-examined")
_PRESENT = frozenset(
    [f"{key}.{form}" for key in (_NOW, _BEFORE, _AFTER) for form in ("shows", "holds", "is", "noted")]
    + ["brief.foreign.unsaid", "brief.foreign.no-removal"]
)


def last_seen(right: EarFacts, left: EarFacts) -> tuple[list[str], list[str]]:
    """What was seen, the normal parts in one clause for each ear or both; and what was not, or is only suspected."""
    told = {"right": _clauses(right), "left": _clauses(left)}
    present = [[c for c in clauses if c.key in _PRESENT] for clauses in told.values()]
    rest = [_limits_together([c for c in clauses if c.key not in _PRESENT and c.key not in _NORMAL])
            for clauses in told.values()]  # fmt: skip
    normal = [said for key in _NORMAL for said in _looked_normal(key, told)]
    return normal + both_ears(*present), both_ears(*rest)


def _looked_normal(key: str, told: dict[str, list[Clause]]) -> Iterator[str]:
    """`The ear canal and the eardrum looked normal in both ears`, then what only one of them says."""
    right, left = ([dict(c.values)["part_words"] for c in told[side] if c.key == key] for side in EARS)
    shared = [part for part in right if part in left]
    sides: list[tuple[Ear | None, list[str]]] = [(None, shared)]
    sides += [(side, [p for p in parts if p not in shared]) for side, parts in zip(EARS, (right, left), strict=True)]
    yield from (spoken(clause(key, part_words=listed(parts)), side) for side, parts in sides if parts)


def _limits_together(clauses: list[Clause]) -> list[Clause]:
    """Parts that could not be seen, or in part only, for the same reason share a clause."""
    shared: dict[tuple[str, str], list[str]] = {}
    for told in clauses:
        if told.key.removesuffix(".why").endswith((".not-seen", ".partly")) and "part_words" in dict(told.values):
            values = dict(told.values)
            shared.setdefault((told.key, values.get("reason", "")), []).append(values["part_words"])
    found: list[Clause] = []
    for told in clauses:
        values = dict(told.values)
        parts = shared.get((told.key, values.get("reason", "")), [])
        if len(parts) > 1:
            told = Clause(told.key, tuple({**values, "part_words": listed(parts)}.items()))
        found += [told] if told not in found else []
    return found


def _clauses(ear: EarFacts) -> list[Clause]:
    last = ear.last
    if last is None or ear.empty:
        return _impressions(ear, [])
    told: list[Clause] = []
    for part in PARTS:
        looks = {when: look.parts[part] for when, look in ear.looks.items() if part in look.parts}
        if looks:
            early = "after" not in looks and (ear.worked or "after" in ear.looks)
            after = part == "contents" and "after" in looks and ear.worked
            told += _part(part, list(looks.values()), _BEFORE if early else _NOW, _AFTER if after else "")
        elif part == "drum" and not _unseen(last) and "cavity" not in last.parts:
            told.append(clause("brief.drum.not-recorded"))
    told = [c for c in told if not _told_by_the_view(c, last)]
    limited = any(c.key.removesuffix(".why").endswith((".not-seen", ".not-examined", ".partly")) for c in told)
    if last.view and last.view.limit == "partly" and not limited:
        told.insert(0, clause("brief.partly", last.view.reason))
    told += _foreign_bodies(ear)
    return told + _impressions(
        ear, [found for look in ear.looks.values() for s in look.parts.values() for found in s.suspected]
    )


def _unseen(look: Look) -> bool:
    return bool(look.view and look.view.limit in _KEPT_FROM_SIGHT)


def _told_by_the_view(told: Clause, look: Look) -> bool:
    """Whether it says of a part what the whole ear's view has said already, for the same reason."""
    view = look.view
    if view is None or view.limit not in _KEPT_FROM_SIGHT:
        return False
    return told.key.removesuffix(".why") == f"{_NOW}.{view.limit}" and dict(told.values).get("reason", "") in (
        "",
        view.reason,
    )


def _impressions(ear: EarFacts, findings: list[Named]) -> list[Clause]:
    """Suspected impressions, but for what a suspected finding has said: `polyp` says `polyp of the ear`."""
    names = tuple(f"{found.label} " for found in findings)
    said = [thing for thing in ear.suspected if not f"{thing.label} ".startswith(names)]
    return [clause("brief.suspected", findings=with_articles(said))] if said else []


def _part(stem: str, looks: list[Seen], key: str, late: str) -> list[Clause]:
    """`key`: whether it was looked at again after the work, for what was seen before it may be so no more; `late`:
    that what is present was so after the work."""
    seen = looks[-1]
    part = say(f"brief.part.{stem}")
    told: list[Clause] = []
    if seen.limit in _KEPT_FROM_SIGHT:
        told.append(clause(f"{key}.{seen.limit}", seen.reason, part_words=part))
    elif seen.limit == "partly" and seen.normal:
        told.append(clause(f"{key}.normal", part_words=say(f"brief.part.{stem}.partly")))
    elif seen.limit == "partly":
        told.append(clause(f"{key}.partly", seen.reason, part_words=part))
    elif seen.normal:
        told.append(clause(f"{key}.normal", part_words=part))
    told += _present(late or key, stem, seen.present)
    told += _suspected(key, stem, seen.suspected)
    if seen.words:
        told.append(clause("brief.part.words", part_words=part))
    return [*_earlier(stem, looks), *told]


def _present(key: str, stem: str, findings: list[Named]) -> list[Clause]:
    """What a part showed or held; what it was; and what is neither, as it was noted."""
    noted = [found for found in findings if among(found.code, "brief.noted")]
    was = [found for found in findings if among(found.code, "brief.is")]
    things = [found for found in findings if found not in noted and found not in was]
    told: list[Clause] = []
    if was:
        told.append(clause(f"{key}.is", part=stem, findings=listed([found.label for found in was])))
    if things:
        form = "holds" if stem == "contents" else "shows"
        told.append(clause(f"{key}.{form}", part=stem, findings=with_articles(things)))
    if noted:
        findings_noted = listed([found.label for found in noted])
        told.append(clause(f"{key}.noted", part_words=say(f"brief.part.{stem}"), findings=findings_noted))
    return told


def _suspected(key: str, stem: str, findings: list[Named]) -> list[Clause]:
    noted = [f for f in findings if among(f.code, "brief.noted") or among(f.code, "brief.is")]
    things = [found for found in findings if found not in noted]
    told = [clause(f"{key}.suspected", part=stem, findings=with_articles(things))] if things else []
    if noted:
        words = listed([found.label for found in noted])
        told.append(clause(f"{key}.noted.suspected", part_words=say(f"brief.part.{stem}"), findings=words))
    return told


def _earlier(stem: str, looks: list[Seen]) -> list[Clause]:
    """Findings of a first look that the last one does not repeat."""
    if len(looks) == 1:
        return []
    first, last = looks[0], looks[-1]
    gone = [found for found in first.present if found not in last.present]
    doubted = [found for found in first.suspected if found not in [*last.suspected, *last.present]]
    return [*_present(_BEFORE, stem, gone), *_suspected(_BEFORE, stem, doubted)]


def _foreign_bodies(ear: EarFacts) -> list[Clause]:
    """What is known of a foreign body that was seen before the work and of which no later look tells."""
    before, after = ear.looks.get("before"), ear.looks.get("after")
    seen = before.parts.get("contents") if before else None
    strange = seen and any(among(found.code, "brief.foreign") for found in seen.present)
    if not strange or (after and "contents" in after.parts):
        return []
    if not ear.worked:
        return [clause("brief.foreign.no-removal")]
    removed = any(
        own_code(work.get("code")) == "method-foreign-body" and own_code(work.get("outcome")) == "outcome-complete"
        for work in ear.work
    )
    return [] if removed else [clause("brief.foreign.unsaid")]
