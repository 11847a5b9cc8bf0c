"""The table of the ears against the bundle, both ways: every fact in its cell, nothing in a cell without its fact."""

from __future__ import annotations

import re
from collections.abc import Iterator

from tests.letters.evidence import HOURS, Evidence, Fact, code, label, local, words
from tests.letters.spoken import EARS, Spoken, squeezed

SUBJECTS = {
    "the ear": "view", "wax": "wax", "other contents of the canal": "contents", "in the canal": "contents",
    "ear canal": "canal", "eardrum": "drum", "outer ear": "outer-ear", "mastoid cavity": "cavity",
    "note": "note",
}  # fmt: skip
MAIN = {"wax": "wax", "ear canal": "canal", "eardrum": "drum"}
_ONE = "|".join(sorted((*SUBJECTS, "not recorded"), key=len, reverse=True))
_WHEN = r", (?:before and after|before|after) the work"
CLAIM = re.compile(rf"(?:^|(?<=[.?!…] ))((?:{_ONE})(?:(?:, | and )(?:{_ONE}))*)({_WHEN})?: ", re.IGNORECASE)
STAGES = ("before", "after")
QUIET = {
    "not recorded", "not recorded in fields of its own; see the clinic’s own words",
    "no finding; see what could not be seen, below", "nothing of this kind is recorded",
    "no work on this ear is recorded",
}  # fmt: skip


def claims(cell: str) -> tuple[str, list[tuple[list[str], str, str]]]:
    """What stands before the first subject, and each claim: subjects, stage, words."""
    found = list(CLAIM.finditer(cell))
    if not found:
        return cell.strip(), []
    ends = [m.start() for m in found[1:]] + [len(cell)]
    made = []
    for match, end in zip(found, ends, strict=True):
        stage = (match[2] or "").replace(", ", "").replace(" the work", "")
        made.append((re.split(r", | and ", match[1].lower()), stage, cell[match.end() : end].strip()))
    return cell[: found[0].start()].strip(), made


def sayings(words: str) -> list[str]:
    """Parts between semicolons, those in brackets and quotation marks left alone."""
    found, depth, now = [], 0, ""
    for character in words:
        depth += character in "(“"
        depth -= character in ")”"
        if character == ";" and depth <= 0:
            found.append(now.strip())
            now = ""
        else:
            now += character
    return [s for s in (*found, now.strip().rstrip(".")) if s]


def said_of(fact: Fact, saying: str) -> bool:
    """Whether a saying begins with the fact and says nothing but it and its details."""
    text = squeezed(saying)
    phrases = [squeezed(p) for p in fact.phrases() if p]
    start = next((p for p in phrases if text.casefold().startswith(p.casefold())), None)
    if start is None and (fact.label or fact.answer):
        return False
    if start and not fact.doubt and not fact.answer:
        after = text[len(start) :]
        if re.match(r"(suspected,notconfirmed|inthepast)", after):
            return False
    rest = text[len(start or "") :]
    pieces = [*fact.details, *fact.words, fact.reason, local(fact.resource.get("valueCodeableConcept"))]
    for piece in pieces:
        if piece and squeezed(piece.rstrip(".")).casefold() not in text.casefold():
            return False
    rest = re.sub(r"\d+(?:\.\d+)?(?:to\d+(?:\.\d+)?)?o’clock", "", rest) if _has_hours(fact) else rest
    for own in (w for w in (*pieces, *fact.texts) if w):
        rest = re.sub(rf"notedas“{re.escape(squeezed(own))}”", "", rest, flags=re.IGNORECASE)
    for piece in sorted((squeezed(p.rstrip(".")) for p in pieces if p), key=len, reverse=True):
        start, end = r"(?<!\d)" if piece[0].isdigit() else "", r"(?!\d)" if piece[-1].isdigit() else ""
        rest = re.sub(f"{start}{re.escape(piece)}{end}", "", rest, flags=re.IGNORECASE)
    return not re.search(r"\w", rest)


