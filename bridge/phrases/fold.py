"""How words are compared, everywhere that terms are looked up."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

_NOT_WORDS = re.compile(r"[^a-z0-9+/&?%=<>]+")
_PLUS = re.compile(r"\++")


@lru_cache(32_768)
def fold(words: str) -> str:
    """Words as they are compared: small letters, no accents, no punctuation, single blanks.

    Signs that change what is said stay: + / & ? % = < >.
    """
    words = words.casefold()
    if words.isascii() and words.replace(" ", "").isalnum():
        return " ".join(words.split())  # nearly all words: nothing to take out
    if not words.isascii():
        words = "".join(c for c in unicodedata.normalize("NFKD", words) if not unicodedata.combining(c))
    words = _NOT_WORDS.sub(" ", words)
    if "+" in words:
        words = _PLUS.sub(lambda signs: f" {signs.group()} ", words)
    return " ".join(words.split())
