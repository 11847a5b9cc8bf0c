"""Warning signs that no kind of question can ask: degrees, counts, and one ear against the other."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from itertools import pairwise
from typing import Any

from bridge.check.clinical.answers import Answer
from bridge.check.clinical.asked import asked
from bridge.check.clinical.asked.hearing_loss import loss_named, loss_told, signs_of_loss
from bridge.check.clinical.asked.loss_explained import hardly_any_wax, healthy_drum
from bridge.check.clinical.asked.meant import SAID_TO_BE, group, there, told_of
from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import stated, values
from bridge.check.clinical.kinds_record import words_in
from bridge.check.clinical.moments_between import within
from bridge.check.clinical.signs import PRESENT, Signs, named
from bridge.ear_words import Ear
from bridge.phrases.fold import fold
from bridge.visit import EarRecord

SEVERE_SCORE = 7
"""Of ten; 7 to 10 is called severe by common practice."""
ASYMMETRY = Decimal(15)
"""dB at two frequencies next to each other, from memory of NICE NG98."""
_ASYMMETRY_AT = (500, 1000, 2000, 4000, 8000)
_SHUT_PERCENT = 90
_SHUT_WORDS = ("shut", "closed", "occluded", "occluding")
_LARGE_PERCENT = 50
"""Of the pars tensa; common practice."""
_ORIGIN = words_in(
    ("visit.note", "ear.note", "ear.symptoms.note"),
    [
        f"{who} {what}"
        for who in ("chinese", "south east asian", "southeast asian")
        for what in ("origin", "family origin", "family", "heritage", "descent", "ethnicity")
    ]
    + [
        f"{what} {who}"
        for what in ("origin", "family origin", "heritage", "descent", "ethnicity", "family is", "parents are")
        for who in ("chinese", "south east asian", "southeast asian")
    ]
    + ["family from china", "family from hong kong", "family from south east asia", "family from southeast asia"],
)


@asked("ear_pain_severe", fields=("ear.symptoms", "ear.symptoms.severity", "ear.symptoms.score"))
def ear_pain_severe(context: Context) -> Answer:
    """Whether a pain of the ear is called severe or wakes at night; not known where its degree is not told."""
    pains = [one for one in told_of(group("ear-pains"), ("ear.symptoms",), context) if one.said in SAID_TO_BE]
    answers = {_degree(one.concepts, one.item) for one in pains}
    return True if True in answers else None if None in answers or not answers else False


def _degree(concepts: frozenset[str], symptom: Any) -> Answer:
    if not concepts.isdisjoint(group("ear-pains-bad")) or symptom.severity == "severe":
        return True
    if symptom.score is not None:
        return bool(symptom.score >= SEVERE_SCORE)
    return False if symptom.severity else None


@asked("pain_after_severe", fields=("work.pain_after", "work.events", "work.events.severity"))
def pain_after_severe(context: Context) -> Answer:
    """Whether pain was severe after the work: by its score, else by what is said of the pain that happened."""
    for score in values("work.pain_after", context):
        return bool(score >= SEVERE_SCORE)
    pains = told_of(frozenset({"event-pain"}), ("work.events",), context)
    degrees = {one.item.severity for one in pains if one.said in SAID_TO_BE}
    return True if "severe" in degrees else None if None in degrees or not degrees else False


@asked("family_origin_told", fields=("visit.note", "ear.note", "ear.symptoms.note"))
def family_origin_told(context: Context) -> Answer:
    """Yes where a note says in words that the family comes from China or south-east Asia; else not known. It is never
    worked out from anything else."""
    return True if _ORIGIN.answer(context) else None


def _signs_of_worse() -> Signs:
    sided = named(("ear.symptoms", "ear.impressions"), group("losses-one-sided"))
    thresholds = named(("ear.hearing_before.thresholds", "ear.hearing_after.thresholds"), (PRESENT,))
    return frozenset([*signs_of_loss(), *sided, *thresholds])


@asked(
    "loss_worse_than_other_ear",
    fields=(
        "ear.symptoms", "ear.impressions", "visit.reasons", "ear.hearing_before.thresholds",
        "ear.hearing_after.thresholds",
    ),
    about_record=True,
    wakes=_signs_of_worse,
)  # fmt: skip
def loss_worse_than_other_ear(context: Context) -> bool:
    """Whether the record says that this ear hears worse than the other: in words, because the other is said to have no
    loss, or by thresholds."""
    sided = group("losses-one-sided")
    if any(not sided.isdisjoint(there(field, context)) for field in ("ear.symptoms", "ear.impressions")):
        return True
    if context.ear is None or context.record is None:
        return False
    other: Ear = "left" if context.ear == "right" else "right"
    opposite = context.at_ear(other)
    if loss_named(context) and not loss_named(opposite):
        by_reason = not sided.isdisjoint(there("visit.reasons", context))
        if by_reason or loss_told(opposite) is False:
            return True
    return asymmetric_thresholds(context.record, context.other)


def asymmetric_thresholds(record: EarRecord, other: EarRecord | None) -> bool:
    """Whether the first ear's thresholds by air lie 15 dB or more above the other's at two neighbouring frequencies."""
    if other is None:
        return False
    for stage in ("hearing_after", "hearing_before"):
        mine, its = _levels(getattr(record, stage)), _levels(getattr(other, stage))
        if mine and its:
            worse = [f in mine and f in its and mine[f] - its[f] >= ASYMMETRY for f in _ASYMMETRY_AT]
            return any(a and b for a, b in pairwise(worse))
    return False


def _levels(hearing: Any) -> dict[int, Decimal]:
    return {t.frequency: t.level for t in hearing.thresholds if t.conduction == "air"} if hearing else {}


def _signs_of_tinnitus() -> Signs:
    return frozenset(named(("ear.symptoms", "ear.impressions"), group("tinnitus-any") | group("tinnitus-of-concern")))


@asked(
    "tinnitus_of_concern",
    fields=("ear.symptoms", "ear.impressions", "other.symptoms"),
    about_record=True,
    wakes=_signs_of_tinnitus,
)
def tinnitus_of_concern(context: Context) -> bool:
    """Whether tinnitus of this ear is called pulsating, changed or distressing, or denied of the other ear."""
    here = there("ear.symptoms", context) | there("ear.impressions", context)
    if not here.isdisjoint(group("tinnitus-of-concern")):
        return True
    if here.isdisjoint(group("tinnitus-any")):
        return False
    denied = any(one.said == "absent" for one in told_of(group("tinnitus-any"), ("other.symptoms",), context))
    named = not group("tinnitus-any").isdisjoint(there("other.symptoms", context))
    return (denied or "symptom-none" in there("other.symptoms", context)) and not named


_LOOKED_AT = (
    "ear.before.canal.findings", "ear.after.canal.findings", "ear.before.contents.findings",
    "ear.before.drum.findings", "ear.after.drum.findings", "ear.before.outer_ear.findings", "ear.impressions",
)  # fmt: skip


@asked(
    "pain_without_finding",
    fields=("ear.before.drum", "ear.before.canal", "ear.before.wax", "ear.after.drum.findings"),
)
def pain_without_finding(context: Context) -> Answer:
    """Whether drum and canal are described, the drum is healthy, and nothing that explains a pain is recorded."""
    seen = frozenset().union(*(there(field, context) for field in _LOOKED_AT))
    wax_told = bool(values("ear.before.wax.amount", context) or values("ear.before.wax.percent", context))
    if (wax_told and not hardly_any_wax(context)) or not seen.isdisjoint(group("causes-of-pain")):
        return False
    described = there("ear.before.canal.findings", context) or _normal(values("ear.before.canal", context))
    return True if described and healthy_drum(context) else None


def _normal(parts: Iterable[Any]) -> bool:
    return any(part.answer == "normal" for part in parts)


@asked("other_ear_hurts_too", fields=("other.symptoms", "other.impressions"))
def other_ear_hurts_too(context: Context) -> Answer:
    """Whether the opposite ear is recorded to hurt, without a finding of its own that explains it; no where no pain of
    it is recorded. Not known where it hurts and is not described."""
    pains = group("ear-pains")
    if pains.isdisjoint(there("other.symptoms", context) | there("other.impressions", context)):
        return False
    return pain_without_finding(context.at_ear("left" if context.ear == "right" else "right"))


@asked("canal_shut", fields=("ear.before.canal", "ear.before.canal.findings"))
def canal_shut(context: Context) -> Answer:
    """Whether the canal is swollen shut: by its words or its narrowing; a swelling without a degree is not known."""
    swellings = told_of(group("swellings-of-canal"), ("ear.before.canal.findings",), context)
    answers = {_shut(one.term.text, one.item.percent) for one in swellings if one.said in SAID_TO_BE}
    if True in answers or None in answers:
        return True if True in answers else None
    denied = bool(swellings) or _normal(values("ear.before.canal", context))
    denied = denied or not {"canal-normal", "canal-clear", "canal-wide"}.isdisjoint(
        there("ear.before.canal.findings", context)
    )
    return False if denied else None


def _shut(text: str, percent: int | None) -> Answer:
    if percent is not None:
        return percent >= _SHUT_PERCENT
    return True if set(fold(text).split()) & set(_SHUT_WORDS) else None


@asked(
    "irrigation_failed_twice",
    fields=("ear.work.method", "ear.work.outcome", "ear.work.attempts", "visit.reasons", "ear.history"),
)
def irrigation_failed_twice(context: Context) -> Answer:
    """Whether irrigation failed for the second time: tries of today, and an earlier one that the record tells of.

    No where other work on the ear cleared it, or where one try is recorded and an earlier one is denied. Not known
    where the tries are not counted, or the client comes again and nobody says what was tried before.
    """
    works = context.record.work if context.record else ()
    if any("outcome-complete" in _concepts(work.outcome) for work in works):
        return False
    failed = [work for work in works if _fell_short(work)]
    if not failed:
        return None
    tries = sum(max(work.attempts or 1, 1) for work in failed)
    if tries > 1:
        return True
    counted = all(work.attempts is not None for work in failed)
    return False if counted and nothing_before(context) else None


def nothing_before(context: Context) -> bool:
    """Whether the ear's history is said to be empty."""
    return any("past-none" in one.concepts and one.said != "absent" for one in stated("ear.history", context))


