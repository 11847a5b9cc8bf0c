"""Plain words for terms: which are named to the client, which are not, and which of our notes may be repeated."""

from __future__ import annotations

import re
from functools import cache
from typing import Literal, NamedTuple

from bridge.data import load_csv, table_path
from bridge.fhir.own import own_code
from bridge.fhir.tell.words import label
from bridge.shapes import Json
from bridge.wording import language, say

How = Literal["named", "noted", "kept"]


class Lay(NamedTuple):
    """A term for the client."""

    how: How
    """named: in plain words; noted: no plain words are known, so that the note's own stand in quotes; kept: not told on
    paper, to be talked about."""
    words: str = ""


KEPT = Lay("kept")
_DENIED = re.compile(r"\b(?:no|not|none|never)\b")


def lay(concept: Json | None, *, sure: bool = True) -> Lay:
    """A term in plain words; what is not `sure` is named only where mappings/client/careful.csv lets it be."""
    code = own_code(concept) or ""
    care = _careful().get(code, "")
    if care == "never" or (not sure and care != "maybe"):
        return KEPT
    if plain := language().words.get(f"copy.word.{code}"):
        return Lay("named", plain)
    return noted(str((concept or {}).get("text") or label(concept)))


def noted(text: str) -> Lay:
    """Words of a note, where they may be repeated."""
    said = " ".join(text.split()).rstrip(".")
    return KEPT if not said or "?" in said or held(said) else Lay("noted", said)


def quoted(words: str) -> str:
    return say("copy.quoted", words=words)


def held(text: str) -> bool:
    """Whether a note has words that a client must not read before somebody has talked to them."""
    return bool(_held().search(text.casefold()))


def as_said(advice: str, concept: str) -> str:
    """Whether advice stands in the words that the client heard: `instead` of plain ones, `beside` them, or not."""
    known = _said()
    words = {"0" if word.isdigit() else word for word in re.findall(r"\d+|[^\W\d]+", advice.casefold())}
    found = {known[word] for word in (*words, concept) if word in known}
    return "instead" if "instead" in found else "beside" if found else ""


def plan_words(plan: str) -> list[str]:
    """What shorthand in the plan for the next visit says, by mappings/client/plan-words.csv; each once."""
    folded = plan.casefold()
    if _DENIED.search(folded):
        return []
    found = (said for words, said in _plan_words() if re.search(rf"(?<!\w){re.escape(words)}(?!\w)", folded))
    return [*dict.fromkeys(found)]


@cache
def _careful() -> dict[str, str]:
    return {row["concept"]: row["how"] for row in load_csv(table_path("client", "careful.csv"))}


@cache
def _plan_words() -> tuple[tuple[str, str], ...]:
    return tuple((row["words"], row["said"]) for row in load_csv(table_path("client", "plan-words.csv")))


@cache
def _said() -> dict[str, str]:
    return {row["word"]: row["how"] for row in load_csv(table_path("client", "said-words.csv"))}


@cache
def _held() -> re.Pattern[str]:
    rows = load_csv(table_path("client", "held-words.csv"))
    words = (re.escape(row["word"]) + (r"\b" if row["whole"] == "yes" else "") for row in rows)
    return re.compile(rf"\b(?:{'|'.join(words)})")
