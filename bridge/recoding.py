"""The sheet on which a second person codes things again without seeing their codes: its columns, its instructions."""

from __future__ import annotations

from dataclasses import dataclass

LINE, FIELD, WORDS, UNDER = "Line", "Field", "Words", "Stands under"
MEANING, OTHER, SAID, EAR = "Meaning", "Other, in your words", "Said as", "Another ear is meant"
HEADINGS = (LINE, FIELD, WORDS, UNDER, MEANING, OTHER, SAID, EAR)
ANSWERS = (MEANING, OTHER, SAID, EAR)
"""Columns that the second coder fills."""
NONE_FITS, CANNOT_TELL = "other", "cannot tell"
SAYINGS = {"stated": "present", "suspected": "suspected", "denied": "absent", "past": "past"}
"""What can stand under `Said as`, and what it is in a record."""
EARS_MEANT = ("right", "left", "both")
NOT_EAR = "no ear"
"""What stands under `Stands under` where a field belongs to neither ear."""
LINES, MEANINGS, HOW = "Lines", "Meanings", "How"
"""Names of the three sheets."""

INSTRUCTIONS = (
    "You code what others recorded, without knowing how it was coded. Work alone, and ask nobody what the record has.",
    "Each line holds words from one field of one record. Lines have no order, and no two need be of one client.",
    f"“{MEANING}”: choose what the words mean in that field from the list of the cell. The sheet “{MEANINGS}” shows"
    " every meaning with some usual words for it, without those that stand in a line.",
    f"Choose “{NONE_FITS}” where no meaning of the list fits, and say it under “{OTHER}”; never with a name or a number"
    f" of somebody. Choose “{CANNOT_TELL}” where the words do not say enough.",
    f"“{SAID}”: do the words state it, suspect it, deny it, or speak of the past? Only where the cell is green.",
    f"“{EAR}”: fill it only where the words themselves name another ear than the one under “{UNDER}”.",
    "Leave a line empty that you did not get to. Change no other cell, and keep the column “Line”: it leads back.",
    "Save the file under a name that tells whose it is, and give it back. The key that lies beside it is not for you.",
)


@dataclass(frozen=True, slots=True)
class Choice:
    """One meaning that can be chosen in a kind of field."""

    shown: str
    concept: str
    kind: str
    codes: tuple[tuple[str, str], ...] = ()
    """System and code of what it goes out as, beside its own code."""
    words: tuple[str, ...] = ()
    """Some usual words for it."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One line to code."""

    line: str
    kind: str
    """Which list of choices is its."""
    field: str
    words: str
    under: str
    """The ear of its field, or `no ear`."""
    assertable: bool


@dataclass(frozen=True, slots=True)
class RecodingSheet:
    """All that a second coder gets."""

    name: str
    lines: tuple[Asked, ...]
    choices: dict[str, tuple[Choice, ...]]
    """By kind, in the order in which they are listed."""
