"""Words to codes: the term maps, a visit coded by them, and what stands near an unknown word.

How a practice takes over words of its own is in `bridge.coding.adopt` and its neighbours; only that command needs them.
"""

from __future__ import annotations

from bridge.coding.apply import code_visit
from bridge.coding.concepts import Concept, Kind
from bridge.coding.open_words import OpenWords
from bridge.coding.own_system import own_code_system
from bridge.coding.recognised import recognised
from bridge.coding.regional import regional
from bridge.coding.suggest import suggest
from bridge.coding.term_map import TermMaps, load_term_maps
from bridge.phrases.fold import fold

__all__ = [
    "Concept",
    "Kind",
    "OpenWords",
    "TermMaps",
    "code_visit",
    "fold",
    "load_term_maps",
    "own_code_system",
    "recognised",
    "regional",
    "suggest",
]
