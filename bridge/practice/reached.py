"""Whether a phone number, an e-mail address and the hours that a doctor reads can be what they say they are."""

from __future__ import annotations

import re

_PHONE = re.compile(r"\+?[\d ()./-]+(?:(?:ext|extension|x)\.? ?\d+)?", re.IGNORECASE)
_EMAIL = re.compile(r"[^\s@<>,;()]+@[^\s@<>,;()]+\.[^\s@<>,;().]{2,}")
LEAST_DIGITS, LEAST_HOURS = 5, 4


def phone_problem(text: str) -> str:
    """Why this is no phone number; empty where it can be one."""
    if not _PHONE.fullmatch(text.strip()) or sum(c.isdigit() for c in text) < LEAST_DIGITS:
        return f"is written in digits (at least {LEAST_DIGITS}) and blanks, such as 01632 960111 or +44 1632 960111"
    return ""


def email_problem(text: str) -> str:
    """Why this is no e-mail address; empty where it can be one."""
    return (
        "" if _EMAIL.fullmatch(text.strip()) else "is written with one @ and a dot behind it, such as ask@example.org"
    )


def hours_problem(text: str) -> str:
    """Why these are no hours; empty where they can be."""
    if len(text.strip()) < LEAST_HOURS:
        return "says on which days and from when to when, such as Mon-Fri 9:00-17:00"
    return ""


PROBLEMS = {"phone": phone_problem, "email": email_problem, "hours": hours_problem}
"""By the name of the setting."""
