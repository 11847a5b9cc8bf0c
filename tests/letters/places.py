"""Every fact under its own ear or under none, no word from the other ear, no word from nowhere."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from tests.letters.brief import clauses
from tests.letters.evidence import Evidence, Fact, ear_of, local, words
from tests.letters.marked import MARK
from tests.letters.spoken import EARS, GROUPS, Spoken, squeezed

SIDE = {"right": "R", "left": "L"}
OTHER = {"right": "left", "left": "right"}
ABOUT_PEOPLE = ("Composition", "Patient", "Organization", "Practitioner", "PractitionerRole", "Provenance",
                "RelatedPerson", "List", "Consent", "Encounter", "Device", "DeviceUseStatement", "Bundle")  # fmt: skip
"""Told in the head, the foot, or in words of their own."""


def of_ear(said: Spoken, ear: str) -> str:
    """All that the letter says of one ear; what is said of both is said of each."""
    found = [text for (_, side), text in said.ears.items() if side == ear]
    for part in said.parts:
        for title, text in part.groups:
            if ear in GROUPS.get(title.partition(",")[0], ()):
                found.append(text)
    found += [step for step in said.steps if f"{ear} ear" in step.lower()]
    found += [_row(text, ear, whose) for whose, text in said.codes if whose.lower() in (ear, "both")]
    names = (f"{ear} ear before the work", f"{ear} ear after the work", f"hearing of the {ear} ear")
    found += [f"{d.text} {d.alternative}" for d in said.drawn if d.title.lower().startswith(names)]
    found += [c for c in clauses(said.text_of("In brief")) if re.search(rf"\b({ear} ear|both ears|n?either ear)\b", c)]
    return " | ".join(found)


def _row(text: str, ear: str, whose: str) -> str:
    """A row of codes for both ears keeps each ear's words after its name."""
    return re.sub(rf"\b{OTHER[ear].title()}: [^;]*", "", text) if whose == "Both" else text


def side_faults(raw: dict[str, Any], said: Spoken) -> Iterator[str]:
    """Marks in raw data and letter: none of one ear in what is said of the other, in nothing loose either."""
    for ear in EARS:
        for mark in sorted(set(MARK.findall(of_ear(said, ear)))):
            if mark[0] == SIDE[OTHER[ear]]:
                yield f"{mark} of the {OTHER[ear]} ear is said of the {ear} one"
    for drawn in said.drawn:
        title = drawn.title.lower()
        for ear in EARS:
            wrong = {m for m in MARK.findall(f"{drawn.text} {drawn.alternative}") if m[0] == SIDE[OTHER[ear]]}
            if f"{ear} ear" in title and wrong:
                yield f"{sorted(wrong)} stand in the drawing “{title}”"
            if f"{ear} ear" in title and f"{OTHER[ear]} ear" in drawn.alternative.lower():
                yield f"the drawing “{title}” speaks of the other ear"
    if raw:
        yield from _lost(raw, said)


def _lost(raw: dict[str, Any], said: Spoken) -> Iterator[str]:
    """Marks of an ear that are printed, but nowhere under that ear."""
    for ear in EARS:
        mine = set(MARK.findall(str(raw.get(ear, {}))))
        loose = (mine & set(MARK.findall(said.everything))) - set(MARK.findall(of_ear(said, ear)))
        if loose:
            yield f"{sorted(loose)} of the {ear} ear are printed, but not under it"


def place_faults(evidence: Evidence, said: Spoken) -> Iterator[str]:
    """Every fact of the bundle is in the letter, under its ear, with its doubt."""
    text = {ear: squeezed(of_ear(said, ear)).casefold() for ear in EARS}
    text[""] = squeezed(said.everything).casefold()
    for fact in evidence.facts:
        if fact.type in ABOUT_PEOPLE:
            continue
        yield from _told(fact, text[fact.ear])
        if fact.ear and fact.type == "Observation" and fact.doubt and not any(
            squeezed(p).casefold() in text[fact.ear] for p in fact.phrases()
        ):
            yield f"{fact.ear} {fact.kind}: “{fact.phrases()[0]}” is not said"
    for ear in EARS:
        if not any(f.ear == ear for f in evidence.facts) and (marks := MARK.findall(of_ear(said, ear))):
            yield f"nothing is recorded of the {ear} ear, but it reads {marks}"
    yield from _doubts(evidence, said)


def _told(fact: Fact, text: str) -> Iterator[str]:
    place = f"{fact.ear or 'no ear'}: {fact.type} {fact.kind}"
    pieces = [*fact.details, *fact.words, *([fact.label] if not fact.answer else [])]
    if fact.doubt:
        if fact.type != "Observation" and not any(squeezed(p).casefold() in text for p in fact.phrases()):
            yield f"{place}: “{fact.phrases()[0]}” is not said"
    for piece in pieces:
        if piece and squeezed(piece.rstrip(".")).casefold() not in text:
            yield f"{place}: {piece!r} is not said"


DOUBTFUL = re.compile(r"[^.;:|]*suspected, not confirmed", re.IGNORECASE)


def _doubts(evidence: Evidence, said: Spoken) -> Iterator[str]:
    """In the groups of an ear a suspicion has a suspected element of that ear behind it."""
    for part in said.parts:
        for title, text in part.groups:
            for ear in GROUPS.get(title.partition(",")[0], ()):
                known = [squeezed(p).casefold() for f in evidence.facts if f.ear == ear and f.doubt == "suspected" for p in f.phrases()]
                known += [squeezed(f.label).casefold() for f in evidence.facts if f.ear == ear and f.doubt == "suspected"]
                for doubt in DOUBTFUL.findall(text):
                    if not any(k and k in squeezed(doubt).casefold() for k in known):
                        yield f"no element of the {ear} ear is suspected: {doubt}"


@cache
def fixed_words() -> frozenset[str]:
    """Words that a letter may use by itself: written down once, by hand, and not read from the program."""
    lines = (Path(__file__).parent / "fixed_words.txt").read_text(encoding="utf-8").splitlines()
    return frozenset(w for line in lines if not line.startswith("#") for w in line.split())


def stray_words(evidence: Evidence, said: Spoken) -> list[str]:
    known = {w for text in evidence.strings() for w in words(text)}
    text = re.sub(r"SHA-256 begins [0-9a-f]+", "", said.everything)
    return [w for w in words(text) if w not in known and w not in fixed_words()]


_ = (ear_of, local)
