"""Generated visits with words that the term maps know, coded from them, whatever code set the maps have."""

from __future__ import annotations

import random

from bridge.coding import TermMaps, code_visit
from bridge.coding.finer import load_finer
from bridge.visit import Term, Visit, map_terms


def coded(visit: Visit, maps: TermMaps, rng: random.Random) -> Visit:
    """The visit with a known word of its kind in place of each term, coded as a record would be.

    What the generator says of a term (suspected, absent, past) stays, so that it meets every code; but nobody suspects
    or denies a word for nothing.
    """
    finer = load_finer(maps.concepts)
    found = {kind: {c.code: c for c in maps.words[kind].values()}.values() for kind in maps.kinds}

    def change(path: str, term: Term) -> Term:
        kind = maps.kind_of(path)
        assert kind is not None, path
        fitting = [c for c in found[kind.name] if term.assertion is None or not c.code.endswith("-none")]
        favoured = [c for c in fitting if c.code in finer and rng.random() < 0.7]
        return Term(text=rng.choice(favoured or fitting).words[0], assertion=term.assertion) if fitting else term

    return code_visit(map_terms(visit, change), maps)[0]
