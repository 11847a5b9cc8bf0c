"""The first section of a letter while a red flag stands that nobody answered: what needs attention now.

Only flags that ask for the client to be seen at once go in; slower ones stay in the practice's own report. A flag is
never a fact of the visit: the section has words and no entries, and nothing of it is read back.
"""

from __future__ import annotations

from functools import cache

from bridge.build.context import Context
from bridge.clinical_caution import clinical_caution
from bridge.data import load_csv, table_path
from bridge.fhir.tell.words import ear_words, moment, sentence
from bridge.fhir.times import to_datetime
from bridge.referral_tables import last_moment, urgencies
from bridge.shapes import Alert
from bridge.wording import say, translated


def attention(context: Context) -> list[str]:
    """One paragraph for each immediate flag, those without an answer first, and the caution; nothing without any."""
    told = dict.fromkeys(paragraph(a, context) for a in sorted(_immediate(context), key=lambda a: bool(a.answered)))
    return [*told, clinical_caution()] if told else []


def any_open(context: Context) -> bool:
    """Whether the record leaves one of them without a reason."""
    return any(not alert.answered for alert in _immediate(context))


def _immediate(context: Context) -> list[Alert]:
    return [alert for alert in context.alerts if alert.urgency == "immediate"]


def paragraph(alert: Alert, context: Context) -> str:
    """What a letter says of one flag."""
    soon = translated(f"urgency.{alert.urgency}", urgencies()[alert.urgency].words)
    if alert.answered:
        told = [say("alert.answered", soon=soon, reason=sentence(alert.answered))]
    else:
        last = last_moment(context.visit.start, alert.urgency, context.zone)
        told = [
            say("alert.open.by", soon=soon, when=moment(to_datetime(last))) if last else say("alert.open", soon=soon),
            *([say("alert.where-to", services="; ".join(map(_service, alert.to)))] if alert.to else []),
            say("alert.slower" if alert.slower else "alert.not-referred"),
        ]
    return " ".join([_shown(alert), *told, say("alert.source", source=sentence(alert.source))])


def _service(named: str) -> str:
    """A kind of service in the language in force; the rule names it by its label."""
    concept = _services().get(named)
    return translated(f"code.{concept}", named) if concept else named


@cache
def _services() -> dict[str, str]:
    rows = load_csv(table_path("terms", "care.csv"))
    return {row["label"]: row["concept"] for row in rows if row["kind"] == "referral-target"}


def _shown(alert: Alert) -> str:
    """What the record shows, with its ear where the words leave that to the place that a report has beside them."""
    if alert.ear is None:
        return sentence(translated(f"flag.{alert.rule}", alert.words))
    of_the_ear = translated(f"flag.{alert.rule}.{alert.ear}", "")
    if of_the_ear:
        return sentence(of_the_ear)
    words = translated(f"flag.{alert.rule}", alert.words)
    named = f"{alert.ear} ear" in words.casefold()
    return sentence(words if named else say("alert.ear", ear=ear_words(alert.ear), words=words))
