"""From filled sheets to figures: coders with the record, coders with each other, and what they have otherwise."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from itertools import combinations

from bridge.audit.agree.answers import Answer, Filled
from bridge.audit.agree.compare import (
    Meant,
    category,
    chosen_category,
    difference,
    meant,
    other_certainty,
    other_side,
)
from bridge.audit.agree.shapes import ERRORS, Agreed, Coder, Difference, Error, Share, TwoWays, named
from bridge.audit.measures import Coincidences, cohen_kappa, percent, wilson
from bridge.audit.sample.key import Given, Key
from bridge.audit.shapes import Agreement, Rate
from bridge.issues import Issue, Where, issue
from bridge.phrases.fold import fold

COPIES_FROM = 10
"""Answers from which two sheets that say the same throughout are told as copies."""
Judged = tuple[Given, Meant, Answer]


def agreed(key: Key, sheets: Sequence[Filled]) -> Agreed:
    """All figures of the sheets that belong to one key."""
    found = {line.line: meant(line, key.choices[line.kind]) for line in key.lines}
    judged = {
        sheet.coder: [
            (line, found[line.line], answer)
            for line in key.lines
            if (answer := sheet.answers.get(line.line)) and answer.tells
        ]
        for sheet in sheets
    }
    everything = [one for several in judged.values() for one in several]
    differences = tuple(_differences(key, judged))
    alone = len(sheets) == 1
    return Agreed(
        key.name,
        key.seed,
        key.of,
        key.by,
        len(key.lines),
        tuple(_coder(sheet, len(key.lines)) for sheet in sheets),
        tuple(_share(name, ones, key, alone=len(key.groups) < 2) for name, ones in judged.items()),
        _weighted(key, everything),
        tuple(_between(key, found, sheets)),
        _everyone(key, found, sheets),
        tuple(_by(everything, key, lambda line: line.field, alone=alone and key.by in ("", "kind"))),
        tuple(_by(everything, key, lambda line: line.practitioner, alone=alone and key.by in ("", "practitioner"))),
        differences,
        tuple(two for sheet in sheets for two in _two_ways(key, sheet)),
        [*(i for sheet in sheets for i in sheet.issues), *_copies(sheets), *map(_told, differences)],
    )


def _coder(sheet: Filled, lines: int) -> Coder:
    told = sum(answer.tells for answer in sheet.answers.values())
    return Coder(sheet.coder, told, len(sheet.answers) - told, lines)


def errors_of(line: Given, found: Meant, answer: Answer, key: Key) -> Iterator[Error]:
    """Every way in which the record differs from one answer."""
    if error := difference(found, answer, key.choices[line.kind]):
        yield error
    if other_side(line, answer):
        yield "other side"
    if other_certainty(line, answer):
        yield "other certainty"


def _same(one: Judged, key: Key) -> bool:
    return difference(one[1], one[2], key.choices[one[0].kind]) is None


def _share(name: str, ones: Sequence[Judged], key: Key, *, alone: bool) -> Share:
    every = [list(errors_of(*one, key)) for one in ones]
    same = sum(_same(one, key) for one in ones)
    pairs = Counter[tuple[Hashable, Hashable]]()
    for line, found, answer in ones:
        pairs[category(found, answer, key.choices[line.kind]), chosen_category(answer)] += 1
    counts = Counter(error for errors in every for error in errors)
    return Share(
        name,
        len({line.line for line, _, _ in ones}),
        Rate(same, len(ones)),
        Rate(sum(not errors for errors in every), len(ones)),
        cohen_kappa(pairs),
        wilson(same, len(ones)) if alone else None,
        {error: counts[error] for error in ERRORS if counts[error]},
    )


def _by(ones: Iterable[Judged], key: Key, name: Callable[[Given], str], *, alone: bool) -> Iterator[Share]:
    groups: dict[str, list[Judged]] = {}
    for one in ones:
        groups.setdefault(name(one[0]), []).append(one)
    for group in sorted(groups):
        yield _share(group, groups[group], key, alone=alone)


def _weighted(key: Key, ones: Iterable[Judged]) -> float | None:
    """Each group's share, weighted by how much there was of it; None where a group has no answer, or there is one."""
    if not key.by or len(key.groups) < 2:
        return None
    groups: dict[str, list[bool]] = {}
    for one in ones:
        group = {"practitioner": one[0].practitioner, "month": one[0].month, "kind": one[0].kind}[key.by]
        groups.setdefault(group, []).append(_same(one, key))
    if set(groups) != set(key.groups):
        return None
    return sum(sum(groups[name]) / len(groups[name]) * size for name, size in key.groups.items()) / key.of


def _between(key: Key, found: Mapping[str, Meant], sheets: Sequence[Filled]) -> Iterator[Agreement]:
    for one, other in combinations(sheets, 2):
        pairs = Counter[tuple[Hashable, Hashable]]()
        for line in key.lines:
            both = one.answers.get(line.line), other.answers.get(line.line)
            if both[0] and both[1] and both[0].tells and both[1].tells:
                pairs[chosen_category(both[0]), chosen_category(both[1])] += 1
        units = [Counter(pair) for pair, count in pairs.items() for _ in range(count)]
        yield _agreement((one.coder, other.coder), units, pairs)
    if len(sheets) > 2:
        yield _agreement(tuple(sheet.coder for sheet in sheets), list(_units(key, found, sheets, record=False)))


