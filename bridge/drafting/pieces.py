"""Headings that no table has as a whole, put together from their words: `right_pre_wax_amount`, `Restcerumen`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import combinations, islice, product

from bridge.data import load_csv, table_path
from bridge.drafting.heading_key import Key
from bridge.drafting.tables import heading_parts, tokens

SOFT = frozenset(("state", "ear", "client", "visit", "home", "amount", "look"))
"""What may be in a heading without changing what it is about."""
GRAVE = frozenset(("agree", "may", "share", "letter"))
"""Words of consents: nothing is left out beside them, and a “not” is never passed over."""
LONGEST = 24
"""Words of a heading that are looked at; a longer one is a sentence."""
LONGEST_WORD = 5
"""Words that one entry of the table has at most."""
_MOST = 300
"""Ways of taking words with two meanings that are tried."""
_JOINS = ("", "s", "n", "en", "e", "es", "er")
"""Letters between the halves of a compound."""


@dataclass(frozen=True, slots=True)
class Composed:
    """What the words of a heading are about together."""

    fields: tuple[str, ...]
    needs: str
    whole: bool
    """Whether every word is known, and none that matters was left out."""


@dataclass(frozen=True, slots=True)
class _Recipe:
    fields: tuple[str, ...]
    needs: str


@cache
def _recipes() -> dict[frozenset[str], _Recipe]:
    rows = load_csv(table_path("words", "headings-recipes.csv"))
    return {frozenset(r["pieces"].split()): _Recipe(tuple(r["field"].split()), r["needs"]) for r in rows}


@cache
def pieces(language: str) -> Mapping[Key, frozenset[str]]:
    """Words and what each may be about, in a language or in English."""
    own: dict[Key, set[str]] = {}
    english: dict[Key, set[str]] = {}
    for row in load_csv(table_path("words", "headings-pieces.csv")):
        if row["language"] in ("", "en", language):
            table = own if row["language"] == language else english
            for word in row["words"].split("|"):
                table.setdefault(tokens(word), set()).add(row["piece"])
    return {key: frozenset(found) for key, found in {**english, **own}.items()}


@cache
def piece_languages() -> dict[str, frozenset[str]]:
    """Words of three letters and more, with the languages that have them."""
    found: dict[str, set[str]] = {}
    for row in load_csv(table_path("words", "headings-pieces.csv")):
        for word in row["words"].split("|") if row["language"] else ():
            for token in tokens(word):
                if len(token) > 2:
                    found.setdefault(token, set()).add(row["language"])
    return {token: frozenset(languages) for token, languages in found.items()}


@lru_cache(4096)
def compose(key: Key, language: str) -> Composed | None:
    """The field that the words mean together, or None where they mean nothing that is known."""
    if not 0 < len(key) <= LONGEST:
        return None
    parts = list(_segments(key, language))
    unknown = any(not p for p in parts)
    ways = {frozenset(w for w in way if w) for way in islice(product(*(sorted(p) for p in parts if p)), _MOST)}
    ways.discard(frozenset())
    if not ways:
        return None
    denied = any("not" in way for way in ways)
    grave = any(way & GRAVE for way in ways)
    fitting = [way for way in ways if way in _recipes() and ("not" in way or not (denied and grave))]
    if fitting:
        most = max(map(len, fitting))
        return _made(_all(_recipes()[way] for way in fitting if len(way) == most), not unknown)
    if denied and grave:
        return None
    if found := _all(_softly(way) for way in ways):
        return _made(found, not unknown)
    for left_out in () if denied or grave else (1, 2):
        if found := _all(r for way in ways for r in _without(way, left_out)):
            return _made(found, False)
    return None


@lru_cache(4096)
def nearest(key: Key, language: str) -> tuple[str, ...]:
    """Fields that the words of a heading come near to, those that take in most of it first."""
    if not 0 < len(key) <= 2 * LONGEST:
        return ()
    about = frozenset(piece for part in _segments(key, language) for piece in part if piece) - {"not"}
    scored: dict[str, int] = {}
    for wanted, recipe in _recipes().items():
        if wanted <= about and not wanted <= SOFT:
            for field in recipe.fields:
                scored[field] = max(scored.get(field, 0), len(wanted - SOFT))
    much = len(about - SOFT)
    best = sorted((f for f, n in scored.items() if f != "ignore" and n * 3 >= much), key=lambda f: -scored[f])
    return tuple(best[:5])


def _made(found: list[_Recipe], whole: bool) -> Composed:
    fields = tuple(dict.fromkeys(f for r in found for f in r.fields))[:6]
    same = len({r.fields for r in found}) == 1
    return Composed(fields, found[0].needs if same else "ask", whole)


def _all(found: Iterator[_Recipe | None]) -> list[_Recipe]:
    return sorted({r for r in found if r is not None}, key=lambda r: (len(r.fields), r.fields, r.needs))


def _softly(way: frozenset[str]) -> _Recipe | None:
    """The recipe of the things that matter, with as many of the others as it knows."""
    soft = sorted(way & SOFT)
    for left_out in range(1, len(soft) + 1):
        for gone in combinations(soft, left_out):
            if found := _recipes().get(way - set(gone)):
                return found
    return None


def _without(way: frozenset[str], left_out: int) -> Iterator[_Recipe | None]:
    rest = way - SOFT
    if len(rest) > left_out:
        yield from (_recipes().get(rest - set(gone)) for gone in combinations(sorted(rest), left_out))


def _segments(key: Key, language: str) -> Iterator[frozenset[str]]:
    """What each word, or several together, may be about; empty for words that nothing knows, "" for one that adds
    nothing."""
    known = pieces(language)
    at = 0
    while at < len(key):
        for size in range(min(LONGEST_WORD, len(key) - at), 0, -1):
            words = key[at : at + size]
            found = known.get(words, frozenset())
            if _adds_nothing(words, language):
                found |= {""}
            if found:
                break
        else:
            size, parts = 1, _split(key[at], language)
            if parts:
                yield from parts
                at += 1
                continue
        yield found
        at += size


def _adds_nothing(words: Key, language: str) -> bool:
    if len(words) == 1 and words[0].isdigit():
        return True
    return any(p.part == "filler" and p.language in ("", language) for p in heading_parts().get(words, ()))


@lru_cache(8192)
def _split(word: str, language: str) -> tuple[frozenset[str], ...]:
    """The parts of a compound, where all of it is known: `cerumenmenge`, `trumhinnestatus`, `datetime`."""
    if not 6 <= len(word) <= 40:
        return ()
    known = pieces(language)
    for at in range(len(word) - 3, 2, -1):
        head, tail = word[:at], word[at:]
        if (head,) not in known:
            continue
        for join in _JOINS:
            rest = tail.removeprefix(join)
            if len(rest) < 3 or (join and rest == tail):
                continue
            if (rest,) in known:
                return known[head,], known[rest,]
            if more := _split(rest, language):
                return known[head,], *more
    return ()
