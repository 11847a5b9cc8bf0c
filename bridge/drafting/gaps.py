"""What a letter cannot do without and no column of the sheet gives."""

from __future__ import annotations

from bridge.drafting.shapes import Draft

BY = "practitioners"
"""Who saw the clients: the one of these things that can be the same in every row."""
_NEEDED = (("start", "the date of the visit"), ("client.legal_name", "the name of the client"))
_OF_LETTERS = (
    ("sharing.status", "the consent to share; a letter goes out only where a row says that it was given"),
    (BY, "who saw the client"),
    ("family_doctor", "the family doctor’s practice, so nobody to write to"),
)


def missing(draft: Draft, *, settled: bool = False) -> list[str]:
    """What every visit needs and no column gives. `settled`: what is only asked does not count as given."""
    found = [told for path, told in _NEEDED if not _given(draft, path, settled)]
    if draft.rows == "ear" and not _given(draft, "ear", settled, whole=True):
        found.append("which ear a row is about")
    return found


def letter_gaps(draft: Draft) -> list[str]:
    """What is missing for a letter, though the layout can be used without it."""
    return [told for path, told in _OF_LETTERS if path not in draft.constants and not _given(draft, path, False)]


def needs_somebody(draft: Draft) -> bool:
    """Whether neither a column nor the layout itself says who saw the clients."""
    return BY not in draft.constants and not _given(draft, BY, True)


def _given(draft: Draft, path: str, settled: bool, *, whole: bool = False) -> bool:
    fields = [f for g in draft.guesses for f in (g.field, *(() if settled else g.options), *g.others)]
    return any(f == path or (not whole and f.startswith(f"{path}.")) for f in fields)
