"""Whether a cause in the outer or middle ear explains a hearing loss, judged after clearing (NICE NG98 1.1.2).

Yes: the canal was cleared and the client hears better, or another cause is recorded. No: it was cleared and they hear
no better, the canal was clear and the drum normal all along, or signs point to the nerve. All else is not known.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Literal

from bridge.check.clinical.answers import Answer
from bridge.check.clinical.asked import asked
from bridge.check.clinical.asked.meant import group, there
from bridge.check.clinical.context import EAR, Context
from bridge.check.clinical.fields import stated, values
from bridge.ear_words import EARS
from bridge.visit import EarRecord
from bridge.visit.ear import Hearing

GAIN = Decimal(10)
"""dB on the mean of the frequencies tested twice that count as better hearing; common practice."""
NO_GAIN = Decimal(5)
"""Less than this is no gain: one step of an audiometer. What lies between decides nothing."""

_SEEN_IN = (
    "ear.impressions", "ear.before.drum.findings", "ear.after.drum.findings", "ear.before.canal.findings",
    "ear.after.canal.findings", "ear.before.contents.findings", "ear.after.contents.findings",
)  # fmt: skip
_READS = (
    "ear.impressions", "ear.work.outcome", "ear.hearing_change", "ear.before.wax", "ear.after.wax", "ear.before.drum",
    "ear.after.drum.findings", "ear.before.canal.findings", "ear.after.canal.findings", "ear.before.contents.findings",
    "ear.after.contents.findings", "ear.hearing_before", "ear.hearing_after", "visit.weber", "ear.work.events",
)  # fmt: skip
_SHORT = frozenset({"outcome-partial", "outcome-none", "outcome-stopped", "outcome-not-attempted"})
_HARDLY_ANY = frozenset({"wax-none", "wax-minimal", "wax-not-occluding"})
_HARDLY_ANY_PERCENT = 25
"""Of the lumen: the lowest band of occlusion. So little explains no loss, and no pain."""


@asked("loss_explained", fields=_READS)
def loss_explained(context: Context) -> Answer:
    """Yes, no, or not known: wax still there, nothing said after clearing, answers that contradict each other."""
    memo = context.memos[EAR]
    if "explained" not in memo:
        memo["explained"] = _explained(context)
    answer: Answer = memo["explained"]
    return answer


@asked("loss_left_unexplained", fields=_READS, about_record=True)
def loss_left_unexplained(context: Context) -> bool:
    """Whether the record says that no cause in the outer or middle ear explains the loss."""
    return loss_explained(context) is False


def _explained(context: Context) -> Answer:
    record = context.record
    if context.ear is None:
        return _in_every_ear(context)
    if record is None:
        return None
    seen = frozenset().union(*(there(field, context) for field in _SEEN_IN))
    if not seen.isdisjoint(group("losses-mixed")):
        return None
    cleared = fully_cleared(context)
    gain = heard_better(context) if cleared else None
    forks = _forks(record, context, cleared=bool(cleared), better=gain == "better")
    cause = forks == "conduction" or _causes(context)
    nerve = forks == "nerve" or not seen.isdisjoint(group("losses-of-nerve"))
    if forks == "contradict" or gain == "contradict" or (nerve and (cause or gain == "better")):
        return None
    if nerve or cause:
        return cause
    if gain:
        return gain == "better"
    return False if not cleared and _nothing_to_find(context, seen) else None


def _in_every_ear(context: Context) -> Answer:
    """For a loss that only the reason of the visit tells of: yes where it is explained in every ear with a record."""
    ears = [context.at_ear(ear) for ear in EARS if context.visit.ear(ear) is not None]
    return True if ears and all(loss_explained(ear) for ear in ears) else None


def fully_cleared(context: Context) -> Answer:
    """Whether all wax is out: the last outcome is complete and no wax is left; where no outcome is recorded, wax that
    was there is gone. Not known where outcome and wax contradict each other."""
    outcomes = [one.concepts for one in stated("ear.work.outcome", context)]
    left = _wax(context, "after")
    last = next((o for o in reversed(outcomes) if "outcome-complete" in o or not o.isdisjoint(_SHORT)), None)
    if last is not None:
        complete = "outcome-complete" in last
        return None if left is complete else complete
    return True if left is False and _wax(context, "before") and not outcomes else None


def _wax(context: Context, stage: str) -> Answer:
    """Whether wax was there."""
    amounts = stated(f"ear.{stage}.wax.amount", context)
    percents = values(f"ear.{stage}.wax.percent", context)
    named = [one for one in amounts if one.concepts]
    found = {"wax-none" not in one.concepts for one in named} | {percent > 0 for percent in percents}
    return found.pop() if len(found) == 1 else None


def heard_better(context: Context) -> Literal["better", "none", "contradict", ""]:
    """What clearing did to the hearing, by the client's word and by thresholds before and after."""
    said = frozenset().union(*(one.concepts for one in stated("ear.hearing_change", context)))
    by_word = "better" if "hearing-better" in said else "none" if said & {"hearing-same", "hearing-worse"} else ""
    worse = "event-hearing-worse" in there("ear.work.events", context)
    gain = threshold_gain(context.record)
    by_test = "" if gain is None else "better" if gain >= GAIN else "none" if gain < NO_GAIN else ""
    told = {one for one in (by_word, by_test, "none" if worse else "") if one}
    if len(told) > 1:
        return "contradict"
    return "better" if "better" in told else "none" if told else ""


