"""Numbers with check digits: NHS numbers and SNOMED CT identifiers.

Each function answers what is wrong, in words that do not quote the number, or None.
"""

from __future__ import annotations

import re

_NHS = re.compile(r"\d{10}|\d{3} \d{3} \d{4}|\d{3}-\d{3}-\d{4}", re.ASCII)
_SCTID = re.compile(r"[1-9]\d{5,17}", re.ASCII)
_PARTITIONS = {"0": "a concept", "1": "a description", "2": "a relationship", "6": "a post-coordinated expression"}


# Verhoeff's dihedral check (J. Verhoeff, Error Detecting Decimal Codes, 1969), as SNOMED CT identifiers use it:
# multiplication in the dihedral group of ten, and the powers of one permutation.
def _times(a: int, b: int) -> int:
    if a < 5:
        return (a + b) % 5 if b < 5 else (a + b) % 5 + 5
    return (a - b) % 5 + 5 if b < 5 else (a - b) % 5


_TIMES = tuple(tuple(_times(a, b) for b in range(10)) for a in range(10))
_FIRST = (1, 5, 7, 6, 2, 8, 3, 0, 9, 4)


def _powers() -> tuple[tuple[int, ...], ...]:
    rows = [tuple(range(10))]
    for _ in range(7):
        rows.append(tuple(_FIRST[n] for n in rows[-1]))
    return tuple(rows)


_TURNS = _powers()


def nhs_number_problem(text: str) -> str | None:
    """NHS number: ten digits, also written 3-3-4 with blanks or hyphens, with a good check digit.

    Source: NHS Data Dictionary, NHS NUMBER: weights 10 to 2 on the first nine digits, 11 less the
    remainder by 11; 11 counts as 0, 10 is never issued. Ten times the same digit passes that sum and is
    refused all the same.
    """
    if not _NHS.fullmatch(text.strip()):
        return "is not ten digits"
    digits = [int(c) for c in text if c.isdigit()]
    if len(set(digits)) == 1:
        return "is the same digit ten times"
    check = 11 - sum(weight * digit for weight, digit in zip(range(10, 1, -1), digits[:9], strict=True)) % 11
    fits = digits[9] == (0 if check == 11 else check)
    return None if fits else "has a check digit that does not fit: a slip of typing"


def sctid_problem(text: str) -> str | None:
    """SNOMED CT identifier of a concept: 6 to 18 digits, Verhoeff check digit, partition 00 or 10.

    An identifier of a description or a relationship is well made and still wrong where a concept is meant.
    Source: SNOMED CT Release File Specification, SCTID.
    """
    if not _SCTID.fullmatch(text):
        return "is not 6 to 18 digits without a leading zero"
    total = 0
    for place, digit in enumerate(reversed(text)):
        total = _TIMES[total][_TURNS[place % 8][int(digit)]]
    if total:
        return "has a check digit that does not fit"
    form, component = text[-3], text[-2]
    if form not in "01" or component not in _PARTITIONS:
        return "is of no kind that SNOMED CT knows"
    return None if component == "0" else f"is the number of {_PARTITIONS[component]}, not of a concept"