def _covered(fact: Fact, saying: str, facts: list[Fact]) -> bool:
    """Whether another fact says the same and more: `could not be seen (wax)` says `could not be seen`."""
    text = squeezed(saying).casefold()
    begins = any(p and text.startswith(squeezed(p).casefold()) for p in fact.phrases())
    held = all(squeezed(p.rstrip(".")).casefold() in text for p in (*fact.details, *fact.words, fact.reason) if p)
    return begins and held and any(said_of(o, saying) for o in facts if o is not fact and o.stem == fact.stem)


def _has_hours(fact: Fact) -> bool:
    return any(code(c.get("code")) in HOURS for c in fact.resource.get("component", ()))


def table_faults(evidence: Evidence, said: Spoken) -> Iterator[str]:
    if not said.ears:
        return
    for ear in EARS:
        for stage in STAGES:
            yield from _stage(evidence, said, ear, stage)
        yield from _limits(evidence, said, ear)
        yield from _done(evidence, said, ear)


def _stage(evidence: Evidence, said: Spoken, ear: str, stage: str) -> Iterator[str]:
    place, cell = f"{ear} {stage}", said.ears[stage, ear]
    looked = evidence.looked(ear, stage)
    seen = [f for f in looked if not f.limited]
    lead, told = claims(cell)
    if not looked:
        plain = cell.rstrip(".").lower() in QUIET - {"no finding; see what could not be seen, below"}
        own = [f for f in evidence.of("Observation", ear) if f.kind == "ear-note"]
        noted = stage == "before" and own and cell.lower().startswith("in the clinic’s own words")
        if not (plain or noted):
            yield f"{place}: nothing is recorded, but it reads: {cell}"
        return
    if not seen:
        view = [f for f in looked if f.stem == "view"]
        wanted = view[0].phrases()[0] if view else "no finding; see what could not be seen, below"
        if not cell.lower().startswith(wanted) or told:
            yield f"{place}: only limits are recorded, but it reads: {cell}"
        return
    if cell.rstrip(".").lower() in QUIET:
        yield f"{place}: something is recorded, but it reads: {cell}"
        return
    silent = [text for subjects, _, text in told if "not recorded" in subjects]
    if len(silent) > 1:
        yield f"{place}: two lines of what is not recorded"
    if silent:
        listed = re.split(r", | and ", silent[0].rstrip(". ").lower())
        missing = [name for name, stem in MAIN.items() if not any(f.stem == stem for f in looked)]
        if listed != missing:
            yield f"{place}: not recorded are {missing}, told are {listed}"
    elif not any(f.stem == "view" and f.limited for f in looked):
        for name, stem in MAIN.items():
            if not any(f.stem == stem for f in looked):
                yield f"{place}: it does not say that {name} is not recorded"
    for subjects, _, text in told:
        for subject in subjects:
            if subject == "not recorded":
                continue
            yield from _claim(place, subject, [f for f in seen if f.stem == SUBJECTS[subject]], text)
    for fact in seen:
        if not any(
            SUBJECTS.get(subject) == fact.stem
            and any(said_of(fact, s) or _covered(fact, s, seen) for s in sayings(text))
            for subjects, _, text in told
            for subject in subjects
        ):
            yield f"{place}: {fact.kind} “{fact.phrases()[0]}” {fact.details} {fact.words} is not said in: {cell}"
    if re.search(r"\w", lead):
        yield f"{place}: begins with what no element says: {lead}"


def _claim(place: str, subject: str, facts: list[Fact], words: str) -> Iterator[str]:
    for saying in sayings(words):
        if not any(said_of(fact, saying) for fact in facts):
            yield f"{place}: no element says of {subject}: {saying}"


def _limits(evidence: Evidence, said: Spoken, ear: str) -> Iterator[str]:
    cell = said.ears["limits", ear]
    lead, told = claims(cell)
    limits = [f for stage in STAGES for f in evidence.looked(ear, stage) if f.limited]
    about = [f for f in evidence.facts if f.ear == ear]
    if lead.rstrip(".").lower() not in (QUIET if not limits else {""}):
        yield f"{ear} limits: reads {cell}"
    if not limits and about and lead.lower() == "not recorded":
        yield f"{ear} limits: something is recorded, but it reads {cell}"
    if not limits and not about and lead.lower() != "not recorded":
        yield f"{ear} limits: nothing is recorded, but it reads {cell}"
    for subjects, stage, text in told:
        for subject in subjects:
            for when in stage.split(" and "):
                mine = [f for f in limits if f.stage == when and f.stem == SUBJECTS.get(subject)]
                yield from _claim(f"{ear} limits {when}", subject, mine, text)
    for fact in limits:
        mine = [t for subjects, stage, t in told if fact.stage in stage and fact.stem in map(SUBJECTS.get, subjects)]
        if not any(said_of(fact, s) or _covered(fact, s, limits) for text in mine for s in sayings(text)):
            yield f"{ear} {fact.stage}: {fact.kind} {fact.answer} ({fact.reason}) is not among the limits: {cell}"


