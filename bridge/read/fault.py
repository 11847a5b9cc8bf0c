"""Why a cell is not what its field needs, before anybody knows where the cell stands."""

from __future__ import annotations

from dataclasses import dataclass

CUT = 60


def cut(text: str) -> str:
    """Words for a message: one line, at most 60 characters."""
    text = " ".join(text.split())
    return text if len(text) <= CUT else text[: CUT - 1] + "…"


@dataclass(frozen=True, slots=True)
class Fault:
    """A rule's code, what was found, and what one answer would mend."""

    rule: str
    message: str
    cause: str = ""
    anywhere: bool = False
    """Whether it is one cause in whatever column it stands."""


class CellError(Exception):
    """A cell that has no value of its field's kind."""

    def __init__(self, rule: str, message: str, cause: str = "") -> None:
        super().__init__(message)
        self.fault = Fault(rule, message, cause)
