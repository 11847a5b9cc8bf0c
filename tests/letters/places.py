"""Every fact under its own ear or under none, no word from the other ear, no word from nowhere."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from tests.letters.brief import clauses
from tests.letters.evidence import Evidence, Fact, words
from tests.letters.marked import MARK
from tests.letters.spoken import EARS, GROUPS, Drawn, Spoken, squeezed

SIDE = {"right": "R", "left": "L"}
OTHER = {"right": "left", "left": "right"}
ABOUT_PEOPLE = ("Composition", "Patient", "Organization", "Practitioner", "PractitionerRole", "Provenance",
                "RelatedPerson", "List", "Consent", "Encounter", "Device", "Bundle")  # fmt: skip
"""Told in the head, the foot, or in words of their own."""


def of_ear(said: Spoken, ear: str, *, prose: bool = False) -> str:
    """All that the letter says of one ear; what is said of both is said of each. `prose`: without codes, drawings."""
    found = [text for (_, side), text in said.ears.items() if side == ear]
    for part in said.parts:
        for title, text in part.groups:
            if ear in GROUPS.get(title.partition(",")[0], ()):
                found.append(text)
    found += [step for step in said.steps if f"{ear} ear" in step.lower()]
    box = " ".join(part.text for part in said.parts if part.title == "Action for you")
    found += [box] if re.search(rf"About:? {ear} ear", box, re.IGNORECASE) else []
    if not prose:
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
    text = {ear: squeezed(of_ear(said, ear, prose=True)).casefold() for ear in EARS}
    text[""] = squeezed(" ".join(part.text for part in said.parts if part.title != "Codes")).casefold()
    for fact in evidence.facts:
        if fact.type in ABOUT_PEOPLE:
            continue
        receiver = squeezed(said.text_of("To")).casefold() if fact.type == "ServiceRequest" else ""
        yield from _told(fact, text[fact.ear] + receiver)
        if (
            fact.ear
            and fact.type == "Observation"
            and fact.doubt
            and not any(squeezed(p).casefold() in text[fact.ear] for p in fact.phrases())
        ):
            yield f"{fact.ear} {fact.kind}: “{fact.phrases()[0]}” is not said"
    for ear in EARS:
        marks = [m for m in MARK.findall(of_ear(said, ear)) if m[0] != "N"]
        if marks and not any(f.ear == ear for f in evidence.facts):
            yield f"nothing is recorded of the {ear} ear, but it reads {marks}"
    yield from _doubts(evidence, said)


def _told(fact: Fact, text: str) -> Iterator[str]:
    place = f"{fact.ear or 'no ear'}: {fact.type} {fact.kind}"
    pieces = [*fact.details, *fact.words, *([fact.label] if not fact.answer else [])]
    doubted = fact.doubt and fact.type != "Observation"
    if doubted and not any(squeezed(p).casefold() in text for p in fact.phrases()):
        yield f"{place}: “{fact.phrases()[0]}” is not said"
    for piece in pieces:
        if piece and squeezed(piece.rstrip(".")).casefold() not in text:
            yield f"{place}: {piece!r} is not said"


def drawing_faults(evidence: Evidence, said: Spoken) -> Iterator[str]:
    """Under and behind each drawing: the findings of its ear and stage, and no word or number but theirs."""
    stands = {d.title.rstrip("."): d for d in said.drawn}
    for ear in EARS:
        for stage in ("before", "after"):
            drawn = stands.get(f"{ear.title()} ear {stage} the work")
            facts = [f for f in evidence.looked(ear, stage) if f.stem != "note"]
            if drawn is None:
                if stands and any(f.answer or f.label or f.details for f in facts):
                    yield f"there is no drawing of the {ear} ear, {stage}"
                continue
            yield from _drawn(f"drawing of the {ear} ear, {stage}", facts, drawn)


def _drawn(place: str, facts: list[Fact], drawn: Drawn) -> Iterator[str]:
    text = f"{drawn.text} {drawn.alternative}"
    spoken = [f for f in facts if f.coded and not f.answer and f.doubt != "unread"]
    for fact in spoken:
        if (
            fact.stem != "view"
            and fact.kind != "drum-view"
            and squeezed(fact.coded).casefold() not in squeezed(text).casefold()
        ):
            yield f"{place}: {fact.coded!r} is not said: {text}"
    yield from _patterns(place, facts, drawn)
    known = set(
        words(" ".join(p for f in facts for p in (f.label, f.reason, *f.details, *f.words, *f.texts, *f.displays)))
    )
    if left := [w for w in words(drawn.alternative) if w not in known and w not in drawn_words()]:
        yield f"{place}: no element of it says {left}"
    numbers = {
        float(n) for f in facts for d in (*f.details, *f.words, f.label) for n in re.findall(r"\d+(?:\.\d+)?", d)
    }
    for number in re.findall(r"(\d+(?:\.\d+)?)(?=%| mm)", drawn.alternative):
        if float(number) not in numbers:
            yield f"{place}: no element of it says {number}"


PATTERNS = {
    "Plain, looked normal": "normal",
    "Hatched, could not be seen": "not-seen",
    "Outlined, not examined": "not-examined",
    "Dotted, not recorded": "",
}
DRAWN = {"wax": "wax", "ear canal": "canal", "eardrum": "drum", "ear": "view"}


def _patterns(place: str, facts: list[Fact], drawn: Drawn) -> Iterator[str]:
    """The four answers in a drawing's words; what is said of the whole ear holds for its parts."""
    view = {f.answer for f in facts if f.stem == "view"}
    told: dict[str, str] = {}
    for pattern, answer in PATTERNS.items():
        for things in re.findall(rf"{pattern}: ([^.]*)\.", drawn.alternative or drawn.text):
            for thing in re.split(r", ", re.sub(r" \([^)]*\)", "", things)):
                stem = DRAWN.get(thing, thing)
                told[stem] = answer
                mine = {f.answer for f in facts if f.stem == stem}
                if answer and answer not in mine | view:
                    yield f"{place}: no element says that {thing} is {answer}"
                if not answer and mine & {"normal", "not-seen", "not-examined"}:
                    yield f"{place}: {thing} is {mine}, not without record"
    for stem in ("wax", "canal", "drum"):
        answers = {f.answer for f in facts if f.stem == stem} - {""}
        if len(answers) == 1 and told.get(stem, *answers) not in answers:
            yield f"{place}: {stem} is {answers}, drawn as {told[stem]}"


