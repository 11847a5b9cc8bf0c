"""Codes of value sets that have no published list: the syntax that their own standard gives them.

Languages: RFC 5646 (BCP 47); media types: RFC 2045 section 5.1 and RFC 6838 section 4.2 (BCP 13); units: UCUM;
answers of LOINC: their form.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import cache
from typing import Any

from bridge.check.ucum import UCUM, unit_problem
from bridge.data import load_csv, table_path

LANGUAGES, MEDIA_TYPES, LOINC = "urn:ietf:bcp:47", "urn:ietf:bcp:13", "http://loinc.org"
FORMATS = frozenset({"xml", "json", "ttl"})
"""Taken beside media types where formats of FHIR itself are named (https://hl7.org/fhir/R4/capabilitystatement.html)."""
_NAMES_FORMATS = frozenset({"format", "accept", "contentType"})
_LANGUAGE = re.compile(
    r"(?P<language>[a-z]{2,3})(?:-[a-z]{3}){0,3}(?:-[a-z]{4})?(?:-(?P<region>[a-z]{2}|[0-9]{3}))?"
    r"(?P<variants>(?:-(?:[a-z0-9]{5,8}|[0-9][a-z0-9]{3}))*)(?P<more>(?:-[a-wyz0-9](?:-[a-z0-9]{2,8})+)*)"
    r"(?:-x(?:-[a-z0-9]{1,8})+)?"
)
_PRIVATE = re.compile(r"x(?:-[a-z0-9]{1,8})+")
_NAME = r"[A-Za-z0-9][A-Za-z0-9!#$&^_.+-]{0,126}"
_WORD = r"[!#$%&'*+.^_`|~0-9A-Za-z-]+"
_VALUE = r'(?:"(?:[^"\\]|\\.)*+"|[!#-:<-~][ !-:<-~]*+)'
_MEDIA_TYPE = re.compile(rf"{_NAME}/{_NAME}(?:[ \t]*+;[ \t]*+{_WORD}={_VALUE})*+")
"""Parameters may hold blanks and slashes without quotation marks, as in published Endpoint examples. Nothing in them
can be read in two ways, for then a hostile one could be tried for hours."""
_ANSWER = re.compile(r"LA[0-9]{1,7}-[0-9]")
_PLAIN_MEDIA_TYPE = (
    r"(?:application|audio|font|image|message|model|multipart|text|video)/[A-Za-z0-9][A-Za-z0-9_.+-]{0,100}"
)


def language_problem(code: str) -> str | None:
    """What is wrong with the tag of a language, or None."""
    known, low = _tags(), code.lower()
    if low in known["whole"] or _PRIVATE.fullmatch(low):
        return None
    found = _LANGUAGE.fullmatch(low)
    if found is None:
        return "is not a language of the form en, en-GB or zh-Hans"
    if len(found["language"]) == 2 and found["language"] not in known["language"]:
        return "begins with two letters that stand for no language"
    if found["region"] and found["region"].isalpha() and found["region"] not in known["region"]:
        return "names a country that has no such code"
    if _twice(found["variants"].split("-")[1:]) or _twice(re.findall(r"-([a-z0-9])(?=-)", found["more"])):
        return "says a part twice"
    return None


def media_type_problem(code: str) -> str | None:
    """What is wrong with a media type, or None."""
    return None if _MEDIA_TYPE.fullmatch(code) else "is not a media type of the form application/pdf or text/plain"


def answer_problem(code: str) -> str | None:
    """What is wrong with the code of a LOINC answer, or None."""
    return None if _ANSWER.fullmatch(code) else "is not an answer of LOINC of the form LA6692-3"


_RULES: dict[str, tuple[str, Callable[[str], str | None]]] = {
    "all-languages": (LANGUAGES, language_problem),
    "mimetypes": (MEDIA_TYPES, media_type_problem),
    "ucum-units": (UCUM, unit_problem),
    "http://loinc.org/vs/LL379-9": (LOINC, answer_problem),
}
_OF_SYSTEM = {system: problem for system, problem in _RULES.values() if system != LOINC}


def syntax_problem(value_set: str, code: str, element: str = "") -> str | None:
    """What is wrong with a code of a value set that has a syntax in place of a list; None also for other sets."""
    if code in FORMATS and element in _NAMES_FORMATS and value_set == "mimetypes":
        return None
    rule = _RULES.get(value_set)
    return rule[1](code) if rule else None


def has_syntax(value_set: str) -> bool:
    return value_set in _RULES


def coding_fits(value_set: str, coding: Any) -> bool:
    """Whether a Coding is of the system of such a value set and its code of the syntax; True for other sets."""
    if value_set not in _RULES:
        return True
    system, problem = _RULES[value_set]
    if not isinstance(coding, dict) or coding.get("system") != system:
        return False
    code = coding.get("code")
    return isinstance(code, str) and problem(code) is None


def system_problem(system: str, code: str) -> str | None:
    """What is wrong with a code whose system has a grammar (languages, media types, units); None for other systems."""
    problem = _OF_SYSTEM.get(system)
    return problem(code) if problem else None


def systems_with_syntax() -> Iterable[str]:
    """The systems whose codes are told by a grammar."""
    return _OF_SYSTEM.keys()


@cache
def usual_codes() -> dict[str, str]:
    """By value set: a regular expression (no look-around, no references) that takes only right codes as a whole."""
    tags = _tags()
    languages, regions = ("|".join(sorted(tags[kind])) for kind in ("language", "region"))
    return {
        "all-languages": f"(?:{languages})(?:-(?:{regions.upper()}))?",
        "mimetypes": _PLAIN_MEDIA_TYPE,
    }


def _twice(parts: list[str]) -> bool:
    return len(set(parts)) < len(parts)


@cache
def _tags() -> dict[str, frozenset[str]]:
    rows = load_csv(table_path("standard", "language-tags.csv"))
    return {row["kind"]: frozenset(row["codes"].lower().split()) for row in rows}
