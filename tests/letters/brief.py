"""“In brief” as claims: a grammar of its sentences written by hand, and what must back each claim in the bundle."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import combinations

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
WHERE = r"(?:the (?P<ear>right|left)|(?P<both>both)) (?P<place>ear canals?|eardrums?|outer ears?|ears?)"
PLACES = {"ear canal": "canal", "eardrum": "drum", "outer ear": "outer-ear", "ear": "cavity"}
SIDE = r"(?:on the (?P<ear>right|left)|on (?P<both>both sides))"
ARTICLE = re.compile(r"\b(?:a|an) ", re.IGNORECASE)
WHEN = r"(?P<when>before the work |after the work )?"
DOUBT = r"(?P<doubt>, suspected, not confirmed)?"
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
    "events": rf"the record notes (?P<list>.+) during or after the work on {EAR}",
    "work-nothing": rf"nothing was done to {EAR}",
    "work-assessed": rf"{EAR} (?:was|were) assessed only",
    "work-complete": rf"the work on {EAR} \((?P<method>.+?)\) was completed(?: \(reason noted: (?P<why>.+)\))?",
    "work-partial": rf"the work on {EAR} \((?P<method>.+?)\) was completed in part{REASON}",
    "work-none": rf"the work on {EAR} \((?P<method>.+?)\) removed nothing{REASON}",
    "work-stopped": rf"the work on {EAR} \((?P<method>.+?)\) was stopped before it was finished{REASON}",
    "work-not-attempted": rf"work on {EAR} \((?P<method>.+?)\) was not attempted{REASON}",
    "work-not-needed": rf"work on {EAR} \((?P<method>.+?)\) was not needed{REASON}",
    "work-unrecorded": rf"how the work on {EAR} \((?P<method>.+?)\) ended is not recorded{REASON}",
    "work-other": rf"the outcome of the work on {EAR} \((?P<method>.+?)\) is recorded as (?P<outcome>.+)",
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
    "part-not-seen": rf"{EARLY}{PARTS_LIST} could not be seen in {EAR}{WHY}",
    "part-not-examined": rf"{EARLY}{PART} was not examined in {EAR}{WHY}",
    "part-partly": rf"{EARLY}{PARTS_LIST} could be seen only in part in {EAR}{WHY}",
    "part-present": rf"{WHEN}{WHERE} (?P<verb>showed|contained|was|were) (?P<list>.+)",
    "part-suspected": rf"the practitioner suspects (?P<list>.+) in {WHERE} \(not confirmed\)",
    "first-suspected": rf"before the work the practitioner suspected (?P<list>.+) in {WHERE} \(not confirmed\)",
    "part-noted": rf"{WHEN}{PART} in {EAR} was noted as “(?P<list>.+)”{DOUBT}",
    "part-words": rf"{PART} in {EAR} is told in the clinic’s own words as well",
    "drum-unrecorded": rf"how the eardrum looked in {EAR} is not recorded",
    "suspected": rf"the practitioner suspects (?P<list>.+) {SIDE} \(not confirmed\)",
    "no-removal": rf"no removal from {EAR} is recorded",
    "left-unsaid": rf"whether any of it is left in {EAR} is not recorded",
    "only-ear": rf"{ONE} is the only hearing ear",
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
    "one ear is the only hearing ear": "caution-only-hearing-ear",
    "which one is not recorded": "caution-only-hearing-ear",
    "the record notes anticoagulant treatment": "caution-anticoagulant",
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
    if what.startswith("caution-"):
        return any(_warned(f, what) for f in evidence.facts)
    return any(what in codes(c) for f in evidence.facts for c in _concepts(f))


def _warned(fact: Fact, what: str) -> bool:
    """Whether it is a caution that stands: neither past nor over."""
    flag = fact.resource
    if fact.type != "Flag" or flag["status"] != "active" or what not in codes(flag["code"]):
        return False
    return not any("assertion-past" in codes(c) for c in flag.get("category", ()))


def _concepts(fact: Fact) -> Iterator[object]:
    for key in ("type", "policyRule", "code"):
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
        if claim.name == "work-unrecorded":
            if (
                not outcome
                and one.resource["status"] == "unknown"
                and squeezed(reason) == squeezed(claim.held.get("why", ""))
            ):
                return True
        elif claim.name == "work-other":
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
    given = {label(w.resource.get("statusReason")) for w in ear.work}
    return _names(claim.held["list"], [e for e in found if e not in none and e not in given])


def _names(text: str, items: list[str]) -> bool:
    """Whether a list names just these, with an article or without."""
    return listed_is(ARTICLE.sub("", text), [ARTICLE.sub("", item) for item in items])


def _some_of(text: str, items: list[str]) -> bool:
    """Whether a list names some of these, in their order, and nothing else."""
    some = (list(c) for n in range(1, len(items) + 1) for c in combinations(items, n))
    return any(_names(text, chosen) for chosen in some)


def _stem(claim: Claim) -> str:
    """The part of the ear that a claim is about: what is contained is not what is shown."""
    if "part" in claim.held:
        return PARTS[claim.held["part"].lower()]
    return "contents" if claim.held.get("verb") == "contained" else PLACES[claim.held["place"].lower().rstrip("s")]


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


def _stems(claim: Claim) -> list[str]:
    return (
        [PARTS[p] for p in re.split(r", | and ", claim.held["parts"].lower())]
        if "parts" in claim.held
        else [_stem(claim)]
    )


def _limit(ear: Ear, claim: Claim, answer: str) -> bool:
    for stem in _stems(claim):
        facts = [f for f in ear.part(stem, ear.stage_of(stem)) if f.answer == answer]
        if not (any(_why(f, claim) for f in facts) and _timely(ear, stem, "early" in claim.held)):
            return False
    return True


def _partly_seen(ear: Ear, claim: Claim) -> bool:
    for stem in _stems(claim):
        facts = ear.part(stem, ear.stage_of(stem))
        views = [f for f in facts if "drum-view-partly" in codes(f.resource.get("valueCodeableConcept"))]
        if not (any(_why(f, claim) for f in views) and _timely(ear, stem, "early" in claim.held)):
            return False
    return True


def _found(ear: Ear, claim: Claim) -> bool:
    """What a part showed at the last look, or at the first one only where it is said that it was before the work."""
    when, doubt = claim.held.get("when", "").strip().lower(), "suspected" if "doubt" in claim.held else ""
    stems = [_stem(claim)]
    if claim.name.endswith("-suspected"):
        doubt, when = "suspected", "before the work" if claim.name.startswith("first") else ""
        stems += ["contents"] * (stems == ["canal"])  # doubt says `in the canal` of the wall and of what is in it
    return any(_found_in(ear, claim, stem, doubt, when) for stem in stems)


def _found_in(ear: Ear, claim: Claim, stem: str, doubt: str, when: str) -> bool:
    last, words = ear.stage_of(stem), claim.held["list"]
    if when == "before the work":
        later = [*ear.labels(stem, "after", doubt), *(ear.labels(stem, "after", "") if doubt else [])]
        return _some_of(words, [f for f in ear.labels(stem, "before", doubt) if f not in later])
    if when == "after the work" and last != "after":
        return False
    return _some_of(words, ear.labels(stem, last, doubt)) and _timely(ear, stem, False)


def _strange(ear: Ear) -> bool:
    """Whether a foreign body was seen before the work, and nobody tells of the canal's contents afterwards."""
    held = {
        c for f in ear.part("contents", "before") if not f.doubt for c in codes(f.resource.get("valueCodeableConcept"))
    }
    return bool(held & FOREIGN) and not ear.part("contents", "after")


