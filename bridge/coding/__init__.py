"""Words to codes: the term maps, a visit coded by them, what stands near an unknown word, and words of one's own."""

from __future__ import annotations

from bridge.coding.adopt import Adoption, adopt
from bridge.coding.adopted_file import add_rows
from bridge.coding.answers_sheet import Answer, day_of, known_answer_headings, read_answers
from bridge.coding.apply import code_visit
from bridge.coding.concepts import Concept, Kind
from bridge.coding.open_words import OpenWords
from bridge.coding.own_system import own_code_system
from bridge.coding.suggest import suggest
from bridge.coding.term_map import TermMaps, load_term_maps
from bridge.phrases.fold import fold

__all__ = [
    "Adoption",
    "Answer",
    "Concept",
    "Kind",
    "OpenWords",
    "TermMaps",
    "add_rows",
    "adopt",
    "code_visit",
    "day_of",
    "fold",
    "known_answer_headings",
    "load_term_maps",
    "own_code_system",
    "read_answers",
    "suggest",
]