def _concepts(term: Any) -> frozenset[str]:
    from bridge.fhir.systems import OWN

    return frozenset(c.code for c in term.codings if c.system == OWN) if term is not None else frozenset()


def _signs_of_infection() -> Signs:
    return frozenset(named(("ear.history",), group("infections-of-canal") | group("infections-not-sure")))


@asked("infection_before_named", fields=("ear.history",), about_record=True, wakes=_signs_of_infection)
def infection_before_named(context: Context) -> bool:
    """Whether the ear's history names an infection."""
    before = group("infections-of-canal") | group("infections-not-sure")
    return any(one.said != "absent" for one in told_of(before, ("ear.history",), context))


@asked("infections_listed", fields=("ear.history",), about_record=True, wakes=_signs_of_infection)
def infections_listed(context: Context) -> bool:
    """Whether the ear's history lists infections of the canal often enough to be counted: as often as 3 times."""
    listed = told_of(group("infections-of-canal"), ("ear.history",), context)
    return sum(one.said != "absent" for one in listed) >= min(_MANY.values())


@asked("infections_many", fields=("ear.history", "ear.history.date", "ear.impressions"))
def infections_many(context: Context) -> Answer:
    """Whether the canal was infected 3 times in 6 months or 4 times in 12, this visit's infection counted.

    An infection without a date, or of a part that is not told, may be one of them and may stand for several.
    """
    now = not there("ear.impressions", context).isdisjoint(group("infections-of-canal"))
    sure, maybe = {6: int(now), 12: int(now)}, False
    of_canal = group("infections-of-canal")
    for one in told_of(of_canal | group("infections-not-sure"), ("ear.history",), context):
        if one.said == "absent":
            continue
        date = one.item.date or one.item.ended
        for months in sure:
            recent = within(date, context.visit.start, {"months": months}) if date else None
            if recent and not one.concepts.isdisjoint(of_canal):
                sure[months] += 1
            elif recent is not False:
                maybe = True
    if sure[6] >= _MANY[6] or sure[12] >= _MANY[12]:
        return True
    return None if maybe or not _denied(context) else False