FOREIGN = {
    "contents-foreign-body", "contents-cotton-wool", "contents-earplug", "contents-plant", "contents-bead",
    "contents-hearing-aid-part", "contents-impression-material", "contents-battery", "contents-insect",
    "contents-tube-loose",
}  # fmt: skip


def _removed(ear: Ear) -> bool:
    ended = [w.resource for w in ear.work if w.resource["status"] in ("completed", "stopped")]
    return any("outcome" in work for work in ended)


def _only_ear(ear: Ear) -> bool:
    return any(_warned(f, "caution-only-hearing-ear") for f in ear.facts)


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
    said = [
        label for stem in set(PARTS.values()) for stage in ear.looks for label in ear.labels(stem, stage, "suspected")
    ]
    wanted = [f.label for f in found if not _shown(ear, f)]
    return _names(claim.held["list"], [w for w in wanted if not any(f"{w} ".startswith(f"{label} ") for label in said)])


VERIFIED = "http://terminology.hl7.org/CodeSystem/condition-ver-status"


def _shown(ear: Ear, condition: Fact) -> bool:
    """Whether a suspected finding is its evidence, which the sentences tell themselves."""
    urls = [d.get("reference") for e in condition.resource.get("evidence", ()) for d in e.get("detail", ())]
    return any(ear.evidence.by_url[u].doubt == "suspected" for u in urls if u in ear.evidence.by_url)


def _partly(view: Fact | None) -> bool:
    return view is not None and "view-partial" in codes(view.resource.get("valueCodeableConcept"))


def _told_stems(claim: Claim) -> set[str]:
    found = set(_stems(claim)) if claim.held.keys() & {"parts", "part", "place"} else set()
    return found | ({"contents"} if claim.name.endswith("-suspected") and "canal" in found else set())


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
    **dict.fromkeys((*OUTCOMES, "work-other", "work-unrecorded"), _worked),
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
    "part-present": _found,
    "part-noted": _found,
    "part-suspected": _found,
    "first-suspected": _found,
    "no-removal": lambda e, c: _strange(e) and not _removed(e),
    "left-unsaid": lambda e, c: _strange(e) and bool(e.work),
    "only-ear": lambda e, c: _only_ear(e),
    "part-words": _in_words,
    "drum-unrecorded": lambda e, c: not e.part("drum", "before") and not e.part("drum", "after"),
    "suspected": _suspected,
}  # fmt: skip


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
            found = {stem for c in mine for stem in _told_stems(c)}
            plain = [
                f
                for f in ear.part(stem, stage)
                if f.doubt in ("", "suspected", "unread") and (f.label or f.answer or f.words)
            ]
            plain = [f for f in plain if f.kind != "drum-view" or f.limited]
            whole = ear.view(stage) if stage == ear.last else None
            hidden = {whole.answer} if whole and whole.limited else set()  # told of the ear, so of its parts
            plain = [f for f in plain if not (whole and f.answer in hidden and f.reason in ("", whole.reason))]
            if plain and stem not in found:
                yield f"brief: {stem} of the {name} ear is not told: {[f.phrases() for f in plain]}"
            answers = {f.answer for f in plain} - {""}
            limits = answers - {"normal"}
            wanted = {f"part-{a}" for a in limits or answers}
            about = {c.name for c in mine if stem in _told_stems(c)}
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
