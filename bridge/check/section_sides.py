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
_ITEM = re.compile(r"<li>(.*?)</li>", re.IGNORECASE | re.DOTALL)
_BLOCK_ENDS = re.compile(r"</ul>\s*<p>(?!\s*(?:before|after) the work)", re.IGNORECASE)
_TAG = re.compile(r"<[^<>]*>")
_EAR_FIRST = re.compile(r"(right|left) ear\b")
_PLAIN = re.compile(r"[\W_]+")
_LONGEST = 100_000


def check_sections(path: str, composition: Json, index: Index, sides: dict[int, Ears]) -> Iterator[Issue]:
    """`sides`: the ears of each resource by its `id()`."""
    for number, section in enumerate(parts(composition, "section")):
        div = text(part(section, "text"), "div")[:_LONGEST]
        found = (index.find(text(e, "reference"), composition).resource for e in parts(section, "entry"))
        entries = [(sides.get(id(r), frozenset()), _words(text(part(r, "text"), "div"))) for r in found if r]
        problem = _problem(div, [e for e in entries if len(e[0]) == 1]) if div else ""
        if problem:
            yield issue("C104", problem, Where(path=f"{path}.section[{number}].text.div"))


def _problem(div: str, entries: list[tuple[Ears, str]]) -> str:
    if not entries:
        return ""
    for ear, item in _items(div):
        said = _EAR_FIRST.match(item)
        if said and said[1] != ear:
            return f"A fact under the {ear} ear begins with the {said[1]} ear."
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
