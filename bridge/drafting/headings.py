"""What a heading says: which field, which ear, which stage, in which unit, and how exactly."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import product

from bridge.drafting.heading_key import Key, codes_of, key_of
from bridge.drafting.heading_sides import LATIN, SIDES, Cut, Twins, cuts_of, stage_twins, stages_of, twins_of
from bridge.drafting.near_headings import near_heading
from bridge.drafting.pieces import compose, piece_languages
from bridge.drafting.tables import (
    LANGUAGES,
    HeadingWord,
    heading_parts,
    heading_words,
    loose,
    loose_headings,
    tokens,
    vocabulary,
    windows,
)

_NUMBER_WORDS = ("no", "n", "nr", "num", "numero", "nummer", "number", "numer")


@dataclass(frozen=True, slots=True)
class Said:
    """One heading understood."""

    fields: tuple[str, ...] = ()
    """With `ear.` and `@` still open; several where it could be either; none where it is not known."""
    needs: str = ""
    side: str = ""
    """right, left, both, eye (a mark that means an eye to others), or empty."""
    side_word: str = ""
    stage: str = ""
    unit: str = ""
    exact: bool = True
    hints: tuple[str, ...] = ()
    """consent, sharing: what a heading that is not known may be about."""
    like: str = ""
    """The heading of the table that it looks like, where it is not exact."""
    language: str = ""
    made: bool = False
    """Put together from single words that are known."""
    key: Key = ()
    """All words of the heading."""


MANY = 3
"""Words that headings have in a language, from which the sheet is clearly in it."""


def read_headings(headings: Sequence[str], *, latin: bool = False) -> tuple[str, list[Said]]:
    """The language of the sheet, and every heading understood in the light of the others.

    `latin`: a person has said that AD, AS and the like mean ears here.
    """
    keys = [[key_of(piece) for piece in codes_of(heading)[0].split(" / ")] for heading in headings]
    language, clearly = _language([key for pieces in keys for key, _ in pieces])
    whole = [tuple(token for key, _ in pieces for token in key) for pieces in keys]
    twins = twins_of(whole, language, pairs=clearly)
    twins |= stage_twins(whole, language, twins)
    found = []
    for pieces, key in zip(keys, whole, strict=True):
        unit = next((unit for _, unit in reversed(pieces) if unit), "")
        last = pieces[-1][0] if len(pieces) > 1 else ()
        group = tuple(token for piece, _ in pieces[:-1] for token in piece)
        found.append(_in_percent(key, _grouped(_said(key, last, unit, language, twins), key, last, group, language)))
    for at, heading in enumerate(headings):
        outside = re.sub(r"[(\[][^()\[\]]*[)\]]", " ", heading)
        if not found[at].fields and outside != heading and (key := tokens(outside)):
            again = _said(key, (), found[at].unit, language, twins)
            if again.exact and not found[at].hints:
                found[at] = replace(again, exact=False, like=" ".join(key))
    if latin:
        found = [replace(s, side=LATIN[s.side_word]) if s.side == "eye" and s.side_word in LATIN else s for s in found]
    return language, [replace(s, key=key) for s, key in zip(found, whole, strict=True)]


def _in_percent(key: Key, said: Said) -> Said:
    """“Wax % R” is the percentage, wherever its sign stands."""
    if "percent" in key and said.fields == ("ear.@.wax",):
        return replace(said, fields=("ear.@.wax.percent",), needs="percent")
    return said


def known_columns(headings: Sequence[str]) -> int:
    """How many of the headings are known ones."""
    return sum(bool(said.fields) for said in read_headings(headings)[1])


def _language(keys: list[Key]) -> tuple[str, bool]:
    """The language that most headings have words of, English where it is a draw; and whether many of them do."""
    votes = dict.fromkeys(LANGUAGES, 0.0)
    tables = (vocabulary(), piece_languages())
    for key in keys:
        for token in key:
            for known in tables:
                for language in known.get(token, ()):
                    votes[language] += 1 / len(known[token])
    best = max(LANGUAGES, key=lambda name: (votes[name], name == "en"))
    return best, votes[best] >= MANY


def _said(key: Key, last: Key, unit: str, language: str, twins: Twins) -> Said:
    if key and (found := _exact(key, language)):
        return _made(found, unit, Cut(key), Cut(key), True, "", language)
    side = next(cuts_of(key, language, SIDES, twins), Cut(key))
    more = next(cuts_of(side.rest, language, ("right", "left", "eye"), twins), None)
    if more is not None and more.part != side.part and side.part:
        side = Cut(more.rest, "eye", f"{side.word} {more.word}")
    stages = [Cut(side.rest), *stages_of(side.rest, language, twins)]
    options = [s for s in stages if s.rest]
    exact = (said for stage in options if (said := _first_exact(stage, unit, side, language)))
    if best := _staged(exact):
        return best
    composed = [said for stage in options if (said := _composed(stage, unit, side, language))]
    if best := _staged(said for said in composed if said.exact):
        return best
    if last and last != key:
        inner = _said(last, (), unit, language, twins)
        if inner.fields:
            stage = stages[-1] if len(stages) > 1 else Cut(())
            return replace(
                inner, side=inner.side or side.part, side_word=inner.side_word or side.word,
                stage=inner.stage or stage.part,
            )  # fmt: skip
    if side.part or len(stages) > 1:
        for stage in stages[::-1]:
            if not any(stage.rest) or not any(_bare(stage.rest, language)[-1:][0] if stage.rest else ()):
                field = "ear.@.note" if stage.part else "ear.note"
                return Said((field,), "whole-ear", side.part, side.word, stage.part, unit, True, (), "", language)
    for stage in options[::-1]:
        for rest in _bare(stage.rest, language):
            if near := near_heading(rest, language):
                return _made(heading_words()[near], unit, side, stage, False, " ".join(near), language)
    hints = _hints(key, language)
    if composed and not (hints and set(hints) - _consents(composed[-1])):
        return composed[-1]
    stage = stages[-1]
    return Said((), "", side.part, side.word, stage.part, unit, False, hints, "", language)


def _first_exact(stage: Cut, unit: str, side: Cut, language: str) -> Said | None:
    """The heading as the table has it, with as few words left out as need be."""
    for rest in _bare(stage.rest, language):
        if found := _exact(rest, language):
            return _made(found, unit, side, stage, True, "", language)
    return None


def _consents(said: Said) -> set[str]:
    """Which consents the fields are about; both for one that is not told apart."""
    return {"consent", "sharing"} if any(f.startswith(("consent", "sharing", "family")) for f in said.fields) else set()


def _staged(found: Iterable[Said]) -> Said | None:
    """The first of several readings, but rather one that takes a word for the stage where the field has stages."""
    options = list(found)
    timed = (s for s in options if s.stage and any("@" in f or f in _TIMED.values() for f in s.fields))
    return next(timed, options[0] if options else None)


def _composed(stage: Cut, unit: str, side: Cut, language: str) -> Said | None:
    found = compose(stage.rest, language)
    if found is None:
        return None
    fields = _timed(found.fields, stage.part)
    like = "" if found.whole else " ".join(stage.rest)
    return Said(
        fields, found.needs, side.part, side.word, stage.part, unit, found.whole, (), like, language, made=True
    )  # fmt: skip


_TIMED = {
    ("ear.work.pain_peak", "before"): "ear.work.pain_before",
    ("ear.work.pain_peak", "after"): "ear.work.pain_after",
    ("ear.hearing_change", "after"): "ear.hearing_change",
}


def _timed(fields: tuple[str, ...], stage: str) -> tuple[str, ...]:
    """Fields that are other ones before the work, or after it."""
    return tuple(_TIMED.get((field, stage), field) for field in fields)


def _grouped(said: Said, key: Key, last: Key, group: Key, language: str) -> Said:
    """Where the heading's own words alone were known, the group above it may say that they mean something else."""
    if not last or not said.fields or (said.made and said.exact) or _exact(key, language):
        return said
    for part in (cuts_of(group, language, SIDES, None), stages_of(group, language, frozenset())):
        group = next(iter(part), Cut(group)).rest
    rest = next((r for r in _bare(group, language)[::-1]), ())
    if not rest:
        return said
    if hints := _hints(rest, language):
        return replace(said, fields=(), exact=False, hints=hints)
    known = _exact(rest, language)
    if known and not any(f.startswith("client.") or f.endswith("note") for w in known for f in w.fields):
        fields = dict.fromkeys([*(f for w in known for f in w.fields), *said.fields])
        return replace(said, fields=tuple(fields), needs="ask") if len(fields) > 1 else said
    return said