def _everyone(key: Key, found: Mapping[str, Meant], sheets: Sequence[Filled]) -> Agreement | None:
    units = list(_units(key, found, sheets, record=True))
    return _agreement(("the record", *(sheet.coder for sheet in sheets)), units) if len(sheets) > 1 else None


def _units(
    key: Key, found: Mapping[str, Meant], sheets: Sequence[Filled], *, record: bool
) -> Iterator[Counter[Hashable]]:
    for line in key.lines:
        answers = [a for sheet in sheets if (a := sheet.answers.get(line.line)) and a.tells]
        unit = Counter[Hashable](chosen_category(answer) for answer in answers)
        if record and answers:
            choices, mine = key.choices[line.kind], found[line.line]
            near = next((a for a in answers if a.meaning and mine.means(a.meaning)), None)
            unit[category(mine, near, choices)] += 1
        yield unit


def _agreement(
    coders: tuple[str, ...],
    units: Sequence[Mapping[Hashable, int]],
    pairs: Mapping[tuple[Hashable, Hashable], int] | None = None,
) -> Agreement:
    """Percent is that of equal pairs of coders over all things."""
    sums = Coincidences()
    equal = of = 0
    for unit in units:
        sums.add(unit)
        number = sum(unit.values())
        of += number * (number - 1)
        equal += sum(count * (count - 1) for count in unit.values())
    kappa = cohen_kappa(pairs) if pairs is not None else None
    share = percent(pairs) if pairs is not None else equal / of if of else None
    return Agreement(coders, sums.things, share, kappa, sums.alpha())


def _differences(key: Key, judged: Mapping[str, Sequence[Judged]]) -> Iterator[Difference]:
    by_line: dict[str, list[tuple[str, Judged]]] = {}
    for coder, ones in judged.items():
        for one in ones:
            by_line.setdefault(one[0].line, []).append((coder, one))
    for line in key.lines:
        said: dict[tuple[Error, str, str, bool, tuple[str, ...]], list[str]] = {}
        for coder, (given, found, answer) in by_line.get(line.line, ()):
            for error in errors_of(given, found, answer, key):
                said.setdefault((error, *_shown(error, given, found, answer)), []).append(coder)
        for (error, has, chosen, same_code, codes), coders in said.items():
            yield Difference(error, line, has, chosen, tuple(coders), len(by_line[line.line]), same_code, codes)


def _shown(error: Error, given: Given, found: Meant, answer: Answer) -> tuple[str, str, bool, tuple[str, ...]]:
    """What the record has, what the answer says, whether both go out under one code, and the codes of the answer."""
    if error == "other side":
        return given.under, answer.ear, False, ()
    if error == "other certainty":
        return given.assertion, answer.assertion, False, ()
    codes = answer.meaning.codes if answer.meaning else ()
    shown = answer.meaning.shown if answer.meaning else ""
    return found.shown, shown, bool(found.codes.intersection(codes)), tuple(named(*code) for code in codes)


def _two_ways(key: Key, sheet: Filled) -> Iterator[TwoWays]:
    lines = {line.line: line for line in key.lines}
    met: dict[tuple[str, str], dict[str, None]] = {}
    for number, answer in sheet.answers.items():
        if answer.tells:
            line = lines[number]
            shown = answer.meaning.shown if answer.meaning else "other"
            met.setdefault((line.field, fold(line.words)), {})[shown] = None
    for (field, words), meanings in sorted(met.items()):
        if len(meanings) > 1:
            yield TwoWays(sheet.coder, field, words, tuple(meanings))


def _copies(sheets: Sequence[Filled]) -> Iterator[Issue]:
    for one, other in combinations(sheets, 2):
        said = [{line: a.says for line, a in sheet.answers.items()} for sheet in (one, other)]
        if said[0] == said[1] and len(said[0]) >= COPIES_FROM:
            told = "Two sheets hold the same answers throughout; if one is a copy, their agreement means nothing."
            file = next(iter(other.answers.values())).where.file
            yield issue("A211", told, Where(file), cause=f"A211:{one.coder}:{other.coder}")


def _told(found: Difference) -> Issue:
    given = found.given
    has, chosen = f"“{found.has}”" if found.has else "no code", f"“{found.chosen}”"
    who = f"{len(found.coders)} of {found.of} coders" if found.of > 1 else "the second coder"
    if found.error == "no meaning fits":
        said = f"{who} found no meaning that fits"
    elif found.error == "other side":
        said, has = f"{who} read {chosen} from the words", f"ear {has}" if found.has else "no ear"
    else:
        said = f"{who} chose {chosen}"
    told = f"“{given.words}” ({given.field}) has {has} in the record; {said}."
    if found.same_code:
        told += " Both go out under the same code of others."
    where = Where(given.file, given.sheet, given.row, path=given.path, record=given.record)
    return issue(ERRORS[found.error], told, where, cause=f"{given.kind}:{fold(given.words)}:{found.chosen}")
