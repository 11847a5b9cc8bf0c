"""One visit without who it is about, field by field."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from pydantic import BaseModel, ValidationError

from bridge.deidentify.client import client_key
from bridge.deidentify.dates import moved, offset_of
from bridge.deidentify.keyed import Keyed
from bridge.deidentify.redaction import GONE, Redaction, folded, names
from bridge.deidentify.table import actions, row_of
from bridge.deidentify.wishes import Wishes
from bridge.visit import Term, Visit
from bridge.visit.base import Measure, Size

Known = Callable[[str, Term], bool]
"""Whether the words of the term at a path are words of the tables, and of nothing else."""
Shared = Callable[[str, str], bool]
"""Whether a code of a system is one that everybody may know: no number of a clinic's own."""

_WHOLE = (Measure, Size)
_SHORT, _LONG = 200, 20_000
"""Characters of the two kinds of words in a visit."""
_RULE = re.compile(r"(?:RF|C)\d{2,3}\Z")


class UnfitError(ValueError):
    """What is left of the visit is no visit any more; the words name the field."""


@dataclass(frozen=True, slots=True)
class _Visit:
    """What holds for one visit: of whom, by how much its dates move, what is looked for in its text."""

    client: str
    weeks: int
    zone: timedelta
    birth: bool
    redaction: Redaction
    names: frozenset[str]


class Deidentifier:
    """Visits one after another, for one purpose with one key. `done` counts what became of the fields."""

    def __init__(self, keyed: Keyed, wishes: Wishes, known: Known, shared: Shared) -> None:
        self._keyed = keyed
        self._wishes = wishes
        self._known = known
        self._shared = shared
        self._actions = actions(wishes.purpose)
        self.done: Counter[str] = Counter()

    def one(self, visit: Visit, old: bool, redaction: Redaction) -> Visit:
        """The visit without who it is about. `old`: the client is over 89 at one of the visits.

        Raises UnfitError where what is left is no visit.
        """
        whose = client_key(visit)
        about = _Visit(
            client=self._keyed.pseudonym("C", whose),
            weeks=self._keyed.weeks(whose) if self._wishes.dates == "shift" else 0,
            zone=offset_of(visit.start),
            birth=not old,
            redaction=redaction,
            names=names(visit),
        )
        try:
            data = self._group(visit, "", about)
            data["client"] = {**data.get("client", {}), "number": about.client, "legal_name": {"family": about.client}}
            return Visit.model_validate(data)
        except ValidationError as error:
            raise UnfitError(".".join(str(step) for step in error.errors()[0]["loc"]) or "visit") from None
        except OverflowError:
            raise UnfitError("start") from None

    def _group(self, value: BaseModel, path: str, about: _Visit) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for name in type(value).model_fields:
            held = getattr(value, name)
            here = f"{path}.{name}" if path else name
            if isinstance(held, tuple):
                items = [self._value(item, f"{here}[{index}]", about) for index, item in enumerate(held)]
                new: Any = [item for item in items if item is not None]
            else:
                new = self._value(held, here, about)
            if new is not None and new != []:
                found[name] = new
        return found

    def _value(self, value: Any, path: str, about: _Visit) -> Any:
        if value is None:
            return None
        if isinstance(value, BaseModel) and not isinstance(value, (Term, *_WHOLE)):
            return self._group(value, path, about) or None
        action = self._actions[row_of(path)]
        new = self._became(action, value, path, about)
        self.done["out" if new is None else action] += 1
        return new

    def _became(self, action: str, value: Any, path: str, about: _Visit) -> Any:
        match action:
            case "keep":
                return value.model_dump() if isinstance(value, BaseModel) else value
            case "pseudonym-visit":
                return self._keyed.pseudonym("V", value)
            case "pseudonym-client":
                return about.client
            case "pseudonym-person":
                return self._keyed.pseudonym("H", value)
            case "date" | "date-to-come":
                return self._date(value, about, to_come=action == "date-to-come")
            case "birth-year":
                return self._date(value, about, to_come=False)[:4] if about.birth else None
            case "term":
                return self._term(value, path, about)
            case "text" | "text-needed":
                if self._wishes.with_text:
                    return _redacted(value, about.redaction)
                return GONE if action == "text-needed" else None
            case "rule":
                return value if _RULE.match(value) else None
        return None

    def _date(self, when: str, about: _Visit, *, to_come: bool) -> str:
        if self._wishes.dates == "year":
            return when[:4]
        return moved(when, about.weeks, about.zone, to_come=to_come)

    def _term(self, term: Term, path: str, about: _Visit) -> dict[str, Any]:
        """Words of the tables with their codes; of other words only that there were some, with codes that all know."""
        if self._known(path, term) and not (len(folded(term.text)) > 1 and about.names & set(folded(term.text))):
            return term.model_dump()
        self.done["words withheld"] += 1
        codings = [c.model_dump(exclude={"display", "version"}) for c in term.codings if self._shared(c.system, c.code)]
        text = _redacted(term.text, about.redaction) if self._wishes.with_text else GONE
        return {"text": text, "codings": codings, "assertion": term.assertion}


def _redacted(text: str, redaction: Redaction) -> str:
    """Never longer than its field may be, although the word that stands for a name can be longer than the name."""
    return redaction.of(text)[: _SHORT if len(text) <= _SHORT else _LONG].strip()
