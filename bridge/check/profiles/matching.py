"""Whether a value is in a slice: the discriminators of a slicing, made ready for each slice once.

Source: https://hl7.org/fhir/R4/profiling.html#discriminator, elementdefinition-definitions.html (slicing).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

from bridge.check.profiles.bindings import in_set
from bridge.check.profiles.context import Context, target
from bridge.check.profiles.marks import Mark
from bridge.check.profiles.part import Item, Part
from bridge.check.profiles.presort import Presort, key_of_pattern
from bridge.check.profiles.same import fits, fixed
from bridge.check.profiles.steps import Met, Step, defined, follow, profiles_of, steps, urls_of
from bridge.fhir import tables

if TYPE_CHECKING:
    from bridge.check.profiles.run import Run

Test = Callable[["Run", list[Met]], bool | None]
"""Whether what a discriminator leads to is as the slice says; None where that cannot be decided."""
Matcher = tuple[tuple[Step, ...], Test]


Followed = dict[tuple[Step, ...], list[Met]]
"""What the paths of discriminators lead to from one value, as far as they were followed."""


def presorted(run: Run, part: Part, named: list[Part]) -> Presort:
    """The slices of a slicing by what a value must have to be in one; made once."""
    if part.presort is None:
        part.presort = _presorted(run, part, named)
    presort: Presort = part.presort
    return presort


def _presorted(run: Run, part: Part, named: list[Part]) -> Presort:
    by = sorted(part.slicing["by"] if part.slicing else (), key=lambda one: one[0] != "profile")
    for kind, path in by:
        way = steps(path)
        if way is None or (way and way[-1].kind == "resolve" and kind != "type"):
            continue
        if kind in ("type", "profile") and not any(step.kind == "resolve" for step in way):
            found = [defined([one], way, run.plans.roots) for one in named]
            keys = [[("type", code) for part in parts for code in part.declared] or None for parts in found]
            presort = Presort(named, way, keys)
            return presort.by_marks([_marks(run, parts) for parts in found]) if kind == "profile" else presort
        if kind in ("value", "pattern"):
            return Presort(named, way, [_keys(run, one, way) for one in named])
    return Presort(named)


def _marks(run: Run, parts: list[Part]) -> tuple[Mark, ...]:
    """The marks of the one profile that tells a slice apart; none where there are several, or none."""
    urls = [url for part in parts for url in profiles_of(part)]
    root = run.plans.root(urls[0]) if len(urls) == 1 else None
    return run.marks_of(root) if root is not None else ()


def _keys(run: Run, one: Part, way: tuple[Step, ...]) -> list[Any] | None:
    """The keys of a slice told apart by a value; None where it is told apart by something else."""
    parts = defined([one], way, run.plans.roots)
    wanted = [part.fixed or part.pattern for part in parts if part.fixed or part.pattern]
    if wanted:
        key = key_of_pattern(wanted[0][1] if wanted[0] else None)
        return None if key is None else [key]
    if one.name in ("extension", "modifierExtension") and way and way[-1] == Step("name", "url"):
        return list(urls_of(one, run.plans.roots)) or None
    return None


def matches(run: Run, part: Part, slice: Part, met: Met, followed: Followed) -> bool | None:
    """Whether the value is in the slice; None where a discriminator cannot be decided and no other one says no."""
    if slice.matchers is None:
        slice.matchers = _matchers(run, part, slice)
    undecided = False
    for way, test in slice.matchers:
        run.spend()
        if way not in followed:
            followed[way] = follow([met], way)
        verdict = test(run, followed[way])
        if verdict is False:
            return False
        undecided = undecided or verdict is None
    return None if undecided else True


def lacking_the_profile(run: Run, part: Part, slice: Part, met: list[Met]) -> tuple[str, Met] | None:
    """The one value that is of the slice's type, and the profile that it would need to be in the slice; None where
    there is no such value, or several that might be meant."""
    way = next((steps(path) for kind, path in (part.slicing or {}).get("by", ()) if kind == "profile"), None)
    if way is None or any(step.kind == "resolve" for step in way):
        return None
    urls = [url for one in defined([slice], way, run.plans.roots) for url in profiles_of(one)]
    type = run.plans.type_of(urls[0]) if len(urls) == 1 else ""
    found = [inner for one in met for inner in follow([one], way) if type in tables.lineage(inner[0][1])]
    return (urls[0], found[0]) if len(found) == 1 else None


def _matchers(run: Run, part: Part, slice: Part) -> list[Matcher]:
    """The tests of all discriminators; where a slicing has none, the slice as a whole tells its values apart."""
    by = part.slicing["by"] if part.slicing else []
    by = [[kind, path] for kind, path in by if kind != "type" or ["profile", path] not in by]
    return [_matcher(run, slice, kind, path) for kind, path in by] or [((), _conforming([slice]))]


def _matcher(run: Run, slice: Part, kind: str, path: str) -> Matcher:
    way = steps(path)
    if way is None:
        return (), _undecided
    if kind in ("value", "pattern"):
        return way, _value(run, slice, way)
    if kind == "exists":
        return way, _exists(defined([slice], way, run.plans.roots))
    if way and way[-1].kind == "resolve":
        return way[:-1], _leading(defined([slice], way[:-1], run.plans.roots), kind)
    return way, _typed(defined([slice], way, run.plans.roots), kind)


def _undecided(run: Run, met: list[Met]) -> bool | None:
    return None


def _value(run: Run, slice: Part, way: tuple[Step, ...]) -> Test:
    """By what the profile fixes at the end of the path; failing that by all it asks for there, by a required set, or by
    whether anything is there."""
    parts = defined([slice], way, run.plans.roots)
    wanted = [(part.fixed[1], fixed) for part in parts if part.fixed is not None]
    wanted += [(part.pattern[1], fits) for part in parts if part.pattern is not None]
    wanted = wanted or [(value, fits) for value in _said_above(run, slice, way)]
    if wanted:
        return lambda run, met: all(any(same(value, item[0]) for item, _ in met) for value, same in wanted)
    if slice.name in ("extension", "modifierExtension") and way and way[-1] == Step("name", "url"):
        urls = urls_of(slice, run.plans.roots)
        if urls:
            return lambda run, met: any(item[0] in urls for item, _ in met)
    telling = [part for part in parts if part.parts or part.slices or profiles_of(part)]
    if telling:
        return _conforming(telling)
    bound = [value_set for part in parts for strength, value_set in part.binding if strength == "required"]
    if bound:
        return _bound(bound[0])
    return _exists(parts)


def _said_above(run: Run, slice: Part, way: tuple[Step, ...]) -> list[Any]:
    """What a fixed value or a pattern of an element on the way says of the end of the path."""
    for steps_left in range(1, len(way) + 1):
        names = way[-steps_left:]
        if any(step.kind != "name" for step in names):
            return []
        parts = defined([slice], way[:-steps_left], run.plans.roots)
        said = [wanted[1] for part in parts if (wanted := part.fixed or part.pattern)]
        for step in names:
            inner = [one[step.word] for one in said if isinstance(one, dict) and step.word in one]
            said = [one for each in inner for one in (each if isinstance(each, list) else [each])]
        if said:
            return said
    return []


def _bound(value_set: str) -> Test:
    return lambda run, met: _one(in_set(run, value_set, item) for item, _ in met)


def _conforming(parts: list[Part]) -> Test:
    return lambda run, met: any(all(run.fits(part, item, context) for part in parts) for item, context in met)


def _exists(parts: list[Part]) -> Test:
    if any(part.max == 0 for part in parts):
        return lambda run, met: not met
    if any(part.min for part in parts):
        return lambda run, met: bool(met)
    return _undecided


def _typed(parts: list[Part], kind: str) -> Test:
    """By type, or by the profiles of a type."""
    facts = {code: row for part in parts for code, row in part.declared.items()}
    if not facts:
        return _undecided
    name = parts[0].name

    def is_one(run: Run, item: Item, context: Context) -> bool | None:
        code = next((c for c in tables.allowed_as(item[1], name) if c in facts), None)
        if code is None:
            return False
        urls = facts[code].get("profiles", ())
        if not urls:
            return True
        if kind == "type":
            return any(run.plans.type_of(url) in ("", *tables.lineage(item[1])) for url in urls)
        return _one(_conforms(run, url, item, context) for url in urls)

    return lambda run, met: _one(is_one(run, item, context) for item, context in met)


def _leading(parts: list[Part], kind: str) -> Test:
    """By the type, or the profiles, of what a reference leads to."""
    urls = [u for part in parts for facts in part.declared.values() for u in facts.get("targets", ())]
    if not urls:
        return _undecided

    def leads(run: Run, item: Item, context: Context) -> bool | None:
        found = target(item[0], context)
        fitting = [u for u in urls if not found.type or run.plans.type_of(u) in ("", *tables.lineage(found.type))]
        if found.type and kind == "type":
            return bool(fitting)
        if found.resource is None:
            return None if fitting else False
        one: Item = (found.resource, found.type, found.path, None)
        return _one(_conforms(run, url, one, found.context) for url in fitting)

    return lambda run, met: _one(leads(run, item, context) for item, context in met)


def _one(verdicts: Iterable[bool | None]) -> bool | None:
    """Whether one of them says yes; None where none does, and one does not know."""
    undecided = False
    for verdict in verdicts:
        if verdict:
            return True
        undecided = undecided or verdict is None
    return None if undecided else False


def _conforms(run: Run, url: str, item: Item, context: Context) -> bool | None:
    if run.plans.is_type(url):
        return run.plans.type_of(url) in tables.lineage(item[1])
    return run.conforms(url, item, context) if run.plans.about(url) else None