def _made(found: Sequence[HeadingWord], unit: str, side: Cut, stage: Cut, exact: bool, like: str, own: str) -> Said:
    words = [w for w in found if w.language == own] or [w for w in found if w.language == "en"] or list(found)
    fields = _timed(tuple(dict.fromkeys(f for w in words for f in w.fields)), stage.part)
    needs = "ask" if len({w.fields for w in words}) > 1 else words[0].needs
    return Said(fields, needs, side.part, side.word, stage.part, unit, exact, (), like, words[0].language)


def _hints(key: Key, language: str) -> tuple[str, ...]:
    parts = (part for token in key for part in heading_parts().get((token,), ()))
    found = {p.part for p in parts if p.part in ("consent", "sharing") and p.language in ("", language)}
    return tuple(sorted(found))


def _exact(key: Key, language: str) -> Sequence[HeadingWord]:
    """Rows of the table for these words, percent signs aside, umlauts written out or not."""
    table = heading_words()
    bare = tuple(t for t in key if t != "percent")
    numbers = [(word, *key[1:]) for word in _NUMBER_WORDS] if key[:1] and key[0] in _NUMBER_WORDS and key[1:] else []
    for one in (key, bare, *numbers):
        if one and (found := table.get(one)):
            if one == bare != key and not any("percent" in f or f.endswith(".wax") for w in found for f in w.fields):
                continue
            return found
    joined = "".join(key)
    if len(joined) > 5 and min(map(len, key)) > 1 and (known := loose_headings().get(loose(key))):
        return tuple(w for w in table[known] if w.language in (language, "en"))
    return ()


def _bare(key: Key, language: str) -> list[Key]:
    """The words as they are, and without those that add nothing, in every combination that leaves something."""
    places = [
        (start, end)
        for start, end in windows(key)
        if any(p.part == "filler" and p.language in ("", language) for p in heading_parts().get(key[start:end], ()))
    ][:4]
    found: dict[Key, None] = {}
    for chosen in sorted(product((False, True), repeat=len(places)), key=sum):
        gone = {i for (start, end), use in zip(places, chosen, strict=True) if use for i in range(start, end)}
        found[tuple(token for i, token in enumerate(key) if i not in gone)] = None
    return list(found)
