"""Things as a sentence names them: `a polyp`, `exostoses`."""

from __future__ import annotations

from typing import NamedTuple

from bridge.fhir.own import own_code
from bridge.fhir.tell.words import label, listed
from bridge.shapes import Json
from bridge.wording import say

_ARTICLES = ("a", "an")


class Named(NamedTuple):
    code: str
    """Our own code; empty for words that no table knows."""
    label: str


def named(concept: Json | None) -> Named:
    return Named(own_code(concept) or "", label(concept))


def among(code: str, key: str) -> bool:
    """Whether the catalogue lists a code under a key: each language says for itself which words need what."""
    return bool(code) and code in say(f"{key}.codes").split()


def with_article(thing: Named) -> str:
    key = next((key for key in _ARTICLES if among(thing.code, f"brief.article.{key}")), "")
    return say(f"brief.article.{key}", thing=thing.label) if key else thing.label


def with_articles(things: list[Named]) -> str:
    return listed([with_article(thing) for thing in dict.fromkeys(things)])
