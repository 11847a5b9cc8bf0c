"""What a letter of ours says beyond its visit: red flags by the rules, what the cut left, what a correction changed.

None of it comes back as part of the visit. What could be said is tried out; what fits no such words is not ours.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache
from html import unescape
from itertools import permutations, product

from bridge.build.alert import paragraph
from bridge.build.composition import COPIES
from bridge.build.context import Context
from bridge.build.kept import kept
from bridge.check.clinical import judge, load_rules
from bridge.check.clinical.flags import named_services, open_flags
from bridge.cut import told_as_left
from bridge.ear_words import EARS, Ear
from bridge.fhir.letter_kind import CLIENT
from bridge.fhir.own import word
from bridge.fhir.plain import plain_line
from bridge.fhir.tell import tell
from bridge.fhir.tell.by_ear import text_xhtml
from bridge.fhir.tell.words import sentence
from bridge.shapes import Alert, Json
from bridge.visit import Visit
from bridge.wording import language, say

NOW = "immediate"
"""The urgency of flags that a letter names."""
_EARS: tuple[Ear | None, ...] = (None, *EARS)
_NUMBER = re.compile(r"\d{1,4}")
_MOST_NUMBERS = 3
_LINE = re.compile(r"<(?:li|p)>(.*?)</(?:li|p)>", re.DOTALL)
_HERE = "\ue000"
"""Where a value stands in the words of a catalogue; a letter of private use, which nobody writes."""


def red_flags(said: str, context: Context, kind: str) -> list[Alert]:
    """Those of the shipped rules that a section's text names, in its order."""
    if kind == CLIENT:  # which names no flag, and says whether all of them were answered
        answered = say("copy.alert.answered")
        return [replace(_shipped()[0], answered=answered if text_xhtml(answered) in said else "")]
    alerts = list(_possible(context.visit))
    told = [f"<p>{text_xhtml(paragraph(alert, context))}</p>" for alert in alerts]
    found = [(said.find(words), number) for number, words in enumerate(told)]
    return [alerts[number] for at, number in sorted(found) if at >= 0]


def _possible(visit: Visit) -> Iterator[Alert]:
    """As the visit shows them, and as a visit could show them of which a letter holds less."""
    yield from (alert for alert in open_flags(visit, judge(visit, load_rules())) if alert.urgency == NOW)
    reasons = ("", visit.not_referred.reason) if visit.not_referred else ("",)
    for alert, ear, reason, slower in product(_shipped(), _EARS, reasons, (False, True)):
        yield replace(alert, ear=ear, answered=reason, slower=slower)


@cache
def _shipped() -> tuple[Alert, ...]:
    return tuple(
        Alert(rule.code, rule.flag, None, rule.urgency, rule.message, rule.source, named_services(rule.to))
        for rule in load_rules()
        if rule.flag and rule.urgency == NOW
    )


def left_behind(said: str, kind: str) -> Mapping[str, int]:
    """What the cut left, by the text that says so; nothing where it says something else."""
    numbers = (0, *sorted({1, *map(int, _NUMBER.findall(said)[:_MOST_NUMBERS])}))
    for keys in permutations(told_as_left(kind)):
        for counts in product(numbers, repeat=len(keys)):
            left = {key: number for key, number in zip(keys, counts, strict=True) if number}
            if left and f"<p>{text_xhtml(sentence(kept(left)))}</p>" in said:
                return left
    return {}


def correction_fits(said: str, made: Sequence[Json], visit: Visit, kind: str) -> bool:
    """Whether each line of the text is one that a correction could have, and says of today what the letter says.

    `made`: the resources of the letter, made again. What the version before said nobody can know here.
    """
    lines = _LINE.findall(said)
    now = {text_xhtml(line) for line in _said_now(made, visit, plainly=kind == CLIENT)}
    return bool(lines) and all(_fits(line, now, visit, "copy." if kind == CLIENT else "") for line in lines)


def _fits(line: str, now: set[str], visit: Visit, client: str) -> bool:
    whole = ("unknown", "client", "nothing", *(("rest",) if client else ()))
    if line in {text_xhtml(say(f"{client}changes.{key}", version=visit.replaces)) for key in whole}:
        return True
    if _form(f"{client}changes.changed").fullmatch(line):
        words = text_xhtml(say(f"{client}changes.changed", before=_HERE, now=_HERE)).split(_HERE)[1]
        return any(line.endswith(f"{words}{one}") for one in now)
    forms = [f"{client}changes.new", *(() if client else ("changes.detail",))]
    if any((found := _form(key).fullmatch(line)) and found[1] in now for key in forms):
        return True
    return bool(_form(f"{client}changes.gone").fullmatch(line))


def _form(key: str) -> re.Pattern[str]:
    words = say(key, said=_HERE, before=_HERE, now=_HERE)
    return re.compile("(.*)".join(map(re.escape, text_xhtml(words).split(_HERE))), re.DOTALL)


def _said_now(made: Sequence[Json], visit: Visit, *, plainly: bool) -> Iterator[str]:
    about = [key for key in language().words if key.startswith("changes.about.")]
    for resource in made:
        if resource["resourceType"] == "Composition":
            yield from _answers(resource)
        else:
            line = plain_line(resource) if plainly else tell(resource)
            yield line
            yield from () if plainly else (say(key, said=line) for key in about)
    if visit.not_referred:
        yield say("changes.not-referred", reason=sentence(visit.not_referred.reason))


def _answers(composition: Json) -> Iterator[str]:
    for section in composition["section"]:
        if "emptyReason" in section:
            yield say("changes.answer", title=section["title"], said=section["emptyReason"]["text"])
        if word("section", section["code"]) == COPIES:
            yield from (unescape(line.replace("<br/>", "\n")) for line in _LINE.findall(section["text"]["div"]))
