"""What a new practice.yaml says of settings that setup does not ask for."""

from __future__ import annotations

from pathlib import Path

import yaml

from bridge.practice.new_folder import _NOTES, practice_yaml
from bridge.practice.practice_yaml import read_settings
from bridge.practice.settings import Practice

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


def test_packages_and_a_server_are_kept_and_shown_where_none_is_named() -> None:
    """A setting without its place here would be dropped from what a person answers."""
    named = {"packages": ["their.tgz"], "terminology_server": {"address": "https://tx.example.org/r4", "seconds": 9}}
    practice, issues = read_settings(practice_yaml(GOOD | named).encode())
    assert practice is not None, issues
    assert practice.packages == ("their.tgz",)
    assert practice.terminology_server is not None
    assert practice.terminology_server.seconds == 9
    text = practice_yaml(GOOD)
    for note, setting in (("# packages: [", "packages: ["), ("# terminology_server: {", "terminology_server: {")):
        assert note in text
        practice, issues = read_settings(
            text.replace(note, setting).replace("https://...", "https://a.example").encode()
        )
        assert practice is not None, issues
        assert getattr(practice, setting.partition(":")[0])
    assert set(Practice.model_fields) == set(_NOTES)