_MANY = {6: 3, 12: 4}


def _denied(context: Context) -> bool:
    told = told_of(group("infections-of-canal") | group("infections-not-sure"), ("ear.history",), context)
    return bool(told) or nothing_before(context)


_DRUM_IN = ("ear.before.drum.findings", "ear.after.drum.findings", "ear.impressions")


@asked("perforation_large_or_recurrent", fields=(*_DRUM_IN, "ear.history"))
def perforation_large_or_recurrent(context: Context) -> Answer:
    """Whether a hole is large by its words or its size, or came back after one that closed.

    Not known where neither its size nor the past is told.
    """
    holes = [one for one in told_of(group("perforations"), _DRUM_IN, context) if one.said in SAID_TO_BE]
    if not holes:
        return None
    if any(not one.concepts.isdisjoint(group("perforations-large")) for one in holes):
        return True
    past = told_of(group("perforations"), ("ear.history",), context)
    if any(one.said != "absent" and one.item.ended for one in past):
        return True
    sizes = [percent for one in holes if (percent := getattr(one.item, "percent", None)) is not None]
    amounts = {c for one in holes if getattr(one.item, "amount", None) for c in _concepts(one.item.amount)}
    if any(size >= _LARGE_PERCENT for size in sizes) or "amount-large" in amounts:
        return True
    small = bool(sizes) or bool(amounts) or any("drum-perforation-pinhole" in one.concepts for one in holes)
    never_before = nothing_before(context) or any(one.said == "absent" for one in past)
    return False if small and never_before else None


