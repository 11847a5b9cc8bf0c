"""Profiles of every kind that authors write, and resources that conform or not; tests/cases/profiles says which.

The cases were written from the text of R4 apart from the checker: what they say stands until that text says otherwise.
"""

from __future__ import annotations

import json
from functools import cache

import pytest

from bridge.check.conformance import check_conformance
from bridge.check.profiles import Asked, check_profiles
from bridge.check.profiles.asked import asked_for
from bridge.issues import Issue, Severity
from bridge.profiles.library import Library
from tests.check.profiles.corpus import Case, cases, topics
from tests.check.profiles.rewritten import WAYS, needs_ids, rewritten

ALL = [case for topic in topics() for case in cases(topic)]
SEVERITIES = {"information": Severity.information, "warning": Severity.warning}


@cache
def asked(topic: str, profile: str) -> Asked:
    """Read once for all cases of a profile."""
    return Asked(library(topic), [profile] if profile else [])


@cache
def library(topic: str) -> Library:
    return asked_for([], cases(topic)[0].definitions).library


def found(case: Case) -> list[Issue]:
    topic = case.name.partition("[")[0]
    return check_profiles(case.resource, case.resource["resourceType"], asked(topic, case.profile))


def in_place(path: str, case: Case) -> bool:
    """Right there, at what stands around it, or at the value of the primitive that only has an extension."""
    around = case.at.rpartition(".")[0] or case.at
    return path.replace("._", ".") in (case.at, case.at.replace("._", "."), around)


@pytest.mark.parametrize("case", ALL, ids=lambda case: case.name)
def test_what_conforms_passes_and_what_does_not_is_told_in_its_place(case: Case) -> None:
    issues = found(case)
    errors = [i for i in issues if i.severity >= Severity.error]
    shown = [(i.rule, i.where.path, i.message) for i in issues]
    if case.valid:
        assert errors == [], (case.says, shown)
        if case.told:
            told = [i for i in issues if i.severity >= SEVERITIES[case.told]]
            assert any(not case.at or in_place(i.where.path, case) for i in told), (case.says, shown)
        return
    assert errors, (case.says, shown)
    placed = [i for i in errors if in_place(i.where.path, case)]
    assert placed, (case.says, case.at, shown)
    assert any(case.about in i.message for i in placed), (case.says, case.about, shown)


@pytest.mark.parametrize("case", ALL, ids=lambda case: case.name)
def test_the_profile_alone_is_at_fault(case: Case) -> None:
    assert [(i.rule, i.where.path) for i in check_conformance(case.resource) if i.severity >= Severity.error] == []


def test_there_are_enough_of_them() -> None:
    profiles = {json.dumps(d, sort_keys=True) for case in ALL for d in case.definitions}
    assert len(ALL) >= 500
    assert len(profiles) >= 150
    assert 0.35 < sum(case.valid for case in ALL) / len(ALL) < 0.6
    assert len({case.resource["resourceType"] for case in ALL}) >= 20


@pytest.mark.parametrize("topic", topics())
@pytest.mark.parametrize("way", WAYS)
def test_definitions_may_be_written_in_other_ways(topic: str, way: str) -> None:
    if way == "without ids":
        definitions = [d if needs_ids(d) else rewritten([d], way)[0] for d in cases(topic)[0].definitions]
    else:
        definitions = rewritten(cases(topic)[0].definitions, way)
    at_hand = asked_for([], definitions).library
    once: dict[str, Asked] = {}
    for case in cases(topic):
        if case.profile not in once:
            once[case.profile] = Asked(at_hand, [case.profile] if case.profile else [])
        issues = check_profiles(case.resource, case.resource["resourceType"], once[case.profile])
        errors = {(i.rule, i.where.path) for i in issues if i.severity >= Severity.error}
        assert errors == {(i.rule, i.where.path) for i in found(case) if i.severity >= Severity.error}, case.name
