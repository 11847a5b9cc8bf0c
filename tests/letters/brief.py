"""“In brief” as claims: a grammar of its sentences written by hand, and what must back each claim in the bundle."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from tests.letters.evidence import Evidence, Fact, amount, code, codes, label, local
from tests.letters.spoken import EARS, Spoken, squeezed

ONE = r"(?:the )?(?P<ear>right|left) ear"
BOTH = r"(?P<both>both ears|either ear|neither ear)"
EAR = rf"(?:{ONE}|{BOTH})"
REASON = r"(?: \(reason: (?P<why>.+)\))?"
WHY = r"(?: \((?P<why>.+)\))?"
PARTS = {
    "the rest of the canal’s contents": "contents", "what was seen of the canal’s contents": "contents",
    "the ear canal": "canal", "what was seen of the ear canal": "canal",
    "the eardrum": "drum", "what was seen of the eardrum": "drum", "the outer ear": "outer-ear",
    "what was seen of the outer ear": "outer-ear", "the mastoid cavity": "cavity",
    "what was seen of the mastoid cavity": "cavity",
    "in the canal": "contents", "ear canal": "canal", "eardrum": "drum", "outer ear": "outer-ear",
    "mastoid cavity": "cavity",
}  # fmt: skip
PART = "(?P<part>" + "|".join(sorted(PARTS, key=len, reverse=True)) + ")"
PARTS_LIST = rf"(?P<parts>(?:(?:{'|'.join(sorted(PARTS, key=len, reverse=True))})(?:, | and )?)+)"
EARLY = r"(?P<early>before the work )?"
MUCH = {
    "minimal wax": "minimal", "a little wax": "small", "a moderate amount of wax": "moderate", "heavy wax": "heavy",
    "excess wax": "excess", "impacted wax": "impacted", "wax that did not fill the canal": "not-occluding",
    "wax": "seen", "blocked by wax": "occluding", "partly filled by wax": "occluding-partly",
    "still blocked by wax": "occluding", "still partly filled by wax": "occluding-partly",
}  # fmt: skip
HELD = "|".join(w for w in sorted(MUCH, key=len, reverse=True) if "by wax" not in w)
DETAIL = r"(?: \((?P<details>.+)\))?"

GRAMMAR = {
    "unrecorded": rf"nothing is recorded of {EAR}",
    "own-words": rf"{EAR} (?:is|are) told in the clinic’s own words only",
    "no-examination": rf"no examination of {EAR} is recorded",
    "before-unrecorded": rf"how {EAR} looked before the work is not recorded",
    "view-not-seen": rf"{EAR} could (?:not )?be seen{WHY}",
    "view-not-examined": rf"{EAR} was (?:not )?examined{WHY}",
    "wax-unrecorded": rf"how much wax there was in {EAR} is not recorded",
    "wax-not-seen": rf"wax in {EAR} could not be judged by sight{WHY}",
    "wax-not-examined": rf"{EAR} was (?:not )?examined for wax{WHY}",
    "wax-noted": rf"wax in {EAR} was noted as “(?P<words>.+)”",
    "wax-share": rf"wax was found in {EAR} \((?P<details>.+)\)",
    "wax-none": rf"no wax was found in {EAR}",
    "wax-much": rf"{EAR} (?:held (?P<much>{HELD})|(?:was|were) (?P<how>blocked by wax|partly filled by wax)){DETAIL}",
    "no-work": rf"no work on {EAR} is recorded",
    "events": rf"noted during or after the work in {EAR}: (?P<list>.+)",
    "work-nothing": rf"nothing was done to {EAR}",
    "work-assessed": rf"{EAR} (?:was|were) assessed only",
    "work-complete": rf"the work on {EAR} \((?P<method>.+?)\) was completed(?: \(reason noted: (?P<why>.+)\))?",
    "work-partial": rf"the work on {EAR} \((?P<method>.+?)\) was completed in part{REASON}",
    "work-none": rf"the work on {EAR} \((?P<method>.+?)\) removed nothing{REASON}",
    "work-stopped": rf"the work on {EAR} \((?P<method>.+?)\) was stopped before it was finished{REASON}",
    "work-not-attempted": rf"work on {EAR} \((?P<method>.+?)\) was not attempted{REASON}",
    "work-not-needed": rf"work on {EAR} \((?P<method>.+?)\) was not needed{REASON}",
    "work-other": rf"the work on {EAR} \((?P<method>.+?)\) ended thus: (?P<outcome>.+)",
    "after-unrecorded": rf"how {EAR} looked afterwards is not recorded",
    "after-not-seen": rf"afterwards {EAR} could (?:not )?be seen{WHY}",
    "after-not-examined": rf"{EAR} was (?:not )?examined afterwards{WHY}",
    "left-unrecorded": rf"whether wax was left in {EAR} is not recorded",
    "left-not-seen": rf"whether wax was left in {EAR} could not be seen{WHY}",
    "left-not-examined": rf"whether wax was left in {EAR} was not examined{WHY}",
    "left-noted": rf"wax in {EAR} afterwards was noted as “(?P<words>.+)”",
    "left-share": rf"wax was seen in {EAR} afterwards \((?P<details>.+)\)",
    "left-none": rf"afterwards no wax was left in {EAR}",
    "left-much": rf"(?P<much>{HELD}) was left in {EAR}{DETAIL}",
    "left-still": rf"{EAR} (?:was|were) (?P<how>still blocked by wax|still partly filled by wax) afterwards{DETAIL}",
    "partly": rf"at the last look {EAR} could be seen only in part{WHY}",
    "part-normal": rf"{EARLY}{PARTS_LIST} looked normal in {EAR}",
    "part-not-seen": rf"{EARLY}{PART} could not be seen in {EAR}{WHY}",
    "part-not-examined": rf"{EARLY}{PART} was not examined in {EAR}{WHY}",
    "part-partly": rf"{EARLY}{PART} could be seen only in part in {EAR}{WHY}",
    "part-present": rf"seen in {EAR} \({PART}\): (?P<list>.+)",
    "part-suspected": rf"suspected, not confirmed, in {EAR} \({PART}\): (?P<list>.+)",
    "part-words": rf"{PART} in {EAR} is told in the clinic’s own words as well",
    "first-present": rf"seen before the work in {EAR} \({PART}\): (?P<list>.+)",
    "first-suspected": rf"suspected before the work, not confirmed, in {EAR} \({PART}\): (?P<list>.+)",
    "drum-unrecorded": rf"how the eardrum looked in {EAR} is not recorded",
    "suspected": rf"suspected, not confirmed, in {EAR}: (?P<list>.+)",
}  # fmt: skip
NEGATED = ("view-not-seen", "view-not-examined", "wax-not-examined", "after-not-seen", "after-not-examined")
"""`neither ear could be seen` says what `the right ear could not be seen` says."""
WHOLE = {
    "the client did not attend": "attendance-did-not-attend",
    "the client left before the examination": "attendance-left",
    "consent to examination and treatment was refused": "treatment-refused",
    "consent to examination and treatment was withdrawn": "treatment-withdrawn",
    "what was found and done stands in the clinic’s own words only": "note",
    "nothing is recorded of either ear": "",
    "no work on either ear is recorded": "no work",
}


@dataclass
class Claim:
    name: str
    ears: tuple[str, ...]
    held: dict[str, str]
    text: str


def clauses(text: str) -> list[str]:
    found, depth, now = [], 0, ""
    for at, character in enumerate(text):
        depth += character in "(“"
        depth -= character in ")”"
        ends = character == ";" or (
            character == "." and (at + 2 >= len(text) or text[at + 1 : at + 3].strip()[:1].isupper())
        )
        if depth <= 0 and ends and not (character == "." and text[at + 1 : at + 2].strip()):
            found.append(now.strip())
            now = ""
        else:
            now += character
    return [c for c in (*found, now.strip()) if c]


def claim_of(clause: str) -> Claim | None:
    for name, pattern in GRAMMAR.items():
        if match := re.fullmatch(pattern, clause, re.IGNORECASE):
            held = {k: v for k, v in match.groupdict().items() if v}
            ears = EARS if "both" in held else (held["ear"].lower(),)
            if name in NEGATED and (held.get("both", "").lower() == "neither ear") == (" not " in f" {clause} "):
                return None
            return Claim(name, ears, held, clause)
    return None


def listed_is(text: str, items: list[str]) -> bool:
    """Whether a list reads `a, b and c`, whatever the words hold."""
    wanted = items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}" if items else ""
    return squeezed(wanted).casefold() == squeezed(text).casefold()


class Ear:
    """What the elements say of one ear, for the claims."""

    def __init__(self, evidence: Evidence, ear: str) -> None:
        self.evidence, self.ear = evidence, ear
        self.facts = [f for f in evidence.facts if f.ear == ear]
        self.looks = {
            s: looked
            for s in ("before", "after")
            if (looked := [f for f in evidence.looked(ear, s) if f.stem != "note"])
        }
        self.last = list(self.looks)[-1] if self.looks else ""
        self.work = evidence.work(ear)

    def view(self, stage: str) -> Fact | None:
        return next((f for f in self.looks.get(stage, ()) if f.stem == "view"), None)

    def wax(self, stage: str) -> Fact | None:
        return next((f for f in self.looks.get(stage, ()) if f.stem == "wax"), None)

    def part(self, stem: str, stage: str) -> list[Fact]:
        return [f for f in self.looks.get(stage, ()) if f.stem == stem]

    def stage_of(self, stem: str) -> str:
        """The last look that says anything of a part."""
        return next((s for s in reversed(list(self.looks)) if self.part(stem, s)), "")

    def labels(self, stem: str, stage: str, doubt: str) -> list[str]:
        """What a table knows of it."""
        found = [
            f for f in self.part(stem, stage) if not f.answer and f.doubt == doubt and not f.kind.endswith("-view")
        ]
        return [f.label for f in found if codes(_asked(f))]


def _asked(fact: Fact) -> object:
    if not fact.doubt:
        return fact.resource.get("valueCodeableConcept")
    asked = (c for c in fact.resource.get("component", ()) if code(c["code"]) == "finding-in-question")
    return next((c.get("valueCodeableConcept") for c in asked), None)


def brief_faults(evidence: Evidence, said: Spoken) -> Iterator[str]:
    ears = {ear: Ear(evidence, ear) for ear in EARS}
    told: list[Claim] = []
    for clause in clauses(said.text_of("In brief")):
        whole = WHOLE.get(clause.lower())
        claim = claim_of(clause)
        if whole is not None and (claim is None or whole in ("", "no work")):
            if not _whole(evidence, ears, whole):
                yield f"brief: nothing backs: {clause}"
            told += [claim] if claim else []
            continue
        if claim is None:
            yield f"brief: a sentence of no known form: {clause}"
            continue
        told.append(claim)
        for ear in claim.ears:
            if not BACKED[claim.name](ears[ear], claim):
                yield f"brief: nothing in the {ear} ear backs: {clause}"
    yield from _missing(ears, told, bool(said.ears) and any(e.facts for e in ears.values()))


def _whole(evidence: Evidence, ears: dict[str, Ear], what: str) -> bool:
    if what == "":
        return not any(e.facts for e in ears.values())
    if what == "no work":
        return not any(e.work for e in ears.values())
    if what == "note":
        return any(f.kind in ("visit-note", "ear-note") for f in evidence.facts)
    return any(what in codes(c) for f in evidence.facts for c in _concepts(f))


def _concepts(fact: Fact) -> Iterator[object]:
    for key in ("type", "policyRule"):
        held = fact.resource.get(key) or []
        yield from held if isinstance(held, list) else [held]


def _why(fact: Fact | None, claim: Claim) -> bool:
    return fact is not None and squeezed(claim.held.get("why", "")) == squeezed(fact.reason)


def _view(ear: Ear, stage: str, answer: str, claim: Claim) -> bool:
    view = ear.view(stage)
    return view is not None and view.answer == answer and _why(view, claim)


def _wax_much(ear: Ear, stage: str, claim: Claim) -> bool:
    wax = ear.wax(stage)
    words = (claim.held.get("much") or claim.held.get("how") or "").lower()
    return (
        wax is not None
        and not wax.answer
        and code(wax.resource.get("valueCodeableConcept")) == f"wax-{MUCH[words]}"
        and _details(wax, claim)
    )


def _details(wax: Fact, claim: Claim) -> bool:
    """The consistency as far as a table knows it, and the share of the canal."""
    kinds, share = [], []
    for component in wax.resource.get("component", ()):
        if code(component["code"]) == "wax-consistency" and codes(component["valueCodeableConcept"]):
            kinds.append(label(component["valueCodeableConcept"]))
        if code(component["code"]) == "occlusion":
            share.append(f"{amount(component['valueQuantity'])} of the canal’s width")
    kinds_said = f"{', '.join(kinds[:-1])} and {kinds[-1]}" if len(kinds) > 1 else "".join(kinds)
    wanted = ", ".join([k for k in (kinds_said, *share) if k])
    return squeezed(wanted) == squeezed(claim.held.get("details", ""))


def _wax_answer(ear: Ear, stage: str, answer: str, claim: Claim) -> bool:
    wax = ear.wax(stage)
    return wax is not None and wax.answer == answer and _why(wax, claim)


def _wax_words(ear: Ear, stage: str, claim: Claim) -> bool:
    wax = ear.wax(stage)
    return (
        wax is not None
        and not wax.answer
        and not codes(wax.resource.get("valueCodeableConcept"))
        and wax.label != ""
        and squeezed(wax.label) == squeezed(claim.held["words"])
    )


def _wax_share(ear: Ear, stage: str, claim: Claim) -> bool:
    wax = ear.wax(stage)
    return wax is not None and not wax.answer and "valueCodeableConcept" not in wax.resource and _details(wax, claim)


def _no_wax(ear: Ear, stage: str) -> bool:
    wax = ear.wax(stage)
    return wax is not None and "wax-none" in codes(wax.resource.get("valueCodeableConcept"))


def _wax_silent(ear: Ear, stage: str) -> bool:
    """Whether the look says nothing of how much wax there was."""
    wax = ear.wax(stage)
    if wax is None:
        return stage in ear.looks
    spoken = any(
        code(c["code"]) == "occlusion" or (code(c["code"]) == "wax-consistency" and codes(c["valueCodeableConcept"]))
        for c in wax.resource.get("component", ())
    )
    return not wax.answer and "valueCodeableConcept" not in wax.resource and not spoken


OUTCOMES = {"work-complete": "complete", "work-partial": "partial", "work-none": "none", "work-stopped": "stopped",
            "work-not-attempted": "not-attempted", "work-not-needed": "not-needed"}  # fmt: skip


def _worked(ear: Ear, claim: Claim) -> bool:
    for one in ear.work:
        outcome, reason = one.resource.get("outcome"), label(one.resource.get("statusReason"))
        if squeezed(label(one.resource.get("code"))) != squeezed(claim.held["method"]):
            continue
        if claim.name == "work-other":
            ends = {"completed": "done", "stopped": "stopped before it was finished", "not-done": "not done",
                    "unknown": "how it ended is not recorded"}  # fmt: skip
            wanted = label(outcome) if outcome else ends[one.resource["status"]]
            text = claim.held["outcome"]
            if squeezed(text).startswith(squeezed(wanted)) and (not reason or squeezed(reason) in squeezed(text)):
                return True
        elif f"outcome-{OUTCOMES[claim.name]}" in codes(outcome) and squeezed(reason) == squeezed(
            claim.held.get("why", "")
        ):
            return True
    return False


def _events(ear: Ear, claim: Claim) -> bool:
    found = [f.label for w in ear.work for f in ear.evidence.beside(w) if f.kind == "procedure-event" and not f.doubt]
    found = list(dict.fromkeys(found))
    none = {
        f.label
        for f in ear.facts
        if f.kind == "procedure-event" and "event-none" in codes(f.resource.get("valueCodeableConcept"))
    }
    return listed_is(claim.held["list"], [e for e in found if e not in none])


def _timely(ear: Ear, stem: str, early: bool) -> bool:
    """What was seen before the work alone is said to be so, where work was done or somebody looked again."""
    if early:
        return ear.stage_of(stem) == "before"
    worked = any(w.resource["status"] in ("completed", "stopped") and "outcome" in w.resource for w in ear.work)
    worked = worked and not any("method-assessment" in codes(w.resource.get("code")) for w in ear.work)
    return ear.stage_of(stem) == "after" or not (worked or "after" in ear.looks)


def _normal(ear: Ear, claim: Claim) -> bool:
    for part in re.split(r", | and ", claim.held["parts"].lower()):
        stem = PARTS[part]
        facts = ear.part(stem, ear.stage_of(stem))
        if not any(f.answer == "normal" for f in facts) or any(f.limited for f in facts):
            return False
        views = [f.resource.get("valueCodeableConcept") for f in facts if f.kind == "drum-view"]
        if any("drum-view-partly" in codes(v) for v in views) != part.startswith("what was seen of"):
            return False
        if not _timely(ear, stem, "early" in claim.held):
            return False
    return True


def _limit(ear: Ear, claim: Claim, answer: str) -> bool:
    stem = PARTS[claim.held["part"].lower()]
    facts = [f for f in ear.part(stem, ear.stage_of(stem)) if f.answer == answer]
    return any(_why(f, claim) for f in facts) and _timely(ear, stem, "early" in claim.held)


def _partly_seen(ear: Ear, claim: Claim) -> bool:
    stem = PARTS[claim.held["part"].lower()]
    facts = ear.part(stem, ear.stage_of(stem))
    views = [f for f in facts if "drum-view-partly" in codes(f.resource.get("valueCodeableConcept"))]
    return any(_why(f, claim) for f in views) and _timely(ear, stem, "early" in claim.held)


def _found(ear: Ear, claim: Claim, doubt: str) -> bool:
    stem = PARTS[claim.held["part"].lower()]
    found = ear.labels(stem, ear.stage_of(stem), doubt)
    return listed_is(claim.held["list"], found) and _timely(ear, stem, False)


def _found_first(ear: Ear, claim: Claim, doubt: str) -> bool:
    stem = PARTS[claim.held["part"].lower()]
    later = [*ear.labels(stem, "after", doubt), *(ear.labels(stem, "after", "") if doubt else [])]
    return listed_is(claim.held["list"], [f for f in ear.labels(stem, "before", doubt) if f not in later])


def _in_words(ear: Ear, claim: Claim) -> bool:
    stem = PARTS[claim.held["part"].lower()]
    facts = ear.part(stem, ear.stage_of(stem))
    return any(
        f.doubt == "unread" or (f.doubt in ("", "suspected") and not f.answer and not codes(_asked(f))) for f in facts
    )


def _suspected(ear: Ear, claim: Claim) -> bool:
    """Impressions that the practitioner suspects; one whose certainty nobody told is among what is proposed alone."""
    found = [f for f in ear.facts if f.type == "Condition" and f.doubt == "suspected"]
    found = [f for f in found if not any(code(c).startswith("event-from") for c in f.resource.get("category", ()))]
    found = [f for f in found if not codes(f.resource["verificationStatus"], VERIFIED) & {"unconfirmed"}]
    wanted = [f.label for f in found if not _shown(ear, f)]
    return listed_is(claim.held["list"], wanted)


VERIFIED = "http://terminology.hl7.org/CodeSystem/condition-ver-status"


def _shown(ear: Ear, condition: Fact) -> bool:
    """Whether a suspected finding is its evidence, which the sentences tell themselves."""
    urls = [d.get("reference") for e in condition.resource.get("evidence", ()) for d in e.get("detail", ())]
    return any(ear.evidence.by_url[u].doubt == "suspected" for u in urls if u in ear.evidence.by_url)


def _partly(view: Fact | None) -> bool:
    return view is not None and "view-partial" in codes(view.resource.get("valueCodeableConcept"))


Check = Callable[[Ear, Claim], bool]
BACKED: dict[str, Check] = {
    "unrecorded": lambda e, c: not e.facts,
    "own-words": lambda e, c: bool(e.facts) and all(f.kind == "ear-note" for f in e.facts),
    "no-examination": lambda e, c: bool(e.facts) and not e.looks and not e.work,
    "before-unrecorded": lambda e, c: "before" not in e.looks and bool(e.looks or e.work),
    "view-not-seen": lambda e, c: _view(e, "before", "not-seen", c),
    "view-not-examined": lambda e, c: _view(e, "before", "not-examined", c),
    "wax-unrecorded": lambda e, c: _wax_silent(e, "before"),
    "wax-not-seen": lambda e, c: _wax_answer(e, "before", "not-seen", c),
    "wax-not-examined": lambda e, c: _wax_answer(e, "before", "not-examined", c),
    "wax-noted": lambda e, c: _wax_words(e, "before", c),
    "wax-share": lambda e, c: _wax_share(e, "before", c),
    "wax-none": lambda e, c: _no_wax(e, "before"),
    "wax-much": lambda e, c: _wax_much(e, "before", c),
    "no-work": lambda e, c: not e.work,
    "events": _events,
    "work-nothing": lambda e, c: any("outcome" not in w.resource for w in e.work),
    "work-assessed": lambda e, c: any("method-assessment" in codes(w.resource.get("code")) for w in e.work),
    **dict.fromkeys((*OUTCOMES, "work-other"), _worked),
    "after-unrecorded": lambda e, c: "after" not in e.looks and bool(e.work),
    "after-not-seen": lambda e, c: _view(e, "after", "not-seen", c),
    "after-not-examined": lambda e, c: _view(e, "after", "not-examined", c),
    "left-unrecorded": lambda e, c: _wax_silent(e, "after"),
    "left-not-seen": lambda e, c: _wax_answer(e, "after", "not-seen", c),
    "left-not-examined": lambda e, c: _wax_answer(e, "after", "not-examined", c),
    "left-noted": lambda e, c: _wax_words(e, "after", c),
    "left-share": lambda e, c: _wax_share(e, "after", c),
    "left-none": lambda e, c: _no_wax(e, "after"),
    "left-much": lambda e, c: _wax_much(e, "after", c),
    "left-still": lambda e, c: _wax_much(e, "after", c),
    "partly": lambda e, c: _partly(e.view(e.last)) and _why(e.view(e.last), c),
    "part-normal": _normal,
    "part-not-seen": lambda e, c: _limit(e, c, "not-seen"),
    "part-not-examined": lambda e, c: _limit(e, c, "not-examined"),
    "part-partly": _partly_seen,
    "part-present": lambda e, c: _found(e, c, ""),
    "part-suspected": lambda e, c: _found(e, c, "suspected"),
    "part-words": _in_words,
    "first-present": lambda e, c: _found_first(e, c, ""),
    "first-suspected": lambda e, c: _found_first(e, c, "suspected"),
    "drum-unrecorded": lambda e, c: not e.part("drum", "before") and not e.part("drum", "after"),
    "suspected": _suspected,
}  # fmt: skip


def _stems(claim: Claim) -> set[str]:
    """The parts that a claim is about."""
    several = re.split(r", | and ", claim.held["parts"].lower()) if "parts" in claim.held else []
    return {PARTS[p] for p in (*several, *([claim.held["part"].lower()] if "part" in claim.held else []))}


def _missing(ears: dict[str, Ear], told: list[Claim], table: bool) -> Iterator[str]:
    """What must be in brief: the last word on each part, the first look's wax, every piece of work, every suspicion."""
    for name, ear in ears.items():
        mine = [c for c in told if name in c.ears]
        names = {c.name for c in mine}
        text = squeezed(" ".join(c.text for c in mine)).casefold()
        if table and not mine:
            yield f"brief: nothing is said of the {name} ear"
        for stage in ear.looks:
            start = "wax-" if stage == "before" else "left-"
            view = ear.view(stage)
            blind = {f"{'view' if stage == 'before' else 'after'}-{view.answer}"} if view and view.limited else set()
            if not any(n.startswith(start) for n in names) and not blind & names:
                yield f"brief: nothing is said of the wax in the {name} ear, {stage}"
        for stem in set(PARTS.values()):
            stage = ear.stage_of(stem)
            found = {stem for c in mine for stem in _stems(c)}
            plain = [
                f
                for f in ear.part(stem, stage)
                if f.doubt in ("", "suspected", "unread") and (f.label or f.answer or f.words)
            ]
            plain = [f for f in plain if f.kind != "drum-view" or f.limited]
            if plain and stem not in found:
                yield f"brief: {stem} of the {name} ear is not told: {[f.phrases() for f in plain]}"
            answers = {f.answer for f in ear.part(stem, stage)} - {""}
            limits = answers - {"normal"}
            wanted = {f"part-{a}" for a in limits or answers}
            about = {c.name for c in mine if stem in _stems(c)}
            if wanted and not wanted & about:
                yield f"brief: {stem} of the {name} ear is {answers}, which is not told"
            for doubt in ("", "suspected"):
                for words in [w for when in ear.looks for w in ear.labels(stem, when, doubt)]:
                    if squeezed(words).casefold() not in text:
                        yield f"brief: {words!r} of the {name} ear is not told"
        for one in ear.work:
            method = squeezed(label(one.resource.get("code"))).casefold()
            if method not in text and not names & {"work-nothing", "work-assessed"}:
                yield f"brief: the work on the {name} ear is not told"


_ = local