ENDS = {"completed": "done", "stopped": "stopped before it was finished", "not-done": "not done",
        "unknown": "how it ended is not recorded"}  # fmt: skip


def _done(evidence: Evidence, said: Spoken, ear: str) -> Iterator[str]:
    cell = said.ears["done", ear]
    text = squeezed(cell).casefold()
    work = evidence.work(ear)
    changes = [f for f in evidence.of("Observation", ear) if f.kind == "hearing-change"]
    if not work and not changes:
        if cell.rstrip(".").lower() not in QUIET - {"no finding; see what could not be seen, below"}:
            yield f"{ear} done: nothing was done, but it reads: {cell}"
        return
    ends = []
    for one in work:
        outcome, reason = one.resource.get("outcome"), label(one.resource.get("statusReason"))
        told = f"Outcome: {label(outcome) if outcome else ENDS[one.resource['status']]}"
        ends.append(squeezed(told).casefold())
        nothing = not outcome and "nothingwasdone" in text
        wanted = [label(one.resource.get("code")), "" if nothing else told, reason]
        yield from (f"{ear} done: {w!r} is missing: {cell}" for w in wanted if w and squeezed(w).casefold() not in text)
        for fact in evidence.beside(one):
            yield from _in_cell(f"{ear} done", fact, cell)
    for end in re.findall(r"Outcome: [^.(;]*", cell):
        if not any(squeezed(end).casefold().startswith(e[: len(squeezed(end))]) for e in ends):
            yield f"{ear} done: no element says {end}"
    for fact in changes:
        yield from _in_cell(f"{ear} done", fact, cell)
    facts = [*changes, *work, *(f for one in work for f in evidence.beside(one))]
    pieces = [p for f in facts for p in (*f.phrases(), *f.details, *f.words, *f.texts, f.label, f.reason)]
    pieces += [label(c) for f in facts for c in _concepts(f)] + [local(c) for f in facts for c in _concepts(f)]
    known = set(words(" ".join((*pieces, *DONE_WORDS))))
    if left := [w for w in words(cell) if w not in known]:
        yield f"{ear} done: no element says {left}: {cell}"


def _concepts(fact: Fact) -> Iterator[dict[str, object]]:
    for held in fact.resource.values():
        for one in held if isinstance(held, list) else [held]:
            if isinstance(one, dict) and ("coding" in one or "text" in one):
                yield one


def _in_cell(place: str, fact: Fact, cell: str) -> Iterator[str]:
    text = squeezed(cell).casefold()
    if any(fact.phrases()) and not any(squeezed(p).casefold() in text for p in fact.phrases()):
        yield f"{place}: {fact.kind or fact.type} “{fact.phrases()[0]}” is missing: {cell}"
    for piece in (*fact.details, *fact.words):
        if piece and squeezed(piece.rstrip(".")).casefold() not in text:
            yield f"{place}: {piece!r} of {fact.kind or fact.type} is missing: {cell}"


DONE_WORDS = (
    "outcome:", "reason:", "noted as", "why this method:", "instrument:", "event:", "settings:", "tolerance:",
    "pain from 0 to 10:", "before the work", "worst during the work", "after the work", "note:", "product:",
    "hearing afterwards, as the client reports it:", "nothing was done", "done", "stopped before it was finished",
    "not done", "how it ended is not recorded", "but the entry is marked as", "used in clinic", "supplied", "advised",
    "used before", "from", "batch", "expires", "work without a name", "not taken", "not given", "stopped",
    "suspected, not confirmed", "that is, not present", "in the past", "the practitioner’s own words", "medicine:",
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
    "december", "looked normal", "told as past",
)  # fmt: skip
