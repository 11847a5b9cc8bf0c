"""D: what a referral letter lacks. The urgency is the practitioner's; here it is only asked for its reason."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.referral_onset import check_onset
from bridge.issues import Issue, Where, issue
from bridge.referral_tables import called, rule_id, rule_of, spoken, urgencies
from bridge.visit import Visit
from bridge.visit.care import Referral


def check_referral(visit: Visit) -> list[Issue]:
    """Everything that keeps the referral of a completed, coded visit from being a good letter, all at once.

    Errors for what a receiver cannot do without, warnings for what they should have.
    """
    referral = visit.referral
    if referral is None:
        return []
    found = [
        *_asked(referral),
        *_urgency(referral),
        *check_onset(visit, referral),
        *_ears(visit, referral),
        *_around(visit, referral),
        *_referrer(visit),
        *_client(visit),
    ]
    return [i.at(record=visit.number) for i in found]


def _asked(referral: Referral) -> Iterator[Issue]:
    if referral.question is None:
        yield _lacks("D120", "a question to the receiver", "referral.question")
    if referral.ear is None:
        yield _lacks("D122", "the ear that it is about (or neither)", "referral.ear")


def _urgency(referral: Referral) -> Iterator[Issue]:
    if referral.rule is None:
        code = "D131" if referral.urgency == "routine" else "D121"
        yield _lacks(code, f"the rule by which it is {referral.urgency}", "referral.rule")
    elif rule := rule_of(referral.rule):
        order = list(urgencies())
        if rule.urgency and order.index(referral.urgency) > order.index(rule.urgency):
            message = f"The referral is {referral.urgency}, and {rule.id} asks for {rule.urgency} ({rule.source})."
            yield issue("D132", message, Where(path="referral.urgency"), cause=f"D132:{rule.id}")
    elif named := rule_id(referral.rule):
        message = f"The referral names the rule {named}, which stands in no table."
        yield issue("D133", message, Where(path="referral.rule"), cause=f"D133:{named}")
    if referral.urgency == "immediate":
        yield from _call(referral)


def _call(referral: Referral) -> Iterator[Issue]:
    said = referral.told_by or ""
    if not (called(said) and referral.told_at):
        message = "The referral is immediate, and no call to the receiver is recorded."
        if spoken(said):
            lacks = "it without a moment" if called(said) else "one that did not come about, or is not surely over"
            message = f"{message[:-1]}: the words tell of {lacks}."
        yield issue("D130", message, Where(path="referral.told_by"), cause="D130")
        return
    missing = [
        what for what, said in (("who took it", referral.told_to), ("what was agreed", referral.agreed)) if not said
    ]
    if missing:
        message = f"The referral is immediate, and the call is recorded without {' and '.join(missing)}."
        yield issue("D130", message, Where(path="referral.told_to"), cause=f"D130:{missing}")


def _ears(visit: Visit, referral: Referral) -> Iterator[Issue]:
    for ear in referral.ears:
        record = visit.ear(ear)
        if record is None or not (record.before or record.after):
            yield _lacks("D124", f"what was seen in the {ear} ear", f"{ear}.before")
        if record is None or not record.work:
            yield _lacks("D125", f"what was done on the {ear} ear", f"{ear}.work")


def _around(visit: Visit, referral: Referral) -> Iterator[Issue]:
    missing = [name for name in ("medicines", "allergies") if getattr(visit, name) is None]
    if missing:
        yield _lacks("D126", f"the client's {' and '.join(missing)}", missing[0])
    records = [record for ear in referral.ears if (record := visit.ear(ear))]
    if not visit.cautions and not any(record.history for record in records):
        yield _lacks("D134", "any history of the ear and any standing caution", "cautions")
    if referral.client_told is None:
        yield _lacks("D135", "what the client was told", "referral.client_told")
    if not any(advice.safety_net for advice in visit.advice):
        yield _lacks("D135", "the signs with which the client should seek help sooner", "advice")


def _referrer(visit: Visit) -> Iterator[Issue]:
    if not visit.practitioners:
        yield _lacks("D128", "the practitioner who refers", "practitioners")
        return
    who = visit.practitioners[0]
    needed = {
        "name": who.name,
        "role": who.role,
        "register (or that there is none)": who.registrations or who.no_register,
        "phone (or the clinic's)": who.phone or (visit.clinic and visit.clinic.phone),
        "clinic": visit.clinic,
    }
    missing = [name for name, value in needed.items() if not value]
    if missing:
        yield _lacks("D128", f"the referrer's {' and '.join(missing)}", "practitioners[0]")


def _client(visit: Visit) -> Iterator[Issue]:
    client = visit.client
    reached = client.phones or client.address or any(guardian.phone for guardian in client.guardians)
    needed = {
        "family name": (client.legal_name.family, "client.legal_name.family"),
        "birth date": (client.birth_date, "client.birth_date"),
        "phone or address": (reached, "client.phones"),
    }
    missing = [(name, path) for name, (value, path) in needed.items() if not value]
    if missing:
        yield _lacks("D129", f"the client's {' and '.join(name for name, _ in missing)}", missing[0][1])


def _lacks(code: str, what: str, path: str) -> Issue:
    return issue(code, f"The referral letter lacks {what}.", Where(path=path), cause=f"{code}:{what}")
