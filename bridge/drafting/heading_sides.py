"""Which word of a heading names the ear or the stage, in the light of the other headings: “wax left” is no ear."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bridge.drafting.heading_key import Key
from bridge.drafting.tables import Part, heading_parts, windows

SIDES = ("right", "left", "both", "eye")
STAGES = ("before", "after")
_OTHER = {"right": "left", "left": "right", "before": "after", "after": "before"}
Twins = frozenset[tuple[str, Key]]
"""Which headings, without their side, stand in the sheet for which ear, or with which mark."""


@dataclass(frozen=True, slots=True)
class Cut:
    """A heading with its side, or stage, taken off."""

    rest: Key
    part: str = ""
    word: str = ""
    loose: bool = False
    """Whether it names a stage only beside a heading of the other stage: “in” and “out”, “start” and “end”."""


LATIN = {
    **dict.fromkeys(("ad", "od"), "right"),
    **dict.fromkeys(("as", "os", "og", "oi", "oe"), "left"),
    **dict.fromkeys(("au", "ou"), "both"),
}
"""Which ear a mark means once a person has said that it means an ear."""


def cuts_of(key: Key, language: str, kinds: tuple[str, ...], twins: Twins | None) -> Iterator[Cut]:
    """The heading with a word of these kinds taken off, longest words first; `twins` None: all of them."""
    for start, end in windows(key):
        # A mark of eyes is one only where it is no mark of ears in this language.
        for part in sorted(heading_parts().get(key[start:end], ()), key=lambda p: p.part == "eye"):
            english = "" if part.twin in ("yes", "pair") else "en"
            if part.part not in kinds or part.language not in ("", language, english):
                continue
            rest = key[:start] + key[end:]
            if (
                part.twin
                and part.twin != "stage"
                and twins is not None
                and not _has_twin(part, rest, twins, start == 0)
            ):
                continue
            if part.part == "eye" and twins is not None and _is_word(key[start:end], rest, language, twins):
                continue
            yield Cut(rest, part.part, " ".join(key[start:end]), part.twin == "stage")


def _has_twin(part: Part, rest: Key, twins: Twins, front: bool) -> bool:
    """Whether the other ear has the same heading; for a whole word in front, any heading: “wax left” is no ear. Marks
    that stand for eyes elsewhere are ears wherever a pair of them has named both."""
    other = _OTHER.get(part.part, "")
    if (other, rest) in twins:
        return True
    anywhere = (part.twin == "sheet" and front) or part.twin == "pair"
    return anywhere and any(side == other and (part.part, words) in twins for side, words in twins)


def _is_word(mark: Key, rest: Key, language: str, twins: Twins) -> bool:
    """Whether a mark of eyes is but a small word here: “consentement au soin”."""
    others = sum((word, rest) in twins for word in LATIN if (word,) != mark)
    return not others and any(p.part == "filler" and p.language == language for p in heading_parts().get(mark, ()))


def twins_of(keys: list[Key], language: str, *, pairs: bool) -> Twins:
    """Which headings, without their side, stand in the sheet for which ear.

    `pairs`: with marks of eyes that are marks of ears in the sheet's language.
    """
    cuts = [cut for key in keys for cut in cuts_of(key, language, SIDES, None)]
    marks = {(cut.word, cut.rest) for cut in cuts if cut.part == "eye"}
    return frozenset(marks | {(c.part, c.rest) for c in cuts if pairs or c.word.replace(" ", "") not in LATIN})


def stages_of(rest: Key, language: str, twins: Twins) -> list[Cut]:
    """The heading, its side taken off, with a word of a stage taken off; a loose word only where it has its twin."""
    cuts = cuts_of(rest, language, STAGES, None)
    return [cut for cut in cuts if not cut.loose or (_OTHER[cut.part], cut.rest) in twins]


def stage_twins(keys: list[Key], language: str, twins: Twins) -> Twins:
    """Which headings, without side and stage, stand in the sheet for which stage."""
    sides = [next(cuts_of(key, language, SIDES, twins), Cut(key)).rest for key in keys]
    return frozenset((cut.part, cut.rest) for rest in sides for cut in cuts_of(rest, language, STAGES, None))
