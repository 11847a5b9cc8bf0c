"""The practice's own words beside the codes that they got: for whoever reads the record in another clinic."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterable
from typing import NamedTuple

from bridge import __version__
from bridge.fhir.systems import OWN
from bridge.visit import Visit, terms_of

HEADINGS = ("local word", "field", "assertion", "system", "system version", "code", "display", "times")
_INDEX = re.compile(r"\[\d+\]")
_Key = tuple[str, str, str, str, str, str, str]
_RUNS = ("=", "+", "-", "@", "\t", "\r")


class WordRow(NamedTuple):
    """One word of one field with one of its codes; without a code the last four columns but one are empty."""

    word: str
    field: str
    assertion: str
    system: str
    version: str
    code: str
    display: str
    times: int


def words_of(visits: Iterable[Visit]) -> list[WordRow]:
    """Every word once for each field and code, in the order of the words."""
    counted: Counter[_Key] = Counter()
    for visit in visits:
        for path, term in terms_of(visit):
            said = (term.text, _INDEX.sub("", path), term.assertion or "")
            for coding in term.codings:
                version = coding.version or (__version__ if coding.system == OWN else "")
                counted[*said, coding.system, version, coding.code, coding.display or ""] += 1
            if not term.codings:
                counted[*said, "", "", "", ""] += 1
    return [WordRow(*key, times=n) for key, n in sorted(counted.items(), key=lambda c: (c[0][0].casefold(), c[0]))]


def as_csv(rows: Iterable[WordRow]) -> bytes:
    """The table as CSV in UTF-8. An apostrophe goes before what a spreadsheet would run as a formula."""
    page = io.StringIO()
    writer = csv.writer(page, lineterminator="\r\n")
    writer.writerow(HEADINGS)
    writer.writerows([_safe(str(value)) for value in row] for row in rows)
    return page.getvalue().encode("utf-8", "replace")


def _safe(text: str) -> str:
    return f"'{text}" if text.startswith(_RUNS) else text
