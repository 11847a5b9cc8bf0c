"""Yes, no and not known, put together by Kleene's logic: what is not known stays so unless the rest decides."""

from __future__ import annotations

from collections.abc import Iterable

Answer = bool | None
"""True: yes; False: no; None: not recorded, or told both ways."""


def all_of(answers: Iterable[Answer]) -> Answer:
    """No where one is no, yes where all are yes, else not known. Stops at the first no."""
    known: Answer = True
    for answer in answers:
        if answer is False:
            return False
        if answer is None:
            known = None
    return known


def any_of(answers: Iterable[Answer]) -> Answer:
    """Yes where one is yes, no where all are no, else not known. Stops at the first yes."""
    known: Answer = False
    for answer in answers:
        if answer is True:
            return True
        if answer is None:
            known = None
    return known


def negated(answer: Answer) -> Answer:
    """The other answer; what is not known stays so."""
    return None if answer is None else not answer
