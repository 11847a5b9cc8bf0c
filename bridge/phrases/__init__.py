"""Short phrases of the trade: sides, denial, doubt, the past, amounts, intervals.

Everything here reads words and nothing guesses: what could be read in two ways is handed back as such.
The words themselves stand in `mappings/words/`.
"""

from __future__ import annotations

from bridge.phrases.clauses import Clause, Unclear, clause_of, clauses
from bridge.phrases.intervals import interval
from bridge.phrases.phrase import Phrase, parse_phrase, partly_denied, qualifier, side_behind, side_in_front, takes_away
from bridge.phrases.running import ambiguous_words, watched_words
from bridge.phrases.sides import side_words

__all__ = [
    "Clause",
    "Phrase",
    "Unclear",
    "ambiguous_words",
    "clause_of",
    "clauses",
    "interval",
    "parse_phrase",
    "partly_denied",
    "qualifier",
    "side_behind",
    "side_in_front",
    "side_words",
    "takes_away",
    "watched_words",
]
