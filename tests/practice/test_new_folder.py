"""What a new practice.yaml says of settings that setup does not ask for."""

from __future__ import annotations

from pathlib import Path

import yaml

from bridge.practice.new_folder import practice_yaml
from bridge.practice.practice_yaml import read_settings

GOOD = yaml.safe_load((Path(__file__).parent / "good.yaml").read_text(encoding="utf-8"))


def test_the_set_of_codes_is_free_until_a_person_chooses() -> None:
    text = practice_yaml(GOOD)
    practice, issues = read_settings(text.encode())
    assert issues == []
    assert practice is not None
    assert practice.codes == "free"
    chosen, _ = read_settings(text.replace("# codes: free", "codes: licensed").encode())
    assert chosen is not None
    assert chosen.codes == "licensed"


def test_settings_that_are_given_stand_there_with_their_note() -> None:
    edition = "http://snomed.info/sct/900000000000207008/version/20260501"
    text = practice_yaml(GOOD | {"codes": "licensed", "snomed_version": edition})
    practice, issues = read_settings(text.encode())
    assert issues == []
    assert practice is not None
    assert (practice.codes, practice.snomed_version) == ("licensed", edition)
    assert text.count("explain M130") == 1
    assert "# codes: free" not in text
