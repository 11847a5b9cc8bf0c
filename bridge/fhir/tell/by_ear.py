"""Facts as a reader meets them, each ear under its own words: the text of a section, in the bundle and on the page.

What is alike for both ears stands once. A line is `Eardrum: looked normal; scarring.`; several facts about one subject
share it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from html import escape

from bridge.ear_words import EARS, STAGES
from bridge.fhir.own import word
from bridge.fhir.tell import ear, is_told, said, subject
from bridge.fhir.tell.observation import parts
from bridge.fhir.tell.words import sentence, upper_first
from bridge.shapes import Json
from bridge.wording import say

Pair = tuple[str, str]
"""What a fact is about, which may be empty, and what is said of it."""


@dataclass(slots=True)
class Told:
    """One line. `words` end with a full stop."""

    subject: str
    sayings: list[str]
    inside: str = ""
    """The subject as it stands inside a sentence."""

    @property
    def words(self) -> str:
        text = "; ".join(s if len(self.sayings) == 1 else s.rstrip(".") for s in self.sayings)
        return sentence(text) if not self.subject else text if text[-1:] in ".?!…" else f"{text}."


@dataclass(slots=True)
class Group:
    """Lines under one ear or under both, at one stage of the visit or at none; without a title under no ear."""

    title: str
    lines: list[Told] = field(default_factory=list)


def by_ear(resources: Iterable[Json]) -> list[Group]:
    """Both ears, right ear, left ear, each before and after the work; then what has no side. No group is empty."""
    return in_groups((ear(resource) or "", stage(resource), pair(resource)) for resource in resources)


def in_groups(facts: Iterable[tuple[str, str, Pair]]) -> list[Group]:
    """The same of facts that are words already: each with its ear or an empty text, its stage or an empty text."""
    found: dict[tuple[str, str], list[Pair]] = {}
    for side, when, told in facts:
        found.setdefault((side, when), []).append(told)
    for when in ("", *STAGES):
        right, left = (found.get((side, when), []) for side in EARS)
        if both := _alike(right, left):
            found["both", when] = both
            for side in EARS:
                found[side, when] = [told for told in found[side, when] if told not in both]
    order = [(side, when) for side in ("both", *EARS) for when in (*STAGES, "")]
    named = [Group(_title(*key), lines(found[key])) for key in order if found.get(key)]
    loose = [told for (side, _), pairs in found.items() if not side for told in pairs]
    return [*named, *([Group("", _run_on(lines(loose)))] if loose else [])]


def _alike(right: list[Pair], left: list[Pair]) -> list[Pair]:
    """What the lines of the right ear say that the left ear's say too: line by line, for half a line is not alike."""

    def of(subject: str, pairs: list[Pair]) -> set[Pair]:
        return {told for told in pairs if told[0] == subject}

    return [told for told in right if told in left and (not told[0] or of(told[0], right) == of(told[0], left))]


def _title(side: str, when: str) -> str:
    return say(f"group.{side}.{when}") if when else say(f"group.{side}")


def _run_on(found: list[Told]) -> list[Told]:
    """Few short lines become one paragraph: `Keep the ear dry. Nothing into the ear.`"""
    told = [f"{line.subject}: {line.words}" if line.subject else line.words for line in found]
    paragraph = " ".join(told)
    short = len(found) > 1 and len(paragraph) <= _SHORT and "\n" not in paragraph
    return [Told("", [paragraph])] if short else found


_SHORT = 180
"""Characters: about two lines of a printed letter."""


def stage(resource: Json) -> str:
    """`before` or `after`, the stage of the visit at which an Observation was made; else empty."""
    if resource["resourceType"] != "Observation":
        return ""
    stages = (word("stage", c.get("valueCodeableConcept")) for c in parts(resource).get("exam-stage", ()))
    return next((found for found in stages if found), None) or ""


def pair(resource: Json) -> Pair:
    """Subject and saying of a resource; one without any words of its own is named by its type."""
    if not is_told(resource) and not resource.get("text", {}).get("div"):
        return "", say("told.type-only", type=resource["resourceType"])
    return subject(resource), said(resource)


def lines(pairs: Iterable[Pair]) -> list[Told]:
    """Each subject once, in the order met; what is said twice of it stands once, in the fuller words."""
    found: dict[str, Told] = {}
    loose: set[str] = set()
    ordered: list[Told] = []
    for about, saying in pairs:
        if not about:
            if saying and saying not in loose:
                loose.add(saying)
                ordered.append(Told("", [saying]))
            continue
        line = found.get(about)
        if line is None:
            line = found[about] = Told(upper_first(about), [], about)
            ordered.append(line)
        if saying:
            _add(line.sayings, saying)
    return ordered


def _add(sayings: list[str], saying: str) -> None:
    """`could not be seen (wax in the way)` says `could not be seen` too."""
    if any(said == saying or said.startswith(f"{saying} (") for said in sayings):
        return
    shorter = next((i for i, said in enumerate(sayings) if saying.startswith(f"{said} (")), None)
    if shorter is None:
        sayings.append(saying)
    else:
        sayings[shorter] = saying


def xhtml(groups: Iterable[Group]) -> str:
    """The groups as XHTML that may stand in a Narrative and in a page."""
    return "".join(lines_xhtml(group.title, [(line.subject, line.words) for line in group.lines]) for group in groups)


def lines_xhtml(title: str, told: Sequence[Pair]) -> str:
    """Lines of one group: under a title a list of definitions; without one a paragraph, or a list of several."""
    if title:
        return f"<dl><dt>{escape(title)}</dt>" + "".join(f"<dd>{_line(*one)}</dd>" for one in told) + "</dl>"
    if len(told) == 1:
        return f"<p>{_line(*told[0])}</p>"
    return "<ul>" + "".join(f"<li>{_line(*one)}</li>" for one in told) + "</ul>" if told else ""


def _line(subject: str, words: str) -> str:
    return (f"<b>{text_xhtml(subject)}:</b> " if subject else "") + text_xhtml(words)


def text_xhtml(words: str) -> str:
    """Words with their line breaks."""
    return "<br/>".join(escape(line) for line in words.split("\n"))
