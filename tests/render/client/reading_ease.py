"""How hard a text is to read: the Flesch-Kincaid grade level (Kincaid, Fishburne, Rogers and Chissom, 1975).

0.39 x words per sentence + 11.8 x syllables per word - 15.59, the years of school that a reader in the United States
needs; grade 4 to 6 is an age of about 9 to 11. Syllables are groups of vowels, a silent e at the end aside.
"""

from __future__ import annotations

import re


def grade(sentences: list[str]) -> float:
    words = [word for sentence in sentences for word in re.findall(r"[A-Za-z’']+", sentence)]
    ended = sum(max(1, len(re.findall(r"[.!?:;]+(?:\s|$)", sentence))) for sentence in sentences)
    return 0.39 * len(words) / ended + 11.8 * sum(map(syllables, words)) / len(words) - 15.59


def syllables(word: str) -> int:
    bare = re.sub(r"[’'].*", "", word.casefold())
    silent = (
        re.sub(r"(?<![aeiouy])(?:es|ed|e)$", "", bare)
        if not bare.endswith(("le", "ted", "ded", "ses", "ces"))
        else bare
    )
    return max(1, len(re.findall(r"[aeiouy]+", silent)))