DOUBTFUL = re.compile(r"[^.;:|]*suspected, not confirmed", re.IGNORECASE)


def _doubts(evidence: Evidence, said: Spoken) -> Iterator[str]:
    """In the groups of an ear a suspicion has a suspected element of that ear behind it."""
    for part in said.parts:
        for title, text in part.groups:
            for ear in GROUPS.get(title.partition(",")[0], ()):
                known = [
                    squeezed(p).casefold()
                    for f in evidence.facts
                    if f.ear == ear and f.doubt == "suspected"
                    for p in f.phrases()
                ]
                known += [
                    squeezed(f.label).casefold() for f in evidence.facts if f.ear == ear and f.doubt == "suspected"
                ]
                for doubt in DOUBTFUL.findall(text):
                    if not any(k and k in squeezed(doubt).casefold() for k in known):
                        yield f"no element of the {ear} ear is suspected: {doubt}"


def fixed_words() -> frozenset[str]:
    """Words that a letter may use by itself: written down once, and not read from the program."""
    return _listed("fixed_words.txt")


def drawn_words() -> frozenset[str]:
    """Words that a drawing may use by itself."""
    return _listed("drawn_words.txt")


@cache
def _listed(name: str) -> frozenset[str]:
    lines = (Path(__file__).parent / name).read_text(encoding="utf-8").splitlines()
    return frozenset(w for line in lines if not line.startswith("#") for w in line.split())


def stray_words(evidence: Evidence, said: Spoken) -> list[str]:
    known = {w for text in evidence.strings() for w in words(text)}
    text = re.sub(r"SHA-256 begins [0-9a-f]+", "", said.everything)
    known |= fixed_words()
    found = [w for w in words(text) if len(w) > 1]
    stray = [w for w in found if w not in known]
    return [w for w in stray if not any(w + v in known or v + w in known for v in stray)]  # narrow columns break words
