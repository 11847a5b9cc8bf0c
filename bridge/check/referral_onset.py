"""D123: a referral for hearing loss or pain says since when, and how fast it came on."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.ear_words import EARS
from bridge.issues import Issue, Where, issue
from bridge.phrases.fold import fold
from bridge.referral_tables import has_word, rule_of, words
from bridge.visit import Term, Visit
from bridge.visit.care import Referral
from bridge.visit.ear import Symptom

_BEFORE = 3
"""Words before a symptom among which a denial takes it back."""


def check_onset(visit: Visit, referral: Referral) -> Iterator[Issue]:
    """Issues for each such symptom of its ears that lacks one, and where none is recorded and the reason is one.

    Where it names no ear and the reason is one, the symptoms of either count.
    """
    about, reason = False, _reason_is(visit, referral)
    for ear in referral.ears or (EARS if reason else ()):
        record = visit.ear(ear)
        for number, symptom in enumerate(record.symptoms if record else ()):
            if not _is_meant(symptom.term):
                continue
            about = True
            if missing := _missing(symptom):
                message = f"The referral letter lacks {' and '.join(missing)} of a symptom of the {ear} ear."
                yield issue("D123", message, Where(path=f"{ear}.symptoms[{number}]"), cause=f"D123:{missing}")
    if reason and not about:
        whose = "its ear" if referral.ears else "either ear"
        path = f"{referral.ears[0]}.symptoms" if referral.ears else "referral.reason"
        message = f"The referral is about hearing loss or pain, and no such symptom of {whose} is recorded."
        yield issue("D123", message, Where(path=path), cause="D123:none")


def _is_meant(term: Term) -> bool:
    concepts = words("symptom")
    if term.assertion in ("absent", "past"):
        return False
    return any(coding.code in concepts for coding in term.codings) or _says(term.text)


def _missing(symptom: Symptom) -> list[str]:
    told = fold(f"{symptom.term.text} {symptom.note or ''}")
    unknown = has_word(told, "not-known")
    lacks_onset = symptom.onset is None and not unknown
    lacks_speed = symptom.developed_over is None and not unknown and not has_word(told, "speed")
    return [*(["the onset"] if lacks_onset else []), *(["the speed"] if lacks_speed else [])]


def _reason_is(visit: Visit, referral: Referral) -> bool:
    rule = rule_of(referral.rule or "")
    return bool(rule and rule.onset) or _says(referral.reason) or any(map(_is_meant, visit.reasons))


def _says(text: str) -> bool:
    """Whether the words name such a symptom and do not deny it."""
    said = fold(text).split()
    for named in words("reason"):
        size = len(named.split())
        for at in range(len(said) - size + 1):
            before = set(said[max(at - _BEFORE, 0) : at])
            if " ".join(said[at : at + size]) == named and not before & words("denied"):
                return True
    return False
