"""The first section of a letter while a red flag stands that nobody answered: what needs attention now.

Only flags that ask for the client to be seen at once go in; slower ones stay in the practice's own report. A flag is
never a fact of the visit: the section has words and no entries, and nothing of it is read back.
"""

from __future__ import annotations

from bridge.build.context import Context
from bridge.clinical_caution import CAUTION
from bridge.fhir.tell.words import moment, sentence
from bridge.fhir.times import to_datetime
from bridge.referral_tables import last_moment, urgencies
from bridge.shapes import Alert


def attention(context: Context) -> list[str]:
    """One paragraph for each immediate flag, those without an answer first, and the caution; nothing without any."""
    told = dict.fromkeys(_told(a, context) for a in sorted(_immediate(context), key=lambda a: bool(a.answered)))
    return [*told, CAUTION] if told else []


def any_open(context: Context) -> bool:
    """Whether the record leaves one of them without a reason."""
    return any(not alert.answered for alert in _immediate(context))


def _immediate(context: Context) -> list[Alert]:
    return [alert for alert in context.alerts if alert.urgency == "immediate"]


def _told(alert: Alert, context: Context) -> str:
    soon = urgencies()[alert.urgency].words
    if alert.answered:
        told = f"This was noted as a red flag: the rule asks that the client be seen {soon}. No referral was made."
        told += f" The reason recorded: {sentence(alert.answered)}"
    else:
        referred = "The referral recorded is slower than that." if alert.slower else "No referral is recorded."
        told = f"The rule asks that the client be seen {soon}{_by_when(alert, context)}.{_where_to(alert)} {referred}"
    return f"{_shown(alert)} {told} Source: {sentence(alert.source)}"


def _where_to(alert: Alert) -> str:
    return f" Where to: {'; '.join(alert.to)}." if alert.to else ""


def _shown(alert: Alert) -> str:
    """What the record shows, with its ear where the words leave that to the place that a report has beside them."""
    named = alert.ear is None or f"{alert.ear} ear" in alert.words.casefold()
    return sentence(alert.words if named else f"{alert.ear} ear: {alert.words}")


def _by_when(alert: Alert, context: Context) -> str:
    """The last moment, counted from the visit, where its start is known well enough."""
    last = last_moment(context.visit.start, alert.urgency, context.zone)
    return f", by {moment(to_datetime(last))}" if last else ""
