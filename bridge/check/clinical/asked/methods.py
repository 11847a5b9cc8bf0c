"""What was done to an ear, and what is known of that ear wherever a record may say it."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from bridge.check.clinical.answers import Answer
from bridge.check.clinical.asked import asked
from bridge.check.clinical.context import VISIT, Context
from bridge.check.clinical.fields import Stated, said_in, stated, values
from bridge.check.clinical.moments_between import within
from bridge.check.clinical.signs import ABSENT, UNCODED, Signs, named
from bridge.ear_words import EARS
from bridge.phrases.fold import fold

_NOT_DONE = frozenset({"outcome-not-attempted", "outcome-not-needed"})


def _signs_of_done(means: Collection[str], unclear: Collection[str] = (), **more: Any) -> Signs:
    return frozenset(named(("work.method",), (ABSENT, UNCODED, *means, *unclear)))


@asked(
    "done_with",
    ("work.method", "work.instruments", "work.suction", "work.irrigation", "work.outcome"),
    ("means", "unclear", "instruments", "sign"),
    wakes=_signs_of_done,
)
def done_with(
    context: Context,
    means: Collection[str],
    unclear: Collection[str] = (),
    instruments: Collection[str] = (),
    sign: str = "",
) -> Answer:
    """Whether the work was done with one of these methods; no where it was not attempted.

    A method of `unclear`, or one that no term map knows, could be any: then one of the `instruments`, or settings
    recorded in the field `sign` (suction, irrigation), say yes.
    """
    if context.work is None:
        return None
    if any(not one.concepts.isdisjoint(_NOT_DONE) for one in stated("work.outcome", context)):
        return False
    method = frozenset[str]().union(*(one.concepts for one in stated("work.method", context)))
    if not method.isdisjoint(means):
        return True
    if method and method.isdisjoint(unclear):
        return False
    with_these = any(not one.concepts.isdisjoint(instruments) for one in stated("work.instruments", context))
    return True if with_these or (sign and getattr(context.work, sign) is not None) else None


def _ear_done_with(context: Context, means: Collection[str], unclear: Collection[str]) -> Answer:
    """Whether any work on the ear was done with one of these methods; not known where no work is recorded."""
    works = context.record.work if context.record else ()
    answers = [_done(context, n, means, unclear) for n in range(len(works))]
    if True in answers:
        return True
    return None if None in answers or not answers else False


def _done(context: Context, number: int, means: Collection[str], unclear: Collection[str]) -> Answer:
    assert context.record is not None
    work = context.record.work[number]
    return done_with(context.at_item(work, "", work, ""), means, unclear)


_NO_HISTORY = ("past-none",)
_NO_CAUTIONS = ("caution-none",)
_TODAY = (
    "ear.before.drum.findings", "ear.before.canal.findings", "ear.before.contents.findings",
    "ear.before.mastoid_cavity.findings", "ear.impressions", "ear.symptoms",
)  # fmt: skip
_LOOKED_AT = (
    "ear.before.drum", "ear.before.canal", "ear.before.contents", "ear.before.mastoid_cavity", "ear.impressions",
    "ear.symptoms",
)  # fmt: skip
_OPTIONS = ("means", "whole", "now", "ended_words", "within", "recent", "one_side", "none")
_DENIED = "denied"
Told = Answer | str


@asked("seen_or_known", (*_LOOKED_AT, "ear.history", "visit.cautions"), _OPTIONS)
@asked("known_of_ear", ("ear.history", "visit.cautions", *_LOOKED_AT), _OPTIONS)
def told_of_ear(
    context: Context,
    means: Collection[str],
    whole: Collection[str] = (),
    now: bool = False,
    ended_words: Collection[str] = (),
    within: Mapping[str, int] | None = None,
    recent: Collection[str] = (),
    one_side: bool = False,
    none: Collection[str] = _NO_HISTORY,
) -> Answer:
    """Whether one of these meanings is told of the ear: seen or thought today, in its history, or as a caution.

    What is seen today decides where it says yes, or no (a term of `whole`, or a drum called normal where there are
    any). After that the history: of what is asked for `now`, an item that ended (or whose words say so) says no, and
    one that is merely past says nothing; with `within`, only an item of that time counts, or one of `recent`, which
    says so itself. A term of `none` (no history) says no, unless something is told all the same. A caution of the
    other ear says nothing of this one, unless it can be only one of the two (`one_side`): then no. One without a side
    is not known to be of this ear.
    """
    wanted = frozenset(means)
    today = set(_today(context, wanted, frozenset(whole)))
    if today:
        return True if today == {True} else False if today == {False} else None
    lasting = _Lasting(wanted, frozenset(none), now, frozenset(ended_words), within, frozenset(recent))
    return _put_together({*lasting.told(context), *_cautions(context, lasting, one_side)})


def _put_together(told: set[Told]) -> Answer:
    """Yes where something says so and nothing denies that very thing."""
    if True in told:
        return None if _DENIED in told else True
    return None if None in told or not told else False


def _today(context: Context, means: frozenset[str], whole: frozenset[str]) -> Iterator[Answer]:
    fields = [field for field in _TODAY if not (means | whole).isdisjoint(said_in(field, context).all)]
    for one in (found for field in fields for found in stated(field, context)):
        if not one.concepts.isdisjoint(means) and one.said != "past":
            yield {"present": True, "absent": False}.get(one.said)
        elif not one.concepts.isdisjoint(whole) and one.said == "present":
            yield False
    if whole and any(part.answer == "normal" for part in values("ear.before.drum", context)):
        yield False


@dataclass(slots=True)
class _Lasting:
    """What to look for in the history of an ear."""

    means: frozenset[str]
    none: frozenset[str]
    now: bool
    ended_words: frozenset[str]
    window: Mapping[str, int] | None
    recent: frozenset[str]

    def told(self, context: Context) -> Iterator[Told]:
        for one in stated("ear.history", context):
            if not one.concepts.isdisjoint(self.none) and one.said != "absent":
                yield False
            if not one.concepts.isdisjoint(self.means):
                yield self._one(one, context)

    def _one(self, one: Stated, context: Context) -> Told:
        if one.said == "absent":
            return _DENIED
        if one.said == "suspected":
            return None
        if self.window is not None and one.concepts.isdisjoint(self.recent):
            moment = one.item.ended or one.item.date
            return within(moment, context.visit.start, self.window) if moment else None
        if self.now and (one.item.ended or not self.ended_words.isdisjoint(fold(one.term.text).split())):
            return False
        return None if self.now and one.said == "past" else True


def _cautions(context: Context, lasting: _Lasting, one_side: bool) -> Iterator[Told]:
    if said_in("visit.cautions", context).all.isdisjoint(lasting.none | lasting.means):
        return
    for one in stated("visit.cautions", context):
        if not one.concepts.isdisjoint(lasting.none) and one.said == "present":
            yield False
        if one.concepts.isdisjoint(lasting.means):
            continue
        side = one.item.ear
        if side not in (None, context.ear):
            if one_side and one.said == "present":
                yield False
        elif one.said == "absent":
            yield _DENIED
        else:
            yield True if side and one.said in ("present", "past") else None


@asked(
    "known_of_client",
    ("visit.cautions", "visit.medicines.items", "ear.history", "other.history"),
    ("means", "unclear", "none"),
)
def known_of_client(
    context: Context, means: Collection[str], unclear: Collection[str] = (), none: Collection[str] = _NO_CAUTIONS
) -> Answer:
    """Whether one of these meanings is told of the client, whichever ear it stands with.

    A term of `none` (no cautions) says no; a meaning of `unclear` could be one of them.
    """
    return _put_together(set(_of_client(context, frozenset(means), frozenset(unclear), frozenset(none))))


def _of_client(
    context: Context, means: frozenset[str], unclear: frozenset[str], none: frozenset[str]
) -> Iterator[Told]:
    for field in ("visit.cautions", "visit.medicines.items", "ear.history", "other.history"):
        named = said_in(field, context).all
        if named.isdisjoint(means) and named.isdisjoint(none) and named.isdisjoint(unclear):
            continue
        for one in stated(field, context):
            if not one.concepts.isdisjoint(none) and one.said != "absent":
                yield False
            elif not one.concepts.isdisjoint(means):
                yield {"absent": _DENIED, "suspected": None}.get(one.said, True)
            elif not one.concepts.isdisjoint(unclear) and one.said != "absent":
                yield None


@asked("softener_first", ("visit.softeners", "ear.work.products"), ("means",))
def softener_first(context: Context, means: Collection[str]) -> Answer:
    """Whether a softener was used before the visit or put in at it; no only where it says that none was."""
    listed = [*stated("visit.softeners", context)]
    listed += [
        one for one in stated("ear.work.products", context) if one.item.when in (None, "used before", "used in clinic")
    ]
    if any(not one.concepts.isdisjoint(means) for one in listed):
        return True
    return False if any("product-none" in one.concepts for one in listed) else None


@asked("allergic_to_it", ("visit.allergies", "item.name"), ("pairs",))
def allergic_to_it(context: Context, pairs: Mapping[str, Collection[str]]) -> Answer:
    """Whether an allergy is recorded to the product that is looked at: by `pairs` of product and
    allergies, or by the same words. No where the client is said to have no allergies, or where all that are
    recorded are other ones."""
    allergies = context.visit.allergies
    if allergies is None or allergies.answer == "not asked":
        return None
    if not allergies.items:
        return False
    product = stated("item.name", context)[0]
    to = {allergy for concept in product.concepts for allergy in pairs.get(concept, ())}
    listed = _allergies(context)
    if not listed.concepts.isdisjoint(to) or fold(product.term.text) in listed.words:
        return True
    return None if listed.unknown or not product.concepts else False


@dataclass(frozen=True, slots=True)
class _Allergies:
    """All that the client is allergic to, and whether some of it means nothing that is known."""

    concepts: frozenset[str]
    words: frozenset[str]
    unknown: bool


def _allergies(context: Context) -> _Allergies:
    memo = context.memos[VISIT]
    found: _Allergies | None = memo.get("allergies")
    if found is None:
        listed = stated("visit.allergies.items", context)
        concepts = frozenset[str]().union(*(one.concepts for one in listed))
        words = frozenset(fold(one.term.text) for one in listed)
        found = memo["allergies"] = _Allergies(concepts, words, any(not one.concepts for one in listed))
    return found


@asked("visit_done_with", ("visit.right.work", "visit.left.work"), ("means", "unclear"))
def visit_done_with(context: Context, means: Collection[str], unclear: Collection[str] = ()) -> Answer:
    """Whether any work on either ear was done with one of these methods; not known where no work is recorded."""
    answers = [_ear_done_with(context.at_ear(ear), means, unclear) for ear in EARS if context.visit.ear(ear)]
    if True in answers:
        return True
    return False if False in answers and not _open(context, answers) else None


def _open(context: Context, answers: Sequence[Answer]) -> bool:
    """Whether an ear with work is not told; an ear without work says nothing."""
    worked = [bool(record.work) for ear in EARS if (record := context.visit.ear(ear))]
    return any(answer is None and work for answer, work in zip(answers, worked, strict=True))