def threshold_gain(record: EarRecord | None) -> Decimal | None:
    """dB by which the thresholds by air are lower after than before, on the mean of the frequencies tested twice."""
    if record is None or record.hearing_before is None or record.hearing_after is None:
        return None
    before, after = _air(record.hearing_before), _air(record.hearing_after)
    both = before.keys() & after.keys()
    return sum((before[f] - after[f] for f in both), Decimal(0)) / len(both) if both else None


def _air(hearing: Hearing) -> dict[int, Decimal]:
    return {one.frequency: one.level for one in hearing.thresholds if one.conduction == "air"}


def _forks(
    record: EarRecord, context: Context, *, cleared: bool, better: bool
) -> Literal["conduction", "nerve", "contradict", ""]:
    """What Rinne and Weber together point to. After clearing without gain only a test made afterwards counts."""
    before = record.hearing_before.rinne if record.hearing_before else None
    after = record.hearing_after.rinne if record.hearing_after else None
    rinne = after if cleared and not better else before
    weber = context.visit.weber
    if rinne is None or weber in (None, "middle"):
        return ""
    to_this_ear = weber == context.ear
    if rinne == "negative":
        return "conduction" if to_this_ear else "contradict"
    return "contradict" if to_this_ear else "nerve"


def _causes(context: Context) -> bool:
    """Whether a cause is recorded as present; one that is only suspected explains nothing yet."""
    known = group("causes-of-loss")
    present = frozenset().union(
        *(one.concepts for field in _SEEN_IN for one in stated(field, context) if one.said == "present")
    )
    if not present.isdisjoint(known):
        return True
    swollen = not present.isdisjoint(group("swellings-of-canal"))
    return swollen and not present.isdisjoint(group("outer-ear-infections"))


def _nothing_to_find(context: Context, seen: frozenset[str]) -> bool:
    """Whether the canal was clear and the whole drum normal before any work, and nothing speaks of a cause."""
    if not seen.isdisjoint(group("causes-not-sure") | group("causes-of-loss")):
        return False
    partly = any(drum.seen == "partly" for drum in values("ear.before.drum", context))
    partly = partly or "partial" in values("ear.before.view.achieved", context)
    return healthy_drum(context) and not partly and hardly_any_wax(context)


def healthy_drum(context: Context) -> bool:
    """Whether the drum was called normal before any work, or intact and nothing but healthy."""
    if any(drum.answer == "normal" for drum in values("ear.before.drum", context)):
        return True
    named = there("ear.before.drum.findings", context)
    return bool(named & {"drum-normal", "drum-intact"}) and named <= group("signs-of-healthy-drum")


def hardly_any_wax(context: Context) -> bool:
    """Whether the record says that there was no wax before any work, or so little that the canal was free."""
    amounts, percents = there("ear.before.wax.amount", context), values("ear.before.wax.percent", context)
    little = amounts <= _HARDLY_ANY and all(percent <= _HARDLY_ANY_PERCENT for percent in percents)
    return little and bool(amounts or percents)


@asked("hearing_answers_contradict", fields=("ear.hearing_change", "ear.work.events"), about_record=True)
def hearing_answers_contradict(context: Context) -> bool:
    """Whether the client's word on the hearing after clearing, what happened, and the thresholds differ."""
    return heard_better(context) == "contradict"


@asked("hearing_worse_after_work", fields=("ear.hearing_change", "ear.work.events"), about_record=True)
def hearing_worse_after_work(context: Context) -> bool:
    """Whether the record says that the ear hears worse after the work."""
    changed = "hearing-worse" in there("ear.hearing_change", context)
    return changed or "event-hearing-worse" in there("ear.work.events", context)
