"""Words that say there is nothing (`nil`, `NKDA`, `not needed`), field by field, from `mappings/words/nothing.csv`."""

from __future__ import annotations

from functools import cache

from bridge.data import load_csv, table_path

ASK = "ask"


def says_nothing(field: str, text: str) -> bool:
    """Whether the whole text only says that there is none of what the field holds.

    `field` is one of the table: request, allergies, medicines, follow_up, advice, referral, not_referred,
    sharing_reason, method, text, why.
    """
    return answer_of(field, text) not in ("", ASK)


def answer_of(field: str, text: str) -> str:
    """The field's answer for nothing (`none known`, `none`), `ask` where the words leave open whether there is
    something, or an empty string where they name a thing."""
    return _answers().get((field, _fold(text)), "")


@cache
def _answers() -> dict[tuple[str, str], str]:
    rows = load_csv(table_path("words", "nothing.csv"))
    return {(row["field"], _fold(word)): row["answer"] for row in rows for word in row["words"].split("|")}


def _fold(text: str) -> str:
    bare = " ".join(text.translate(_DASHES).casefold().split()).rstrip(".!").rstrip()
    return bare.strip("()[]").strip() or bare


_DASHES = str.maketrans("–—−‐‑\u2026", "-----.")
