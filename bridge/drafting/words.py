"""Words of cells that have a fixed meaning in a field: what they mean, or that it has to be asked."""

from __future__ import annotations

from dataclasses import dataclass, field

from bridge.drafting.shapes import ASK, Column
from bridge.drafting.tables import cell_key, cell_meanings, plain, written
from bridge.layout.fields import Field
from bridge.layout.tables import fold
from bridge.layout.targets import meanings

MOST_ASKED = 12
"""More different words than this without a known meaning, and the column is no list of answers."""
_CONSENTS = {name: {"yes": "given", "no": "refused"} for name in ("consent.status", "sharing.status")}
DOUBT = frozenset("?¿()[]{}/\\|*~<>=!")
"""Signs that make a word less than the word alone."""
MARKS = frozenset({"-", "--", "---", "—", "–", ".", "..", "/", "?", "…"})
"""Cells without a letter or digit, that may say nothing."""


@dataclass(slots=True)
class Met:
    """The words of a column."""

    words: dict[str, str] = field(default_factory=dict)
    """As written, with what each means or `ask`; those that mean themselves are left out."""
    known: float = 0.0
    """Share of the filled cells whose word is known."""
    answers: list[str] = field(default_factory=list)
    asked: int = 0


def group_of(found: Field) -> str:
    """The group of `headings-words.csv` that tells a field's words; empty where its cells are free."""
    if found.kind == "side":
        return "side"
    if found.kind == "yes-no":
        return "yes-no"
    name = found.model.__name__ if found.model is not None else ""
    if name in ("Part", "Drum"):
        return "part"
    if name in ("Wax", "View"):
        return name.lower()
    if found.kind == "choice":
        last = found.pattern.split(".")[-1]
        return {
            "status": found.pattern,
            "sex": "client.sex",
            "urgency": found.pattern,
            "seen": "drum.seen",
            "ear": "side",
        }.get(last, last)
    return ""


def closed(found: Field) -> bool:
    """Whether every cell has to be one of the field's answers."""
    name = found.model.__name__ if found.model is not None else ""
    return found.kind in ("side", "yes-no", "choice") or name == "View"


def meaning(group: str, word: str, language: str) -> str:
    """What a word means in a group of fields: an answer, `ask`, `own`, or nothing where the table lacks it."""
    key, table = cell_key(word), cell_meanings(group)
    if not DOUBT.isdisjoint(word) and plain(word) not in written(group):
        # The key leaves signs out; “R?” and “(yes)” say less than “R” and “yes”.
        return ASK if key in table or (group in _CONSENTS and key in cell_meanings("yes-no")) else ""
    options = table.get(key, ())
    if not options and group in _CONSENTS:
        options = tuple((_CONSENTS[group][m], lang) for m, lang in cell_meanings("yes-no").get(cell_key(word), ()))
    mine = {means for means, lang in options if lang == language}
    # Where the sheet's own language has the word, that is what it means; English is understood beside any other.
    found = mine or {means for means, lang in options if lang in ("", "en")}
    return next(iter(found)) if len(found) == 1 else ASK if found else ""


def read_words(column: Column, found: Field, language: str, *, chosen: bool = False) -> Met:
    """The words of a column of answers, each with its meaning in that field or `ask`.

    `chosen`: the person said what the column is, because its heading did not. What yes and no say there is asked too:
    a column of those who did not come, or do not want a letter, turns them round.
    """
    group, whole = group_of(found), closed(found)
    met = Met(answers=list(meanings(found) or ()))
    known = 0
    for cell, n in column.cells.items():
        if cell in MARKS and whole:
            continue
        means = meaning(group, column.codes.get(cell, cell), language)
        if column.codes and group in ("part", "wax") and not means:
            means = ASK
        if chosen and group in (*_CONSENTS, "attendance") and meaning("yes-no", cell, language):
            means = ASK
        if fold(cell) in {fold(a) for a in met.answers}:
            means = means or fold(cell)
        if means and means != ASK:
            known += n
        if means == "own" or (means == "" and not whole):
            continue
        means = means or ASK
        if means == ASK and group == "part" and cell in MARKS:
            continue
        if fold(cell) != fold(means):
            met.words.setdefault(cell, means)
        met.asked += means == ASK
    _same_in_two_letters(met, found, column)
    _only_the_commonest(met, column)
    met.known = known / column.filled if column.filled else 0.0
    return met


def _only_the_commonest(met: Met, column: Column) -> None:
    """Nobody answers a hundred questions about one column: what is rare is told at its cell when it is read."""
    asked = sorted((w for w, means in met.words.items() if means == ASK), key=lambda w: (-column.cells[w], w))
    for word in asked[MOST_ASKED:]:
        del met.words[word]


def _same_in_two_letters(met: Met, found: Field, column: Column) -> None:
    """M beside F is male whatever the language, and M beside H is female in Spanish."""
    if found.pattern != "client.sex":
        return
    letters = {fold(cell) for cell in column.cells if len(cell) == 1}
    partner = {"f": "male", "w": "male", "k": "male", "v": "male", "h": "female"}
    for cell, means in list(met.words.items()):
        others = {partner[o] for o in letters if o in partner}
        if fold(cell) == "m" and means == ASK and len(others) == 1:
            met.words[cell] = others.pop()
            met.asked -= 1
