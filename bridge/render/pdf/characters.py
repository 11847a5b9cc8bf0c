"""Which characters the fonts of letters have. The compiler refuses what they lack, so that nothing vanishes unseen."""

from __future__ import annotations

import re
import unicodedata
from functools import cache

from bridge.data import load_csv, table_path

MISSING = "□"
"""Stands where a character cannot be printed; the letter then says so."""
_SURE = re.compile("[^\n -~¡-ÿĀ-ſ‐-•…′″€™−≈≤≥□\u200b]")
"""Of what is left after the whole table failed: all but the characters that every font here has."""
_BREAKS = re.compile("\r\n|[\r\v\f\x1c-\x1e\x85\u2028\u2029]")


class Printable:
    """Makes words fit to be printed and counts what could not be."""

    def __init__(self, *, cautious: bool = False) -> None:
        """`cautious`: only characters that are sure to be printed together with any other."""
        self.missing = 0
        self._lacking = _SURE if cautious else lacking()

    def fit(self, words: str) -> str:
        """The words without what has no shape (marks of direction, joiners at no letter) and with a box for each
        character that the fonts lack."""
        if words.isascii() and words.isprintable():
            return words
        text = unicodedata.normalize("NFC", _BREAKS.sub("\n", words).replace("\t", " "))
        text = shapeless().sub("", text)
        found, count = self._lacking.subn(MISSING, text)
        self.missing += count
        return found


@cache
def lacking() -> re.Pattern[str]:
    """Any character that no font of the letter has."""
    rows = load_csv(table_path("documents", "printed-characters.csv"))
    spans = "".join(f"\\U{int(row['first'], 16):08x}-\\U{int(row['last'], 16):08x}" for row in rows)
    return re.compile(f"[^\n{spans}]")


@cache
def shapeless() -> re.Pattern[str]:
    """Marks that steer how text is laid out and have no shape of their own: a letter shows the order of the data."""
    spans = (
        "\u00ad\u061c\u180e\u200b-\u200f\u202a-\u202e\u2060-\u206f\ufe00-\ufe0f\ufeff\ufff9-\ufffb\U000e0000-\U000e0fff"
    )
    return re.compile(f"[{spans}]")
