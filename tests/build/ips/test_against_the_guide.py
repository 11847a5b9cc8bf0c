"""The document against IPS 2.0.0 as published, and against R4; and that nothing of any visit is lost in it.

Oracles: the published snapshots, read by tests/build/ips/guide.py, which knows nothing of the project; the visits'
own words; the documents of the single visits.
"""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.build import build_document
from bridge.check import check_bundle
from bridge.fhir.write_json import dumps
from bridge.issues import Severity, rules
from bridge.visit import Visit, terms_of
from tests.build.ips import guide
from tests.build.ips.some import (
    CLIENT,
    NAMESPACE,
    OTITIS,
    ZONE,
    first_code,
    generated,
    listed,
    resources,
    summary,
    visit,
    written,
)

Json = dict[str, Any]
PROBLEMS, PAST, RESULTS = "11450-4", "11348-0", "30954-2"
WHO = ("Patient", "Organization", "Practitioner", "PractitionerRole", "RelatedPerson")
"""Of whom the newest facts are told, member by member."""
some_visits = st.builds(generated, st.integers(0, 10**6), st.integers(1, 5))


@given(some_visits)
@settings(max_examples=15, deadline=None)
def test_it_is_what_the_guide_and_the_standard_demand(visits: list[Visit]) -> None:
    bundle = summary(*visits)
    assert guide.faults(bundle) == []
    conformance = [i for i in check_bundle(bundle) if not rules()[i.rule].trade]
    assert [i.message for i in conformance if i.severity >= Severity.error] == []


def test_the_oracle_sees_faults() -> None:
    """Every kind that it can tell, each broken into a document that is right."""
    plain = visit(1, right={"impressions": [{"term": OTITIS}], "work": [{"method": "suction"}]})
    assert guide.faults(summary(plain)) == []

    def broken(change: Any) -> list[str]:
        bundle = summary(plain)
        change(bundle, bundle["entry"][0]["resource"])
        return guide.faults(bundle)

    patient = next(i for i, e in enumerate(summary(plain)["entry"]) if e["resource"]["resourceType"] == "Patient")
    changes = {
        "birthDate: 0": lambda b, c: b["entry"][patient]["resource"].pop("birthDate"),
        "Bundle.identifier: 0": lambda b, c: b.pop("identifier"),
        "type: not the fixed": lambda b, c: b.update(type="collection"),
        "type: not the pattern": lambda b, c: c["type"]["coding"][0].update(code="34108-1"),
        "sectionProblems: 0": lambda b, c: c["section"].pop(0),
        "sectionAllergies: neither": lambda b, c: c["section"][1].pop("emptyReason"),
        "section.section: 1": lambda b, c: c["section"][0].update(section=[{"title": "x"}]),
        "section.text: 0": lambda b, c: c["section"][0].pop("text"),
        "sectionMedications: lists": lambda b, c: c["section"][2].update(entry=[c["subject"]]),
        "status: done is not": lambda b, c: c.update(status="done"),
        "claims none of": lambda b, c: b["entry"][patient]["resource"].pop("meta"),
    }
    assert {kind: any(kind in f for f in broken(change)) for kind, change in changes.items()} == dict.fromkeys(
        changes, True
    )


@given(some_visits)
@settings(max_examples=15, deadline=None)
def test_nothing_of_any_visit_is_lost(visits: list[Visit]) -> None:
    bundle = summary(*visits)
    text = json.dumps(bundle, ensure_ascii=False)
    for one in visits:
        for path, term in terms_of(one):
            assert json.dumps(term.text, ensure_ascii=False)[1:-1] in text, path
    here = {(r["resourceType"], key): sides(r) for e in bundle["entry"] for r in [e["resource"]] for key in keys(r)}
    newest = max((v for v in visits if v.sharing and v.sharing.status != "not asked"), key=start, default=None)
    for one in visits:
        single = json.loads(dumps(build_document(one, NAMESPACE, ZONE)))
        for resource in (e["resource"] for e in single["entry"][1:]):
            told_only = first_code(resource.get("scope")) == "patient-privacy" and one is not newest
            if resource["resourceType"] not in WHO and not told_only:
                for key in keys(resource):
                    assert here.get((resource["resourceType"], key)) == sides(resource)


def start(of: Visit) -> str:
    return of.start


def keys(resource: Json) -> list[str]:
    given = resource.get("identifier", [])
    return [f"{i.get('system')}|{i['value']}" for i in (given if isinstance(given, list) else [given]) if "value" in i]


def sides(resource: Json) -> str:
    return json.dumps(resource.get("bodySite"), sort_keys=True)


@given(some_visits)
@settings(max_examples=15, deadline=None)
def test_each_fact_stands_where_its_state_says(visits: list[Visit]) -> None:
    bundle = summary(*visits)
    problems, past = listed(bundle, PROBLEMS), listed(bundle, PAST)
    assert {first_code(c["clinicalStatus"]) for c in problems} <= {"active"}
    assert {first_code(c["clinicalStatus"]) for c in past} <= {"inactive", "resolved"}
    for condition in resources(bundle, "Condition"):
        denied = first_code(condition.get("verificationStatus")) == "refuted"
        active = first_code(condition["clinicalStatus"]) == "active"
        assert (condition in problems) == (active and not denied)
        assert not (denied and condition in past)
    thresholds = [r for r in resources(bundle, "Observation") if "dB" in json.dumps(r.get("valueQuantity", ""))]
    assert all(t in listed(bundle, RESULTS) for t in thresholds)


@given(some_visits)
@settings(max_examples=8, deadline=None)
def test_every_entry_can_be_reached_and_is_there_once(visits: list[Visit]) -> None:
    bundle = summary(*visits)
    urls = [e["fullUrl"] for e in bundle["entry"]]
    assert len(urls) == len(set(urls))
    assert [e["fullUrl"] for e in bundle["entry"]] == [f"urn:uuid:{e['resource']['id']}" for e in bundle["entry"]]
    referred = set(references(bundle))
    assert referred <= set(urls)
    unreached = [e["resource"]["resourceType"] for e in bundle["entry"][1:] if e["fullUrl"] not in referred]
    assert set(unreached) <= {"Provenance"}, "a Provenance points to what it is about, not the other way round"


def references(node: Any) -> list[str]:
    if isinstance(node, list):
        return [r for item in node for r in references(item)]
    if not isinstance(node, dict):
        return []
    own = [node["reference"]] if isinstance(node.get("reference"), str) and node["reference"][0] != "#" else []
    return own + [r for value in node.values() for r in references(value)]


@given(some_visits, st.randoms(use_true_random=False))
@settings(max_examples=8, deadline=None)
def test_the_same_visits_give_the_same_bytes_in_any_order(visits: list[Visit], rng: Any) -> None:
    mixed = list(visits)
    rng.shuffle(mixed)
    assert written(*visits) == written(*mixed)


@pytest.mark.parametrize("birth_date", [None, "1950", "1950-03-04"])
def test_a_birth_date_that_is_not_known_says_so(birth_date: str | None) -> None:
    (patient,) = resources(summary(visit(1, client={**CLIENT, "birth_date": birth_date})), "Patient")
    assert patient.get("birthDate") == birth_date
    absent = [e["valueCode"] for e in patient.get("_birthDate", {}).get("extension", ())]
    assert absent == ([] if birth_date else ["unknown"])
