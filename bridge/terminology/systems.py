"""The code systems at hand, all asked in one way: published ones, SNOMED CT and LOINC as far as tables know them, and
systems whose codes are told by their form."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import cache

from bridge.data import load_csv, table_path
from bridge.fhir.systems import LOINC, SCT
from bridge.shapes import Json
from bridge.terminology import ecl, filters, snomed
from bridge.terminology.answers import Found, named
from bridge.terminology.codes import Codes

Form = Callable[[str], bool | None]
"""Whether a code is one of the system by its form alone; None where that is not certain."""

_LOINC_FORM = re.compile(r"(?:L[ALPGR]|MTHU|X)?\d{1,8}-\d|MTHU\d{1,8}")
_MANY = 1000
_EXPRESSIONS = {"constraint", "expression"}


class Systems:
    """Code systems by address, opened when first asked for."""

    def __init__(self, find: Callable[[str], Json | None], forms: Mapping[str, Form] | None = None) -> None:
        self._find = find
        self._forms = forms or {}
        self._opened: dict[str, Codes | None] = {}
        self._folded: dict[int, tuple[Mapping[str, object], dict[str, str]]] = {}

    def at_hand(self, system: str, version: str = "") -> Codes | None:
        """The published code system, where it is at hand (in whatever version is)."""
        key = f"{system}|{version}" if version else system
        if key not in self._opened:
            if len(self._opened) >= _MANY:
                self._opened.clear()
            table = self._find(key)
            self._opened[key] = Codes(table) if table else None
        return self._opened[key]

    def has(self, system: str, code: str, version: str = "") -> Found:
        """Whether the system has the code."""
        if system == SCT:
            return snomed.known(code)
        if system == LOINC:
            return _loinc(code)
        if form := self._forms.get(system):
            fits = form(code)
            return Found(fits, "" if fits else f"{named(code)} has not the form of a code of {named(system)}")
        codes = self.at_hand(system, version)
        if codes is None:
            return Found(None, f"{named(system)} is not at hand")
        return _of_version(codes, version, codes.has(code))

    def passes(self, system: str, filter: list[str], code: str, version: str = "") -> Found:
        """Whether a code of the system passes one filter of a value set."""
        name, op, value = filter
        if system == SCT:
            return _snomed(name, op, value, code)
        codes = self.at_hand(system, version)
        if codes is not None and codes.usable and system != LOINC:
            return _of_version(codes, version, filters.matches(codes, filter, code))
        if name in {"code", "concept"} and op == "regex" and filters.pattern_fits(value, code) is False:
            return Found(False, "it has not the form that the value set wants")
        found = self.has(system, code, version)
        return found if found.yes is False else Found(None, f"{named(system)} is not at hand")

    def listed(self, system: str, codes: Mapping[str, object], code: str) -> Found:
        """Whether the code is one of those listed, in the case that the system wants."""
        if code in codes:
            return Found(True)
        out = Found(False, "it is none of the codes that the value set lists")
        near = self._any_case(codes).get(code.casefold()) if system not in {SCT, LOINC} else None
        if near is None:
            return out
        table = self.at_hand(system)
        if table is None:
            return Found(None, "it differs in upper and lower case, and its system is not at hand")
        return Found(True) if table.same(near, code) else out

    def _any_case(self, codes: Mapping[str, object]) -> dict[str, str]:
        """The listed codes by their spelling in small letters, made once for each list."""
        kept = self._folded.get(id(codes))
        if kept is None or kept[0] is not codes:
            if len(self._folded) >= _MANY:
                self._folded.clear()
            kept = self._folded[id(codes)] = codes, {one.casefold(): one for one in codes}
        return kept[1]

    def terms(self, system: str, code: str) -> list[str]:
        """What the code may be called, where all of that is known."""
        codes = self.at_hand(system) if system not in {SCT, LOINC} else None
        return codes.terms(code) if codes is not None else []

    def inactive(self, system: str, code: str) -> bool:
        """Whether the code is known to be out of use."""
        codes = self.at_hand(system)
        return codes is not None and codes.code(code) in codes.inactive

    def abstract(self, system: str, code: str) -> bool:
        """Whether the code is there to hold others together (notSelectable; "all concepts are selectable in some
        context", says the standard)."""
        codes = self.at_hand(system)
        return codes is not None and codes.code(code) in codes.abstract


def known_display(display: str) -> bool:
    """Whether a text is a name of a code in our tables, and so says nothing of a client."""
    return display in _displays()


def _of_version(codes: Codes, version: str, found: Found) -> Found:
    """Another version of the system may have what this one has not."""
    if found.yes is False and version and codes.version and version != codes.version:
        return Found(None, f"version {named(version)} of its system is not at hand")
    return found


def _snomed(name: str, op: str, value: str, code: str) -> Found:
    if name in _EXPRESSIONS and op == "=":
        return ecl.decide(value, code)
    if name in {"concept", "code"}:
        if op in {"is-a", "descendent-of"}:
            return snomed.is_a(code, value.strip(), itself=op == "is-a")
        if op == "=":
            return Found(code == value.strip(), "it is another concept")
        if op == "is-not-a" and (found := snomed.is_a(code, value.strip())).yes is not None:
            return Found(not found.yes, "a filter leaves it out") if snomed.known(code).yes else snomed.known(code)
    if snomed.known(code).yes is False:
        return snomed.known(code)
    return Found(None, snomed.NOT_AT_HAND)


def _loinc(code: str) -> Found:
    if code in _loinc_codes():
        return Found(True)
    if not _LOINC_FORM.fullmatch(code.upper()):
        return Found(False, f"{named(code)} has not the form of a code of LOINC")
    return Found(None, "LOINC is not at hand")


@cache
def _loinc_codes() -> frozenset[str]:
    return frozenset(row["code"] for row in load_csv(table_path("codes", "loinc.csv")))


@cache
def _displays() -> frozenset[str]:
    return frozenset(row["display"] for path in sorted(table_path("codes").glob("*.csv")) for row in load_csv(path))
