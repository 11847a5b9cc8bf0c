"""Words of a field that may tell who a client is, and so are never quoted outside of the record."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Hashable, Iterator
from dataclasses import replace
from functools import cache
from typing import Any, cast

from pydantic import BaseModel

from bridge.issues import Issue
from bridge.visit import Visit
from bridge.visit.people import Name

LONGEST = 60
"""Letters of words that are quoted: longer ones may hold anything."""
_DIGITS = re.compile(r"\d")
_MOST_DIGITS = 5
"""Words with more digits may be a number of somebody."""
_WORD = re.compile(r"[^\W\d_]{2,}")
NOT_SHOWN = "(words not shown)"
_QUOTED = re.compile("“([^”]*)”")


def may_tell_who(words: str, names: set[str], of_the_trade: Callable[[str], bool]) -> bool:
    """Whether words may hold a name or a number of somebody; a name that is a word of the trade too is no name here.

    `names`: as `plain`.
    """
    if len(_DIGITS.findall(words)) > _MOST_DIGITS or len(words) > LONGEST or "@" in words:
        return True
    return any(plain(part) in names and not of_the_trade(part) for part in _WORD.findall(words))


def unquoted(found: Issue, names: set[str], of_the_trade: Callable[[str], bool]) -> Issue:
    """The issue; what it quotes is not shown where it may tell who somebody is."""

    def shown(part: re.Match[str]) -> str:
        return f"“{NOT_SHOWN}”" if may_tell_who(part[1], names, of_the_trade) else part[0]

    told = _QUOTED.sub(shown, found.message)
    return found if told == found.message else replace(found, message=told, cause=f"{found.rule}:{NOT_SHOWN}")


def names_in(visit: Visit) -> set[str]:
    """Every part of a name in the record's people, as `plain`."""
    return {plain(part) for text in _texts(visit) for part in _WORD.findall(text)}


def telling_in(visit: Visit) -> set[str]:
    """Every part of a name in the record's people and of the client's address, as `plain`."""
    address = visit.client.address
    said = (*address.lines, address.city, address.district, address.postcode) if address else ()
    return names_in(visit) | {plain(part) for text in said if text for part in _WORD.findall(text)}


def plain(word: str) -> str:
    """A word without capitals and accents."""
    if word.isascii():
        return word.casefold()
    apart = unicodedata.normalize("NFKD", word.casefold())
    return "".join(letter for letter in apart if not unicodedata.combining(letter))


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, Name):
        yield from (part for part in (value.family, *value.given) if part)
    elif isinstance(value, BaseModel):
        for name in _with_names(type(value)):
            yield from _texts(getattr(value, name))
    elif isinstance(value, tuple):
        for item in value:
            yield from _texts(item)


@cache
def _with_names(model: type[BaseModel]) -> tuple[str, ...]:
    """Fields of a part of a visit in which a name can stand, however deep."""
    return tuple(name for name, info in model.model_fields.items() if _holds_name(cast(Hashable, info.annotation)))


@cache
def _holds_name(annotation: Hashable) -> bool:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation is Name or bool(_with_names(annotation))
    return any(_holds_name(inner) for inner in getattr(annotation, "__args__", ()))
