"""LOINC codes of hearing thresholds: numbers follow no rule, so the whole table is held to others.

Oracle: the table of codes verified by hand against published value sets and guides (`reference`), and LOINC's own
names in mappings/codes/loinc.csv, which say the ear and the frequency in words.
"""

from __future__ import annotations

import re

import pytest

from bridge.data import load_csv, table_path
from bridge.fhir.own import coding
from bridge.fhir.thresholds import threshold_code, threshold_ear
from tests.test_mappings import reference

NAME = re.compile(r"Hearing threshold Ear - (left|right) --(\d+) Hz")
TABLE = {(row["ear"], int(row["frequency"])): row["code"] for row in load_csv(table_path("hearing-thresholds.csv"))}


def test_the_table_is_the_verified_one() -> None:
    verified = {}
    for row in reference("other-codes.csv"):
        if row["system_uri"] == "http://loinc.org" and (named := NAME.fullmatch(row["display"])):
            assert row["confidence"] == "confirmed2", row["code"]
            verified[named[1], int(named[2])] = f"loinc:{row['code']}"
    assert len(verified) == 22
    assert verified == TABLE


@pytest.mark.parametrize(("ear", "frequency"), list(TABLE))
def test_the_name_of_a_code_says_its_ear_and_frequency(ear: str, frequency: int) -> None:
    found = coding(TABLE[ear, frequency])
    assert found["display"] == f"Hearing threshold Ear - {ear} --{frequency} Hz"
    assert threshold_ear(found["code"]) == ear


def test_each_code_stands_once() -> None:
    assert len(set(TABLE.values())) == len(TABLE) == 22


def test_codes_that_are_often_taken_for_others() -> None:
    """Met in published questionnaires: 89018-6 as right 8000 Hz, 89017-8 as left 500 Hz."""
    assert threshold_code("left", 2000, "air") == "loinc:89018-6"
    assert threshold_code("right", 1000, "air") == "loinc:89017-8"
    assert threshold_code("right", 250, "air") == "loinc:91374-9"
    assert threshold_code("left", 250, "air") == "loinc:91375-6"


def test_what_has_no_code_gets_none() -> None:
    assert threshold_code("right", 125, "air") is None
    assert threshold_code("left", 1000, "bone") is None
    assert threshold_ear("89015-2") is None
