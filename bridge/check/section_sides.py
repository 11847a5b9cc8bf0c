"""C104: a section's own text must put each fact under the ear that the entry itself names."""

from __future__ import annotations

import re
from collections.abc import Iterator
from collections.abc import Set as AbstractSet
from functools import cache
from html import unescape

from bridge.check.look import part, parts, text
from bridge.check.references import Index
from bridge.ear_words import EARS, Ear
from bridge.issues import Issue, Where, issue
from bridge.phrases import side_words
from bridge.shapes import Json
from bridge.wording import in_any_language

Ears = frozenset[Ear]
_GROUP = re.compile(r"<dt>([^<]*+)</dt>", re.IGNORECASE)
_ITEM = re.compile(r"<dd>([^<]*+(?:<(?!/?d[dtl]>)[^<]*+)*+)</dd>", re.IGNORECASE)
_SUBJECT = re.compile(r"\s*<b>([^<]*+)</b>(.*)", re.DOTALL | re.IGNORECASE)
_TAG = re.compile(r"<[^<>]*>")
_EAR_FIRST = re.compile(r"(right|left) ear\b")
_PLAIN = re.compile(r"(?:[^\w;]|_)+")
_LONGEST = 100_000
_MOST_COMPARED = 100_000_000
"""Signs that are compared in all the sections of a bundle; a real one has some hundred thousand."""


class Compared:
    """The words of each entry's own text, read once; and how much may still be compared with them."""

    def __init__(self) -> None:
        self.left = _MOST_COMPARED
        self._words: dict[int, str] = {}

    def words(self, resource: Json) -> str:
        if id(resource) not in self._words:
            self._words[id(resource)] = _words(text(part(resource, "text"), "div"))
        return self._words[id(resource)]


def check_sections(
    path: str, composition: Json, index: Index, sides: dict[int, Ears], compared: Compared
) -> Iterator[Issue]:
    """`sides`: the ears of each resource by its `id()`; `compared`: one for all the sections of a bundle."""
    for number, section in enumerate(parts(composition, "section")):
        where = Where(path=f"{path}.section[{number}].text.div")
        div = text(part(section, "text"), "div")[:_LONGEST]
        found = (index.find(text(e, "reference"), composition).resource for e in parts(section, "entry"))
        told = ((sides.get(id(r), frozenset()), r) for r in found if r)
        entries = [(ears, compared.words(resource)) for ears, resource in told if len(ears) == 1]
        compared.left -= len(entries)
        if compared.left > 0 and (problem := _problem(div, entries, compared) if div else ""):
            yield issue("C104", problem, where)
        if compared.left <= 0:
            told_of = f"{_MOST_COMPARED:,} signs in sections and their entries to compare"
            yield issue("S117", f"More than {told_of}; the rest was not looked at.", where)
            return


def _problem(div: str, entries: list[tuple[Ears, str]], compared: Compared) -> str:
    if not entries:
        return ""
    size = sum(len(words) for _, words in entries)
    headed: set[Ear] = set()
    for ears, item in _items(div):
        headed |= ears
        said = _EAR_FIRST.match(item)
        if said and said[1] not in ears:
            return f"A fact under the {_name(ears)} begins with the {said[1]} ear."
        compared.left -= size
        if compared.left <= 0:
            return ""
        fact = item[said.end() :].strip() if said else item
        holders: set[Ear] = {next(iter(about)) for about, words in entries if fact and f" {fact} " in f" {words} "}
        if holders and not ears <= holders:
            return f"A fact stands under the {_name(ears)}, while its own entry is about the {_name(holders)}."
    named: Ears = frozenset(side_words(unescape(_TAG.sub(" ", div)))) | headed
    about: Ears = frozenset().union(*(ears for ears, _ in entries))
    if len(named) == 1 and named.isdisjoint(about):
        return f"The text speaks of the {next(iter(named))} ear only, and the entries are about the other."
    return ""


def _name(ears: AbstractSet[Ear]) -> str:
    return f"{next(iter(ears))} ear" if len(ears) == 1 else "heading of both ears"


def _items(div: str) -> Iterator[tuple[Ears, str]]:
    """Each fact in a block of one ear or both: the ears of the block, and the words of one saying with its subject."""
    heads = list(_GROUP.finditer(div))
    for at, head in enumerate(heads):
        ears = _groups().get(" ".join(unescape(head[1]).casefold().split()))
        if ears is None:
            continue
        end = heads[at + 1].start() if at + 1 < len(heads) else len(div)
        for item in _ITEM.findall(div[head.end() : end]):
            found = _SUBJECT.match(item)
            subject, said = (found[1], found[2]) if found else ("", item)
            plain = unescape(_TAG.sub(" ", said))
            for saying in dict.fromkeys((plain, *plain.split(";"))):
                yield ears, _folded(f"{unescape(subject)} {saying}")


@cache
def _groups() -> dict[str, Ears]:
    """The ears of a block by the words of its title, in every language."""
    sides: dict[str, Ears] = {"right": frozenset(("right",)), "left": frozenset(("left",)), "both": frozenset(EARS)}
    keys = ((f"group.{side}{stage}", ears) for side, ears in sides.items() for stage in ("", ".before", ".after"))
    return {words.casefold(): ears for key, ears in keys for words in in_any_language(key)}


def _words(markup: str) -> str:
    return _folded(unescape(_TAG.sub(" ", markup[:_LONGEST])))


def _folded(words: str) -> str:
    """Words without signs, but for semicolons: what stands on two sides of one is not one saying."""
    return " ".join(_PLAIN.sub(" ", words).replace(";", " ; ").casefold().split())
