"""What the same words are in two editions, and which of the two says more."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from bridge.audit.broader import is_broader
from bridge.audit.changes.shapes import State
from bridge.fhir.systems import OWN, short_name
from bridge.phrases.fold import fold
from bridge.visit import Term

LESS = "the code says less than the words"
"""How the note of a meaning begins whose code is wider than itself."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What one edition makes of words."""

    own: str
    label: str
    codes: frozenset[tuple[str, str]]
    assertion: str
    """Empty where it is plainly stated."""
    less: bool = False
    """Whether its code says less than the words, by the note beside it."""

    @property
    def coded(self) -> bool:
        return bool(self.own or self.codes)

    @property
    def told(self) -> str:
        """`impacted (sct:18070006)`, with what it is said to be where that is not plainly stated."""
        if not self.coded:
            return "no code"
        codes = " ".join(sorted(f"{short_name(system) or system}:{code}" for system, code in self.codes))
        said = f", {self.assertion}" if self.assertion else ""
        return f"{self.label or self.own}{f' ({codes})' if codes else ''}{said}"


@dataclass(frozen=True, slots=True)
class Known:
    """What the new edition says of earlier ones, and what its own codes mean."""

    not_for_writing: frozenset[tuple[str, str]] = frozenset()
    withdrawn: Sequence[Mapping[str, str]] = ()
    broad: Mapping[tuple[str, str], frozenset[str]] = field(default_factory=dict)
    """By code, the meanings of the new edition whose own code it is, and not one that says less."""


def reading(term: Term, unpublished: str, label: str, less: bool) -> Reading:
    """`unpublished`: the practice's own concept that the words stand for; `label` and `less`: of the concept."""
    own = next((coding.code for coding in term.codings if coding.system == OWN), "")
    codes = frozenset((coding.system, coding.code) for coding in term.codings if coding.system != OWN)
    said = term.assertion if term.assertion not in (None, "present") else ""
    return Reading(own or unpublished, label, codes, said, less)


def state_of(kind: str, words: str, old: Reading, new: Reading, known: Known) -> tuple[State, str]:
    """What became of the reading, and why where that is not plain."""
    if (why := _withdrawn(kind, words, old, known)) and old != new:
        return "was wrong", why
    if banned := (old.codes - new.codes) & known.not_for_writing:
        return "was wrong", f"{_named(banned)} is not to be written by the new edition"
    if (old.own, old.codes, old.assertion) == (new.own, new.codes, new.assertion):
        return "same", ""
    if not old.coded or not new.coded:
        state: State = "coded now" if new.coded else "no longer coded" if old.coded else "different"
        return state, "" if old.assertion == new.assertion or state != "different" else _certainty(old, new)
    if old.assertion != new.assertion:
        return "different", _certainty(old, new)
    if old.own != new.own:
        if is_broader(old.own, new.own):
            return "finer", "the new meaning says more"
        if is_broader(new.own, old.own):
            return "less specific", "the new meaning says less"
        return "different", "another meaning"
    return _other_codes(old, new, known)


def _other_codes(old: Reading, new: Reading, known: Known) -> tuple[State, str]:
    """One meaning under other codes."""
    gone, come = old.codes - new.codes, new.codes - old.codes
    if not gone:
        return "finer", "the meaning has a code of others now"
    if not come:
        return "less specific", "the meaning has lost a code of others"
    if old.less and not new.less:
        return "finer", "the code says as much as the words now"
    if new.less and not old.less:
        return "less specific", "the code says less than the words now"
    if any(is_broader(concept, new.own) for code in gone for concept in known.broad.get(code, ())):
        return "finer", "the old code is that of a wider meaning"
    return "different", "the meaning goes out under another code"


def _certainty(old: Reading, new: Reading) -> str:
    return f"read as {old.assertion or 'stated'} before, as {new.assertion or 'stated'} now"


def _withdrawn(kind: str, words: str, old: Reading, known: Known) -> str:
    """Why the new edition says that this reading was wrong; empty where it does not."""
    named = {f"{short_name(system)}:{code}" for system, code in old.codes}
    for row in known.withdrawn:
        asked = [row[name] for name in ("word", "concept", "code") if row[name]]
        if (
            asked
            and row["kind"] in ("", kind)
            and (not row["word"] or fold(row["word"]) == fold(words))
            and row["concept"] in ("", old.own)
            and (not row["code"] or row["code"] in named)
        ):
            return row["why"] or "withdrawn by the new edition"
    return ""


def _named(codes: frozenset[tuple[str, str]]) -> str:
    return " ".join(sorted(f"{short_name(system) or system}:{code}" for system, code in codes))
