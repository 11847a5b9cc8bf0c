"""practice.yaml: what is good is taken, all that is wrong is told at once with its line."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.issues import Severity
from bridge.practice.practice_yaml import read_settings

GOOD = (Path(__file__).parent / "good.yaml").read_text(encoding="utf-8")


def found(text: str) -> list[tuple[str, int | None, str]]:
    """Rule, line and path of each issue."""
    _, issues = read_settings(text.encode())
    return [(i.rule, i.where.row, i.where.path) for i in issues]


def test_good_settings_are_taken_as_written() -> None:
    practice, issues = read_settings(GOOD.encode())
    assert issues == []
    assert practice is not None
    assert practice.clinic.name == "Fernhollow Ear Clinic"
    assert practice.practitioners[0].registrations[0].number == "0000001"
    assert practice.practitioners[1].no_register is True
    assert str(practice.zone) == "Europe/London"
    assert practice.nhs_numbers == "as recorded"
    assert practice.layout_for("anything.csv") is None


EDITION = "http://snomed.info/sct/900000000000207008/version/20260501"
NAMED = "region: uk\ncodes: licensed\nsnomed_version: "


def test_codes_are_free_unless_the_practice_says_otherwise() -> None:
    practice, _ = read_settings(GOOD.encode())
    assert practice is not None
    assert (practice.codes, practice.snomed_version) == ("free", None)
    practice, issues = read_settings(f"{GOOD}codes: licensed\nsnomed_version: {EDITION}\n".encode())
    assert issues == []
    assert practice is not None
    assert (practice.codes, practice.snomed_version) == ("licensed", EDITION)


CHANGES = {
    "not YAML": ("region: uk", "region: [uk", [("R301", 20, "")]),
    "unknown": ("region: uk", "region: uk\nregoin: uk", [("R302", 20, "regoin")]),
    "unknown inside": ("  hours: ", "  hour: x\n  hours: ", [("R302", 5, "clinic.hour")]),
    "missing": ("region: uk\n", "", [("R303", 1, "region")]),
    "empty is missing": ("region: uk\n", "region:\n", [("R303", 19, "region")]),
    "missing inside": ("  name: Fernhollow Ear Clinic\n", "", [("R303", 1, "clinic.name")]),
    "missing role": ("  role: Ear-care practitioner\n  no_", "  no_", [("R303", 12, "practitioners[1].role")]),
    "value": ("region: uk", "region: mars", [("R304", 19, "region")]),
    "not a list": ("[1 High Street]", "1 High Street", [("R304", 3, "clinic.address.lines")]),
    "not yes or no": ("no_register: true", "no_register: perhaps", [("R304", 15, "practitioners[1].no_register")]),
    "no day": ("2026-02-01", "2026-02-30", [("R304", 16, "practitioners[1].valid_from")]),
    "no whole day": ("2026-02-01", "2026-02", [("R304", 16, "practitioners[1].valid_from")]),
    "dates turned round": ("2026-06-30", "2026-01-31", [("R304", 12, "practitioners[1]")]),
    "zone": ("Europe/London", "Europe/Londres", [("R305", 18, "time_zone")]),
    "zone out of the folder": ("Europe/London", "../../etc/passwd", [("R305", 18, "time_zone")]),
    "neither": ("  no_register: true\n", "", [("R306", 12, "practitioners[1]")]),
    "both": ("  valid_from", "  registrations: [{register: gmc, number: '0000002'}]\n  valid_from", [
        ("R306", 12, "practitioners[1]")]),
    "register": ("gmc", "abc", [("R307", 11, "practitioners[0].registrations[0].register")]),
    "number": ('"0000001"', "12345", [("R308", 11, "practitioners[0].registrations[0].number")]),
    "same key": ("key: CD", "key: ab", [("R309", 12, "practitioners[1]")]),
    "same name": ("[Carl], family: Dunmore", "[Anna], family: BELLHAVEN", [("R309", 12, "practitioners[1]")]),
    "no phone": ("  phone: 01632 960777\n", "", [("R310", 1, "clinic")]),
    "phone": ("01632 960777", "ask at the desk", [("R312", 4, "clinic.phone")]),
    "phone too short": ("01632 960777", "\"0163\"", [("R312", 4, "clinic.phone")]),
    "e-mail": ("  hours: ", "  email: hello(at)example\n  hours: ", [("R312", 5, "clinic.email")]),
    "hours": ("Mon-Fri 9-5", "now", [("R312", 5, "clinic.hours")]),
    "no namespace": ("namespace: 2d1f6a34-7c0e-4a55-8b7e-1f0a5f0e9c11\n", "", [("R311", 1, "namespace")]),
    "namespace": ("2d1f6a34-7c0e", "2d1f6a34", [("R311", 20, "namespace")]),
    "set of codes": ("region: uk", "region: uk\ncodes: full", [("M130", 20, "codes")]),
    "edition in words": ("region: uk", f"{NAMED}UK 2026", [("M131", 21, "snomed_version")]),
    "edition with a slip": ("region: uk", NAMED + EDITION.replace("sct", "stc"), [("M131", 21, "snomed_version")]),
    "edition of no day": ("region: uk", f"{NAMED}{EDITION[:-2]}32", [("M131", 21, "snomed_version")]),
    "edition of no module": ("region: uk", NAMED + EDITION.replace("7008", "7009"), [("M131", 21, "snomed_version")]),
    "edition of free codes": ("region: uk", f"region: uk\nsnomed_version: {EDITION}", [("M132", 20, "snomed_version")]),
    "server without a scheme": ("region: uk", "region: uk\nterminology_server: {address: tx.example.org}", [
        ("R304", 20, "terminology_server.address")]),
    "too slow a server": ("region: uk", "region: uk\nterminology_server: {address: 'https://a.example', seconds: 90}", [
        ("R304", 20, "terminology_server.seconds")]),
    "namespace not random": ("-4a55-", "-1a55-", [("R311", 20, "namespace")]),
}  # fmt: skip


@pytest.mark.parametrize(("old", "new", "expected"), CHANGES.values(), ids=CHANGES)
def test_one_thing_wrong(old: str, new: str, expected: list[tuple[str, int, str]]) -> None:
    assert old in GOOD
    text = GOOD.replace(old, new, 1)
    practice, issues = read_settings(text.encode())
    assert [(i.rule, i.where.row, i.where.path) for i in issues] == expected
    assert (practice is None) == any(i.severity >= Severity.error for i in issues)
    assert all(i.help for i in issues)


def test_all_problems_at_once() -> None:
    text = GOOD
    for old, new in (("gmc", "abc"), ("  hours", "  hors"), ("Europe/London", "Mars"), ("key: CD", "key: ab")):
        text = text.replace(old, new, 1)
    assert [code for code, _, _ in found(text)] == ["R310", "R302", "R307", "R309", "R305"]


@pytest.mark.parametrize(
    "phone", ["01632 960777", "+44 (0)1632 960777", "01632/960-777", "01632 960777 ext. 12", "116117"]
)
def test_phone_numbers_of_every_shape_are_known(phone: str) -> None:
    assert found(GOOD.replace("01632 960777", f'"{phone}"')) == []


@pytest.mark.parametrize("content", [b"", b"- a\n- b\n", b"just words\n", b"\xff\xfe\x00"])
def test_what_is_no_settings_at_all(content: bytes) -> None:
    practice, issues = read_settings(content)
    assert practice is None
    assert [i.rule for i in issues] == ["R301"]


def test_layouts_by_pattern_and_alone() -> None:
    many, _ = read_settings((GOOD + 'layouts: {"ears-*.csv": per-ear, "*": per-visit}\n').encode())
    one, _ = read_settings((GOOD + "layouts: per-visit\n").encode())
    assert many is not None
    assert one is not None
    assert [many.layout_for(name) for name in ("ears-2026.csv", "x.xlsx")] == ["per-ear", "per-visit"]
    assert one.layout_for("x.xlsx") == "per-visit"


def test_what_is_wrong_with_a_server_is_told_in_plain_words() -> None:
    _, issues = read_settings(f"{GOOD}terminology_server: {{address: tx.example.org, seconds: 0}}\n".encode())
    assert [i.message for i in issues] == [
        "The setting terminology_server.address is no address of a server, such as https://tx.example.org/r4.",
        "The setting terminology_server.seconds must be 1 at least.",
    ]
