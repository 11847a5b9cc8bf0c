"""Units. Oracles: those that the standard publishes (valuesets.json), and NLM's ucum-lhc (npm) on generated ones."""

from __future__ import annotations

import json
import random
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from bridge.check.ucum import MAX_LENGTH, UCUM, unit_doubt, unit_meant, unit_pattern, unit_problem
from bridge.data import load_csv, table_path
from tests.oracles.test_outside import unable
from tests.standards import standard_json

NPM = Path(__file__).parents[1] / "oracles" / "npm"
ATOMS = [row["code"] for row in load_csv(table_path("standard", "ucum-atoms.csv")) if row["kind"] != "prefix"]
PREFIXES = [row["code"] for row in load_csv(table_path("standard", "ucum-atoms.csv")) if row["kind"] == "prefix"]
PATTERN = re.compile(unit_pattern())


def published() -> set[str]:
    found: set[str] = set()
    for entry in standard_json("fhir-r4/valuesets.json.gz")["entry"]:
        for include in entry["resource"].get("compose", {}).get("include", []):
            if include.get("system") == UCUM:
                found |= {concept["code"] for concept in include.get("concept", [])}
    return found


def test_every_published_unit_is_one() -> None:
    codes = published()
    assert len(codes) > 1000
    assert {code: unit_problem(code) for code in codes if unit_problem(code)} == {}
    doubtful = {code for code in codes if unit_doubt(code)}
    assert doubtful
    assert all(" " in code for code in doubtful)


@pytest.mark.parametrize(
    "code",
    ["mm", "1", "100", "10*", "10*-3", "m-2", "m+2", "kB[SPL]", "B[10.nV]", "[m/s2/Hz^(1/2)]", "{}", "/{cells}",
    "%[slope]", "u[IU]", "daPa", "''", "dar",
     "((m))", "m/(s.(kg.(A)))", "2.m", "[in_i'H2O]", "cal_[15]", "Gibit", "m{any-thing!}", "/m/s", "1/min", "10.m"],
)  # fmt: skip
def test_right(code: str) -> None:
    assert unit_problem(code) is None


@pytest.mark.parametrize(
    "code",
    ["", " ", "mmHg", "m m", " m", "m ", "2mm", "m^2", "m//s", "m/", "/", ".m", "m.", "(m", "m)", "()", "(m)2",
    "(m)s", "{a}m", "m{a}{b}", "m{a", "m}", "{a{b}}",
     "k[lb_av]", "kkg", "k", "µg", "m²", "[IN_I]", "MM", "[abc]", "mm[hg]", "m*s", "m-s", "-1", "m(s)", "[", "]",
     "m\n", "٣", "m٣",
     "mh", "/(/m)", "m" * (MAX_LENGTH + 1), "(" * 200 + "m"],
)  # fmt: skip
def test_wrong(code: str) -> None:
    assert unit_problem(code)
    assert not PATTERN.fullmatch(code)


def test_slips_are_wrong_and_what_is_meant_is_right() -> None:
    rows = load_csv(table_path("standard", "ucum-slips.csv"))
    for row in rows:
        assert unit_problem(row["written"]), row
        assert unit_problem(row["meant"]) is None, row
        assert unit_meant(row["written"]) == row["meant"]


def generated(count: int) -> list[str]:
    chance = random.Random(4)
    pieces = [
        *ATOMS,
        *ATOMS,
        *PREFIXES,
        "2",
        "-1",
        "+3",
        ".",
        "/",
        "/",
        ".",
        "(",
        ")",
        "{a}",
        "{",
        "}",
        "x",
        "10*",
        "[",
        "]",
        "^",
    ]
    found = {"".join(chance.choice(pieces) for _ in range(chance.randint(1, 4))) for _ in range(count)}
    found |= {
        chance.choice(PREFIXES) + chance.choice(ATOMS) + chance.choice(["", "2", "-1", "{a}", "/s", ".kg", ")"])
        for _ in range(count)
    }
    return sorted(found)


def test_the_pattern_takes_only_units() -> None:
    taken = [code for code in generated(20_000) if PATTERN.fullmatch(code)]
    assert len(taken) > 1000
    assert [code for code in taken if unit_problem(code)] == []


NOT_OF_A_RATIO = re.compile(
    r"Cel|\[degF\]|\[degRe\]|Np|B|\[hp'_[XCMQ]\]|%\[slope\]|\[p'diop\]|\[pH\]|bit_s|\[m/s2/Hz\^\(1/2\)\]"
)
"""Units that UCUM calls special. Its grammar takes them in products and powers, though they have no meaning there."""
NEWER = re.compile(r"\[(?:NTU|FNU)\]")
"""Atoms of edition 2.2 that the other reader does not have yet."""
PLAIN = {row["code"] for row in load_csv(table_path("standard", "ucum-atoms.csv")) if row["kind"] == "plain"}
PREFIXED_PLAIN = re.compile(
    rf"(?:^|[./(])(?:{'|'.join(PREFIXES)})(?:{'|'.join(re.escape(c) for c in sorted(PLAIN, key=len, reverse=True))})"
)
"""The other reader lets any atom have a prefix; section 2.2 of UCUM only the metric ones."""


def test_another_reader_of_units_agrees() -> None:
    if shutil.which("node") is None or not (NPM / "node_modules" / "@lhncbc" / "ucum-lhc").exists():
        unable("node with @lhncbc/ucum-lhc is not installed; run tests/oracles/npm/install")
    codes = [code for code in generated(6_000) if code]
    ran = subprocess.run(
        ["node", "ucum.js"], cwd=NPM, input=json.dumps(codes), capture_output=True, text=True, check=True, timeout=300
    )
    theirs = dict(zip(codes, json.loads(ran.stdout), strict=True))
    assert 2000 < sum(theirs.values()) < 9000
    stricter = [code for code in codes if unit_problem(code) and theirs[code]]
    looser = [code for code in codes if not unit_problem(code) and not theirs[code]]
    assert [code for code in stricter if not PREFIXED_PLAIN.search(code)] == []
    assert [code for code in looser if not NOT_OF_A_RATIO.search(code) and not NEWER.search(code)] == []
