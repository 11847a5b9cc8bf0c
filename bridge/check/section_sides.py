"""C104: a section's own text must put each fact under the ear that the entry itself names."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape

from bridge.check.look import part, parts, text
from bridge.check.references import Index
from bridge.ear_words import Ear
from bridge.issues import Issue, Where, issue
from bridge.phrases import side_words
from bridge.shapes import Json

Ears = frozenset[Ear]
_HEAD = re.compile(r"<p>\s*<b>\s*(right|left) ear\s*</b>\s*</p>", re.IGNORECASE)
_ITEM = re.compile(r"<li>([^<]*+(?:<(?!/?li>)[^<]*+)*+)</li>", re.IGNORECASE)
_BLOCK_ENDS = re.compile(r"</ul>\s*<p>(?!\s*(?:before|after) the work)", re.IGNORECASE)
_TAG = re.compile(r"<[^<>]*>")
_EAR_FIRST = re.compile(r"(right|left) ear\b")
_PLAIN = re.compile(r"[\W_]+")
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
    for ear, item in _items(div):
        said = _EAR_FIRST.match(item)
        if said and said[1] != ear:
            return f"A fact under the {ear} ear begins with the {said[1]} ear."
        compared.left -= size
        if compared.left <= 0:
            return ""
        fact = item[said.end() :].strip() if said else item
        holders = {next(iter(ears)) for ears, words in entries if fact and fact in words}
        if holders and ear not in holders:
            return f"A fact stands under the {ear} ear, while its own entry is about the {holders.pop()} ear."
    named: Ears = frozenset(side_words(unescape(_TAG.sub(" ", div))))
    about: Ears = frozenset().union(*(ears for ears, _ in entries))
    if len(named) == 1 and named.isdisjoint(about):
        return f"The text speaks of the {next(iter(named))} ear only, and the entries are about the other."
    return ""


def _items(div: str) -> Iterator[tuple[str, str]]:
    """Each fact in a block of one ear: the ear of the block, and its words."""
    heads = list(_HEAD.finditer(div))
    for at, head in enumerate(heads):
        end = heads[at + 1].start() if at + 1 < len(heads) else len(div)
        block = _BLOCK_ENDS.split(div[head.end() : end])[0]
        for item in _ITEM.findall(block):
            yield head[1].lower(), _words(item)


def _words(markup: str) -> str:
    return " ".join(_PLAIN.sub(" ", unescape(_TAG.sub(" ", markup[:_LONGEST]))).casefold().split())
