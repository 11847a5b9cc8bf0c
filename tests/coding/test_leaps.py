"""From a medicine, a risk, a sign or a test to a state or a disorder is a step for the practitioner, not for a table.

Written by hand: words, their field, and what must not be read from them, as a code or as a concept of our own.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.coding import load_term_maps
from tests.coding.words_told import told

SUPPRESSED, COMPROMISED = "370391006", "370388006"
LEAPS = [
    *(("cautions", words, {SUPPRESSED, COMPROMISED, "caution-immunosuppressed"}) for words in (
        "steroids", "on steroids", "long term steroids", "prednisolone", "on prednisolone", "methotrexate", "chemo",
        "on chemo", "chemotherapy", "biologics", "on immunosuppressants", "immunosuppressive treatment", "HIV",
    )),
    ("cautions", "aspirin", {"caution-antiplatelet", "182764009"}),
    ("cautions", "bruises easily", {"caution-bleeding-disorder"}),
    ("cautions", "low platelets", {"caution-bleeding-disorder"}),
    ("cautions", "fits", {"caution-epilepsy"}),
    ("cautions", "cognitive impairment", {"caution-dementia"}),
    ("cautions", "learning difficulties", {"caution-learning-disability"}),
    ("cautions", "sensory issues", {"caution-autism"}),
    ("cautions", "parkinsons", {"caution-tremor"}),
    ("cautions", "mastoidectomy", {"caution-cavity"}),
    ("cautions", "radiotherapy", {"caution-radiotherapy"}),
    ("cautions", "speak clearly", {"caution-hard-of-hearing"}),
    ("right.history", "mastoid surgery", {"past-mastoidectomy"}),
    ("right.history", "radiotherapy", {"past-radiotherapy"}),
    ("right.history", "military service", {"past-noise"}),
    ("right.symptoms", "unsteady", {"404640003"}),
    ("right.symptoms", "discomfort", {"16001004"}),
    ("right.symptoms", "hearing", {"300228004"}),
    ("right.before.canal", "bony swellings", {"19560007"}),
    ("right.before.canal", "pustule", {"194204009"}),
    ("right.work.events", "fainted", {"398665005"}),
    ("right.work.events", "blackout", {"398665005"}),
    ("right.work.events", "discomfort", {"16001004"}),
    ("right.impressions", "effusion", {"80327007"}),
    ("right.impressions", "fluid behind drum", {"80327007"}),
    ("right.impressions", "chronic discharging ear", {"38394007"}),
    ("right.impressions", "noise damage", {"15188001"}),
    ("right.impressions", "TM intact", {"impression-none"}),
    ("right.work.method", "combination", {"method-combination"}),
]  # fmt: skip

STATED = [
    ("cautions", "immunosuppressed", SUPPRESSED),
    ("cautions", "immunocompromised", COMPROMISED),
    ("cautions", "immunosuppressive treatment", "86553008"),
    ("cautions", "on warfarin", "182764009"),
    ("right.work.events", "vasovagal", "398665005"),
    ("right.impressions", "OME", "80327007"),
    ("right.impressions", "CSOM", "38394007"),
    *(("right.symptoms", words, "15188001") for words in (
        "no hearing", "hearing gone", "hearing stopped", "no longer hearing", "not hearing", "hearing nil",
        "hearing: none", "deaf", "can't hear", "lost hearing", "cannot hear", "unable to hear",
    )),
]  # fmt: skip
"""Words that do say it."""


@pytest.mark.parametrize(("field", "words", "never"), LEAPS)
def test_a_word_says_no_more_than_itself(field: str, words: str, never: set[str], tmp_path: Path) -> None:
    [cell] = told(tmp_path, load_term_maps(), field, [words])
    assert cell.facts
    assert not never & {code.rpartition(" ")[2] for code in cell.codes}
    assert not never & {fact.concept for fact in cell.facts}


@pytest.mark.parametrize(("field", "words", "code"), STATED)
def test_a_word_that_says_it_is_read_so(field: str, words: str, code: str, tmp_path: Path) -> None:
    [cell] = told(tmp_path, load_term_maps(), field, [words])
    assert [c.rpartition(" ")[2] for c in cell.codes] == [code]
    assert {fact.assertion for fact in cell.facts} <= {"present", "past"}
    assert cell.rules == ()
