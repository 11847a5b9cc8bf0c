"""Whether a code is in a value set, by the set's composition, or by its expansion where that cannot decide.

Source: https://hl7.org/fhir/R4/valueset.html#compositions: a code is in where any include has it and no exclude does;
in one include everything must fit: the system, the codes or filters, and each of the value sets named.
"""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import unquote

from bridge.fhir.systems import LOINC, SCT
from bridge.shapes import Json
from bridge.terminology.answers import Found, either, every, named
from bridge.terminology.systems import Systems

_DEEPEST = 30
_MOST_SETS = 500
"""Value sets that one question may lead through."""
_MOST_PARTS = 1_000_000
"""Parts of value sets that all questions about one piece of data may lead through."""


class Compositions:
    """Value sets by address."""

    def __init__(self, find: Callable[[str], Json | None], systems: Systems) -> None:
        self._find, self._systems = find, systems
        self.renew()

    def renew(self) -> None:
        """To be called for each piece of data: each may ask as much."""
        self._left = _MOST_PARTS

    def spend(self, parts: int) -> bool:
        """Whether so many parts may still be looked at."""
        self._left -= parts
        return self._left >= 0

    def table(self, url: str) -> Json | None:
        """The compiled value set: one at hand, or one that its address describes."""
        return self._find(url) or _implied(url)

    def decide(self, url: str, system: str, code: str) -> Found:
        """Whether the code of the system is in the value set."""
        return _Question(self, self._systems, system, code).in_set(url, 0)

    def systems_of(self, url: str) -> tuple[list[str], bool]:
        """Systems that codes of the set can be of, in their order; and whether these are all."""
        found: dict[str, None] = {}
        left, seen, all_known = [url], {url}, True
        while left:
            table = self.table(left.pop())
            if table is None or len(seen) > _MOST_SETS:
                return list(found), False
            parts = table.get("include", ())
            found |= dict.fromkeys(table.get("expansion", {}).get("codes", {}))
            for part in parts:
                if "system" in part:
                    found[part["system"]] = None
                elif "sets" in part:
                    left += [one for one in part["sets"] if one not in seen]
                    seen.update(part["sets"])
                else:
                    all_known = False
        return list(found), all_known

    def terms(self, url: str, system: str, code: str) -> list[str]:
        """What the set itself calls the code."""
        table = self.table(url) or {}
        listed = [
            part["codes"] for part in table.get("include", ()) if part.get("system") == system and "codes" in part
        ]
        listed.append(table.get("expansion", {}).get("codes", {}).get(system, {}))
        return [term for codes in listed for term in codes.get(code, ()) if term]


class _Question:
    """One code looked for in a set and in those that it names; each of them is asked once."""

    def __init__(self, sets: Compositions, systems: Systems, system: str, code: str) -> None:
        self.sets, self.systems, self.system, self.code = sets, systems, system, code
        self.answers: dict[str, Found] = {}

    def in_set(self, url: str, depth: int) -> Found:
        if url in self.answers:
            return self.answers[url]
        if depth > _DEEPEST or len(self.answers) > _MOST_SETS:
            return Found(None, "its value sets name each other too often")
        self.answers[url] = Found(None, "its value set is made of itself")
        table = self.sets.table(url)
        self.answers[url] = (
            Found(None, f"the value set {named(url)} is not at hand")
            if table is None
            else (self._in_table(table, depth))
        )
        return self.answers[url]

    def _in_table(self, table: Json, depth: int) -> Found:
        found = self._composed(table, depth) if "include" in table else Found(None, "its value set names no codes")
        expansion = table.get("expansion")
        if found.yes is None and expansion:
            if self.systems.listed(self.system, expansion["codes"].get(self.system, {}), self.code).yes:
                return Found(True)
            if expansion["complete"] and "include" not in table:
                return Found(False, "it is none of the codes that the value set lists")
        return found

    def _composed(self, table: Json, depth: int) -> Found:
        if not self.sets.spend(len(table["include"]) + len(table.get("exclude", ()))):
            return Found(None, "its value sets have more parts than are looked at")
        includes = [self._in_part(part, depth) for part in table["include"]]
        found = either(includes, _why_not(includes))
        if found.yes is False:
            return found
        excludes = [self._in_part(part, depth) for part in table.get("exclude", ())]
        if any(one.yes for one in excludes):
            return Found(False, "the value set leaves it out")
        if table.get("inactive") is False and self.systems.inactive(self.system, self.code):
            return Found(False, "the value set leaves out what is not in use")
        doubt = next((one for one in excludes if one.yes is None), None)
        return doubt if doubt and found.yes else found

    def _in_part(self, part: Json, depth: int) -> Found:
        if "unclear" in part:
            return Found(None, "a part of its value set cannot be understood")
        found = []
        if "system" in part:
            if part["system"] != self.system:
                return Found(False, f"its system is not {named(part['system'])}")
            found += self._of_system(part)
        if found and (no := next((one for one in found if one.yes is False), None)):
            return no
        return every(found + [self.in_set(url, depth + 1) for url in part.get("sets", ())])

    def _of_system(self, part: Json) -> list[Found]:
        version = part.get("version", "")
        if "codes" in part:
            return [self.systems.listed(self.system, part["codes"], self.code)]
        if "filters" in part:
            found = [self.systems.passes(self.system, one, self.code, version) for one in part["filters"]]
        else:
            found = [self.systems.has(self.system, self.code, version)]
        if self.systems.abstract(self.system, self.code):
            found.append(Found(None, "it is a heading over other codes, and not meant to be used in every place"))
        return found


def _why_not(found: list[Found]) -> str:
    """The reason that tells most: not that of another system, if there is one."""
    reasons = [one.why for one in found if one.yes is False]
    return next((why for why in reasons if not why.startswith("its system is not")), "") or (
        reasons[0] if len(reasons) == 1 else "its system is none of the value set's"
    )


def _implied(url: str) -> Json | None:
    """Value sets that an address of SNOMED CT or LOINC describes by itself.

    Source: https://hl7.org/fhir/R4/snomedct.html#implicit and https://hl7.org/fhir/R4/loinc.html#implicit
    """
    if url == f"{LOINC}/vs":
        return {"url": url, "include": [{"system": LOINC}]}
    edition, mark, asked = url.partition("?fhir_vs")
    if not mark or not (edition == SCT or edition.startswith(f"{SCT}/")) or len(url) > 5000:
        return None
    kind, _, value = unquote(asked.removeprefix("=")).partition("/")
    part: Json = {"system": SCT}
    if kind == "isa":
        part["filters"] = [["concept", "is-a", value]]
    elif kind == "ecl":
        part["filters"] = [["constraint", "=", value]]
    elif kind:
        return None
    return {"url": url, "include": [part]}
