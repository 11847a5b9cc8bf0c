"""Tells what is to be said of a code that is where it should be."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.issues import Issue, Where, issue
from bridge.terminology.answers import Answer, named


def remarks(answer: Answer, system: str, code: str, where: Where) -> Iterator[Issue]:
    """T: the code is out of use, or goes by another name than the one beside it (which is not quoted)."""
    if answer.inactive:
        told = f"The code {named(code)} of {named(system)} is no longer in use."
        yield issue("T205", told, where, cause=f"T205:{system}:{code}")
    if answer.display_wrong:
        told = (
            f"The code {named(code)} of {named(system)} is called “{named(answer.display_wrong)}”, not as it says here."
        )
        yield issue("T206", told, where, cause=f"T206:{system}:{code}")
