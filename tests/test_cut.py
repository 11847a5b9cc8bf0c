"""The recipient's cut: the table knows every field, letters hold what it lets through, and nothing else goes.

That a summary holds what the reader acts on and pictures go only with their own consent is common practice of letters;
no published list says field by field what that is, so the expectations below are written by hand.
"""

from __future__ import annotations

import csv
import random
import re
from pathlib import Path
from typing import Any

import pytest

from bridge.cut import cut
from bridge.pipeline import Conversion, bundle_document
from bridge.visit import Visit
from tests.generate import visit as generated
from tests.remake import ROOT
from tests.test_pipeline import convert

CLIENT_AND_DOCTORS = ("summary", "referral", "client")
VISITS = 120


def rows(path: str) -> list[dict[str, str]]:
    lines = (line for line in (ROOT / path).read_text(encoding="utf-8").splitlines() if not line.startswith("#"))
    return list(csv.DictReader(lines))


TABLE = rows("mappings/documents/cut.csv")
FIELDS = sorted({row["field"] for row in rows("mappings/visit-fields.csv")})


def holds(prefix: str, field: str) -> bool:
    return re.match(re.escape(prefix) + r"(\.|\[|$)", field) is not None


def test_every_field_of_a_visit_is_decided_and_every_row_decides_one() -> None:
    undecided = [f for f in FIELDS if not any(holds(row["field"], f) for row in TABLE)]
    idle = [row["field"] for row in TABLE if not any(holds(row["field"], f) for f in FIELDS)]
    assert (undecided, idle) == ([], [])


def test_the_table_holds_nothing_but_answers_and_scopes() -> None:
    allowed = {"yes", "no", "visit summary", "referral", "whole record", "images"}
    for row in TABLE:
        for letter in CLIENT_AND_DOCTORS:
            assert set(row[letter].split(" or ")) <= allowed, row


def test_no_row_lets_through_a_part_of_what_another_withholds() -> None:
    """The cut takes away and gives nothing back, so such a row would say what is not done."""
    scopes = {"visit summary", "referral", "whole record", "images"}
    allowed = {"yes": scopes | {"no consent"}, "no": set[str]()}
    for part in TABLE:
        for whole in (row for row in TABLE if row is not part and holds(row["field"], part["field"])):
            for letter in CLIENT_AND_DOCTORS:
                inner, outer = (allowed.get(row[letter], set(row[letter].split(" or "))) for row in (part, whole))
                assert inner <= outer, (part["field"], whole["field"], letter)


def test_what_the_client_may_see_is_all_of_it() -> None:
    assert {row["client"] for row in TABLE} == {"yes"}


SECRETS = {
    "pictures": "images/scan-7781.jpg", "lot": "LOT-7782", "batch": "BATCH-7783", "email": "someone7784@example.org",
    "phone of a guardian": "07700 900785",
}  # fmt: skip
"""One string for each thing that does not go everywhere, to be looked for in the bytes of what is made."""


def told(scope: list[str]) -> Visit:
    maker = {"name": "olive oil", "batch": SECRETS["batch"]}
    work = [
        {
            "method": "microsuction",
            "outcome": "complete",
            "instruments": [{"name": "fine end", "size": {"value": 18, "scale": "G"}, "lot": SECRETS["lot"]}],
            "products": [maker],
            "suction": {"pressure": {"value": 120, "unit": "mm[Hg]"}},
        }
    ]
    return Visit.model_validate(
        {
            "number": "T-1",
            "start": "2026-03-02T09:30+00:00",
            "attendance": "attended",
            "clinic": {"name": "Test clinic"},
            "practitioners": [{"key": "A", "name": {"family": "Test"}}],
            "client": {
                "number": "C-1",
                "legal_name": {"family": "Test"},
                "birth_date": "2019-01-02",
                "emails": [SECRETS["email"]],
                "guardians": [
                    {"name": {"family": "Test"}, "relationship": "mother", "phone": SECRETS["phone of a guardian"]}
                ],
            },
            "sharing": {"status": "given", "scope": scope},
            "softeners": [maker],
            "right": {"work": work, "images": [{"file": SECRETS["pictures"]}]},
        }
    )


EXPECTED: list[tuple[str, list[str], set[str]]] = [
    ("summary", [], set()),
    ("summary", ["visit summary"], set()),
    ("summary", ["visit summary", "images"], {"pictures"}),
    ("summary", ["visit summary", "referral"], set()),
    ("summary", ["whole record"], {"pictures", "lot", "batch"}),
    ("referral", ["referral"], {"email", "phone of a guardian"}),
    ("referral", ["referral", "images"], {"pictures", "email", "phone of a guardian"}),
    ("referral", ["whole record"], {"pictures", "lot", "batch", "email", "phone of a guardian"}),
    ("client", [], set(SECRETS)),
]


@pytest.mark.parametrize(("letter", "scope", "expected"), EXPECTED)
def test_each_letter_holds_what_its_reader_may_have(letter: str, scope: list[str], expected: set[str]) -> None:
    text = cut(told(scope), letter).visit.model_dump_json()
    assert {name for name, secret in SECRETS.items() if secret in text} == expected


def test_what_stayed_behind_is_counted() -> None:
    assert dict(cut(told([]), "summary").left) == {
        "cut.batches": 3, "cut.settings": 2, "cut.images": 1,
    }  # fmt: skip
    assert dict(cut(told(["whole record"]), "summary").left) == {}


def test_a_group_of_which_nothing_is_left_is_gone() -> None:
    work = told([]).right
    assert work is not None
    shown = cut(told([]), "summary").visit.right
    assert shown is not None
    assert shown.work[0].suction is None
    assert shown.work[0].outcome == work.work[0].outcome


@pytest.mark.parametrize("letter", CLIENT_AND_DOCTORS)
def test_generated_visits_lose_what_the_table_says_and_nothing_else(letter: str) -> None:
    gone = {row["field"]: row[letter] for row in TABLE if row[letter] != "yes"}
    for number in range(VISITS):
        visit = generated(random.Random(number), 0.7)
        scopes = set(visit.sharing.scope if visit.sharing else ())
        shut = [f for f, allowed in gone.items() if allowed == "no" or not set(allowed.split(" or ")) & scopes]
        before, after = (dict(leaves(v.model_dump(mode="json"), "")) for v in (visit, cut(visit, letter).visit))
        lost = {path for path in before if path not in after}
        assert {p: v for p, v in before.items() if p in after} == after
        assert all(any(holds(field, plain(path)) for field in shut) for path in lost)
        assert not any(holds(field, plain(path)) for path in after for field in shut)


def leaves(value: Any, path: str) -> Any:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from leaves(inner, f"{path}.{key}" if path else key)
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from leaves(inner, f"{path}[{index}]")
    elif value is not None:
        yield path, value


def plain(path: str) -> str:
    """`right.before.wax[2].x` as the tables of fields write it."""
    found = re.sub(r"\[\d+\]", "[]", path)
    found = re.sub(r"^(right|left)\b", "{ear}", found)
    return re.sub(r"^\{ear\}\.(before|after)\b", "{ear}.{stage}", found)


def test_bundle_and_letter_hold_the_cut(tmp_path: Path) -> None:
    made = text_of(convert(tmp_path))
    assert "120 mmHg" not in made
    assert "fine suction end" in made
    shared = text_of(convert(tmp_path, "document", **{"What is shared": "whole record"}))
    assert "120 mmHg" in shared


def text_of(conversion: Conversion) -> str:
    return bundle_document(conversion.bundles["summary"], "T", "summary").content.decode()