@asked("object_came_out", fields=("ear.work", "ear.after.contents.findings"))
def object_came_out(context: Context) -> Answer:
    """Whether a foreign body came out: nothing is left in the ear, or its own removal was complete. No where one is
    named afterwards, or nothing is told of what is left and no work was complete. Not known where other work than its
    own removal was."""
    left = there("ear.after.contents.findings", context)
    if not left.isdisjoint(group("objects-seen")):
        return False
    if "contents-none" in left or _normal(values("ear.after.contents", context)):
        return True
    complete = [work for work in values("ear.work", context) if "outcome-complete" in _concepts(work.outcome)]
    if any("method-foreign-body" in _concepts(work.method) for work in complete):
        return True
    return None if complete else False


@asked(
    "irrigation_fell_short",
    fields=("ear.work.method", "ear.work.outcome"),
    about_record=True,
)
def irrigation_fell_short(context: Context) -> bool:
    """Whether an irrigation of the ear is recorded that did not clear it."""
    works = context.record.work if context.record else ()
    return any(_fell_short(work) for work in works)


def _fell_short(work: Any) -> bool:
    water = not _concepts(work.method).isdisjoint(group("removals-with-water"))
    return water and not _concepts(work.outcome).isdisjoint(group("outcomes-short"))


_OF_SKULL = (
    "ear.symptoms", "ear.impressions", "ear.before.contents.findings", "ear.before.outer_ear.findings",
    "ear.before.drum.findings",
)  # fmt: skip


def _signs_of_skull() -> Signs:
    injured = named(("visit.reasons", *_OF_SKULL), group("injuries-of-head"))
    return frozenset([*injured, *named(_OF_SKULL, group("bruises-behind-ear"))])


@asked("skull_injury_raised", fields=("visit.reasons", *_OF_SKULL), about_record=True, wakes=_signs_of_skull)
def skull_injury_raised(context: Context) -> bool:
    """Whether the record tells of an injured head and blood, fluid or a bruise of the ear, or of a bruise alone."""
    here = frozenset().union(*(there(field, context) for field in _OF_SKULL))
    if not here.isdisjoint(group("bruises-behind-ear")):
        return True
    injured = here | there("visit.reasons", context)
    return not injured.isdisjoint(group("injuries-of-head")) and not here.isdisjoint(group("signs-of-skull-injury"))
