"""Asks of the family doctor: a Task where it is about the record, a ServiceRequest for everything else.

Oracle: the words of the asks, judged by hand; https://hl7.org/fhir/R4/task.html and request.html.
"""

from __future__ import annotations

from typing import Any

import pytest

from bridge.build.request import is_task
from bridge.check import check_bundle
from bridge.pipeline import letter_of
from bridge.receive import bundle_to_visits
from tests.care_visits import document, resources, visit

DOCTOR = {"key": "AG", "practice": "Aldersby Green"}


@pytest.mark.parametrize(
    "action",
    [
        "Please record the perforation", "code: exostosis", "Could you update the record, please.",
        "to add hearing aids to the record", "GP to forward this letter to the school", "copy to audiology",
        "pls tell the hospital", "note that the left drum has a scar", "Please, correct the spelling of the name",
    ],
)  # fmt: skip
def test_what_is_done_to_the_record_is_a_task(action: str) -> None:
    assert is_task(action)


@pytest.mark.parametrize(
    "action",
    [
        "Please examine the right drum", "look at the ear and record it", "record the finding and refer to ENT",
        "please add antibiotic drops", "antibiotic drops", "please", "something quite other",
        "recorded sounds bother her", "note: urgent review", "referral", "coding", "update: needs a swab",
    ],
)  # fmt: skip
def test_what_may_be_clinical_is_never_a_task(action: str) -> None:
    assert not is_task(action)


def test_a_task_says_all_that_the_ask_says_and_comes_back_in_its_place() -> None:
    asks: list[Any] = [
        "Please examine the drum",
        {
            "action": "Please record the scar",
            "ear": "left",
            "by_when": "2026-12-01",
            "reason": "a new scar",
        },
        "Please prescribe drops",
    ]
    made = visit(requests=asks, family_doctor=DOCTOR)
    bundle = document(made)
    assert bundle_to_visits(bundle) == ([made], [])
    assert [i for i in check_bundle(bundle) if i.rule != "B122"] == []
    (task,) = resources(bundle, "Task")
    assert len(resources(bundle, "ServiceRequest")) == 2
    assert (task["status"], task["intent"], task["description"]) == ("requested", "proposal", "Please record the scar")
    assert task["restriction"] == {"period": {"end": "2026-12-01"}}
    assert task["reasonCode"] == {"text": "a new scar"}
    doctor = next(o for o in resources(bundle, "Organization") if o.get("name") == "Aldersby Green")
    (patient,) = resources(bundle, "Patient")
    assert task["owner"] == {"reference": f"urn:uuid:{doctor['id']}"}
    assert task["for"] == {"reference": f"urn:uuid:{patient['id']}"}
    page = letter_of(bundle).content.decode()
    assert page.index("Please examine the drum") < page.index("Please record the scar") < page.index("prescribe drops")
    assert "By 1 December 2026" in page
    assert "Left ear." in page


def test_a_task_whose_words_name_the_other_ear_is_noticed() -> None:
    bundle = document(visit(requests=[{"action": "Please record the scar", "ear": "left"}]))
    (task,) = resources(bundle, "Task")
    task["description"] = "Please record the scar of the right drum"
    assert "C102" in {i.rule for i in check_bundle(bundle)}


def test_a_task_withdrawn_is_not_asked() -> None:
    bundle = document(visit(requests=["Please record the scar"]))
    (task,) = resources(bundle, "Task")
    task["status"] = "cancelled"
    assert "B121" in {i.rule for i in check_bundle(bundle)}
    assert [i.rule for i in bundle_to_visits(bundle)[1]] == ["X103"]
    assert "No request that is in force" in letter_of(bundle).content.decode()
