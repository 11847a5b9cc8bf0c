"""Which ear and which stage each column is about, and whether a row is a visit or one ear of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bridge.drafting.headings import Said
from bridge.drafting.shapes import ASK, IGNORE, Column, Place
from bridge.drafting.words import meaning
from bridge.phrases import parse_phrase

EARS = ("right", "left")


@dataclass(slots=True)
class Shape:
    """How the rows of a sheet are made."""

    rows: str
    """visit, ear, or ask."""
    why: str
    side_column: int | None = None


def shape_of(saids: Sequence[Said], places: Sequence[Place], columns: Sequence[Column], language: str) -> Shape:
    """A column that names the ear of each row makes a sheet of ears; headings that name it, one of visits."""
    sided = [at for at, said in enumerate(saids) if said.side in (*EARS, "eye") and _of_ear(places[at])]
    sided = sided if len({saids[at].side_word for at in sided}) > 1 else []
    named = [at for at, found in enumerate(places) if found.fields[0] == "ear" and _sides(columns[at], language) > 0.6]
    if len(named) == 1 and not sided:
        return Shape("ear", f"the column “{columns[named[0]].heading}” names the ear of each row", named[0])
    if sided and not named:
        return Shape("visit", "the headings name the ear")
    if sided:
        return Shape("visit", "the headings name the ear, and so does a column beside them")
    if len(named) > 1:
        return Shape(ASK, "two columns name an ear")
    return Shape("visit", "no column names the ear of a row")


def _sides(column: Column, language: str) -> float:
    """How many cells name a side, those with a doubt too; nothing where few name it plainly."""
    said = {cell: meaning("side", column.codes.get(cell, cell), language) for cell in column.cells}
    plainly = column.share(lambda cell: said[cell] not in ("", ASK))
    return column.share(lambda cell: bool(said[cell])) if plainly > 0.3 else 0.0


def _of_ear(found: Place) -> bool:
    return found.fields[0].startswith("ear.")


def resolve(
    at: int, saids: Sequence[Said], found: Place, column: Column, shape: Shape, places: Sequence[Place]
) -> Place:
    """The place with its ear and its stage; what is not proven becomes a question."""
    if found.fields[0] == "ear" and (shape.rows != "ear" or at != shape.side_column):
        why = "a side beside columns that name the ear in their headings" if shape.rows == "visit" else found.why
        return Place(["ear", IGNORE] if shape.rows == ASK else ["note", IGNORE], "unsure", why, found.rank)
    staged = _stage(at, saids, found, places)
    if not any(f.startswith("ear.") for f in staged.fields):
        return staged
    said = saids[at]
    if shape.rows == "ear":
        if said.side:
            return Place(
                [*staged.fields, IGNORE], "unsure", "the heading names an ear, and so does each row", found.rank
            )
        return staged
    if said.side in EARS:
        return Place([_put(f, said.side) for f in staged.fields], staged.sure, staged.why, found.rank)
    both = [_put(f, ear) for f in staged.fields if f.startswith("ear.") for ear in EARS]
    rest = [f for f in staged.fields if not f.startswith("ear.")]
    if said.side == "eye":
        why = f"“{said.side_word.upper()}” means an eye to others, or could be read in two ways"
        return Place([*both, *rest, IGNORE], "unsure", why, found.rank)
    return _unsided(staged, both, rest, said, column)


def _unsided(found: Place, both: list[str], rest: list[str], said: Said, column: Column) -> Place:
    """No heading names the ear: the cells do, or the words go to the note, or it is asked."""
    first = found.fields[0]
    if first in ("ear.note", "ear.before.note", "ear.after.note"):
        return Place(["note"], "likely", f"{found.why}; no ear is named, so its words go to the notes", found.rank)
    if first == "ear.symptoms":
        return Place(["reasons"], "likely", f"{found.why}; no ear is named, so it is why they came", found.rank)
    cells = [f for f in found.fields if f.startswith("ear.")]
    if not said.side and column.filled and column.share(_names_ear) > 0.8:
        return Place([*cells, *rest], "likely", f"{found.why}; its cells name the ear", found.rank)
    why = "nothing says which ear this is about"
    if not column.filled or column.share(_names_ear):
        both = [*cells, *both]
    return Place(list(dict.fromkeys([*both, *cells, *rest, "note", IGNORE])), "unsure", why, found.rank)


def _names_ear(cell: str) -> bool:
    """Whether a cell is one plain statement with its side: `Rt impacted`, `microsuction both ears`."""
    phrase = parse_phrase(cell)
    return phrase is not None and bool(phrase.ears)


def _put(field: str, ear: str) -> str:
    return field.replace("ear.", f"{ear}.", 1) if field.startswith("ear.") else field


def _stage(at: int, saids: Sequence[Said], found: Place, places: Sequence[Place]) -> Place:
    """Before or after the work: from the heading, or by where the column stands among those about the work."""
    if not any("@" in f for f in found.fields):
        return found
    said = saids[at]
    stage, why, sure = said.stage, found.why, found.sure
    if not stage:
        work = [
            i
            for i, p in enumerate(places)
            if p.fields[0].startswith(("ear.work.method", "ear.work.outcome")) and saids[i].side in ("", said.side)
        ]
        same = {
            s.stage
            for s, p in zip(saids, places, strict=True)
            if p.fields[0] == found.fields[0] and s.side == said.side
        }
        if "before" in same or (work and at > min(work) and "after" not in same):
            fields = [f.replace("@", s) for s in ("before", "after") for f in found.fields]
            told = "nothing says whether before or after the work"
            return Place(list(dict.fromkeys([*fields, IGNORE])), "unsure", told, found.rank)
        stage, why = "before", f"{why}; it stands before the work"
        sure = "likely" if sure == "sure" else sure
    return Place([f.replace("@", stage) for f in found.fields], sure, why, found.rank)
