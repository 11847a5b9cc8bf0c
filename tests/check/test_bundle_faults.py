"""Bundles broken on purpose: every fault must be told under its rule and at its place, and nothing else with it.

Oracle: published documents, transactions, messages and searches (R4 4.0.1 and IPS 2.0.0) and the demo's own bundles.
Untouched they are clean of the rules under test; the faults are plain edits of their data.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from bridge.check import gate
from bridge.check.conformance import careful, check_conformance
from bridge.fhir.read_json import read_json
from bridge.issues import Severity
from tests.standards import standards_file, standards_folder
from tests.work import work

ROOT = Path(__file__).parents[2]
EXAMPLES = "fhir-r4-examples"
NOWHERE = "urn:uuid:00000000-0000-4000-8000-00000000dead"
OTHER = "urn:uuid:00000000-0000-4000-8000-00000000beef"
DOCUMENTS = [
    f"{EXAMPLES}/ips/Bundle-bundle-ips-all-sections.json",
    f"{EXAMPLES}/ips/Bundle-IPS-examples-Bundle-01.json",
]
OWN_DOCUMENTS = ["demo_bundles/M26-0101.bundle.json", "demo_bundles/M26-0127.referral.bundle.json"]
TRANSACTIONS = [
    f"{EXAMPLES}/Bundle-bundle-transaction.json",
    "demo_bundles/transactions/M26-0101.transaction.bundle.json",
]
ANSWER = f"{EXAMPLES}/Bundle-bundle-response.json"
SEARCH = f"{EXAMPLES}/Bundle-bundle-example.json"
MESSAGE = f"{EXAMPLES}/Bundle-10bb101f-a121-4264-a920-67be9cb82c74.json"
COLLECTION = f"{EXAMPLES}/Bundle-lipids.json"
BATCH = f"{EXAMPLES}/Bundle-bundle-request-medsallergies.json"
Told = set[tuple[str, str]]
"""Rule and place."""
Breaks = Callable[[Any], Told]
"""Changes a bundle and says what must be told of it; nothing where it could not."""


def read(name: str) -> Any:
    path = ROOT / name if name.startswith("demo_bundles") else standards_file(name)
    return read_json(path.read_bytes())[0]


def references(node: Any, path: str) -> Iterator[tuple[str, Any]]:
    """Every literal reference that leads out of its resource, with its path."""
    if isinstance(node, dict):
        if isinstance(node.get("reference"), str) and node["reference"][:1] != "#":
            yield path, node
        for key, value in node.items():
            yield from references(value, f"{path}.{key}")
    elif isinstance(node, list):
        for at, value in enumerate(node):
            yield from references(value, f"{path}[{at}]")


def entry_references(bundle: Any, at: int) -> list[tuple[str, Any]]:
    return list(references(bundle["entry"][at].get("resource", {}), f"Bundle.entry[{at}].resource"))


def at_request(bundle: Any, method: str) -> int:
    return next((n for n, e in enumerate(bundle["entry"]) if e["request"]["method"] == method), -1)


def unknown_uuid(bundle: Any) -> Told:
    path, node = entry_references(bundle, len(bundle["entry"]) // 2)[0]
    node["reference"] = NOWHERE
    return {("B104" if bundle["type"] == "document" else "B130", path)}


def unknown_id(bundle: Any) -> Told:
    at = next(n for n in range(1, len(bundle["entry"])) if entry_references(bundle, n))
    path, node = entry_references(bundle, at)[0]
    type = next(e["resource"] for e in bundle["entry"] if e["fullUrl"].endswith(node["reference"]))["resourceType"]
    node["reference"] = f"{type}/not-in-here"
    return {("B104", path)}


def composition_leads_out(bundle: Any) -> Told:
    bundle["entry"][0]["resource"]["encounter"] = {"reference": "https://elsewhere.example.org/fhir/Encounter/1"}
    return {("B105", "Bundle.entry[0].resource.encounter")}


def section_leads_out(bundle: Any) -> Told:
    bundle["entry"][0]["resource"]["section"].append(
        {"title": "More", "entry": [{"reference": "https://elsewhere.example.org/fhir/Observation/1"}]}
    )
    last = len(bundle["entry"][0]["resource"]["section"]) - 1
    return {("B105", f"Bundle.entry[0].resource.section[{last}].entry[0]")}


def no_longer_named(bundle: Any) -> Told:
    """The last entry that cannot stand apart loses every reference that leads to it."""
    at = max(n for n, e in enumerate(bundle["entry"]) if e["resource"]["resourceType"] != "Provenance")
    last = bundle["entry"][at]
    names = {last["fullUrl"], f"{last['resource']['resourceType']}/{last['resource'].get('id')}"}
    for _, node in references(bundle, "Bundle"):
        if node["reference"] in names:
            del node["reference"]
            node["display"] = "taken out"
    return {("B106" if entry_references(bundle, at) else "B157", f"Bundle.entry[{at}]")}


def a_stranger(bundle: Any) -> Told:
    bundle["entry"].append({"fullUrl": NOWHERE, "resource": {"resourceType": "Basic", "code": {"text": "a"}}})
    return {("B157", f"Bundle.entry[{len(bundle['entry']) - 1}]")}


def not_a_style_sheet(bundle: Any) -> Told:
    picture = {"resourceType": "Binary", "contentType": "image/png", "data": "YQ=="}
    bundle["entry"].append({"fullUrl": NOWHERE, "resource": picture})
    return {("B157", f"Bundle.entry[{len(bundle['entry']) - 1}]")}


def provenance_of_others(bundle: Any) -> Told:
    source = {"resourceType": "Provenance", "recorded": "2026-05-03T10:00:00Z", "agent": [{"who": {"display": "a"}}]}
    source["target"] = [{"reference": "https://elsewhere.example.org/fhir/Composition/1"}]
    bundle["entry"].append({"fullUrl": NOWHERE, "resource": source})
    return {("B157", f"Bundle.entry[{len(bundle['entry']) - 1}]")}


def no_full_url(bundle: Any) -> Told:
    """Of an entry that nothing but itself would miss."""
    added = {"resource": {"resourceType": "Basic", "id": "a", "code": {"text": "a"}}}
    bundle["entry"].append(added)
    at = len(bundle["entry"]) - 1
    apart = {("B157", f"Bundle.entry[{at}]")} if bundle["type"] == "document" else set()
    return {("B103", f"Bundle.entry[{at}]")} | apart


def relative_full_url(bundle: Any) -> Told:
    bundle["entry"].append(
        {"fullUrl": "Basic/a", "resource": {"resourceType": "Basic", "id": "a", "code": {"text": "a"}}}
    )
    at = len(bundle["entry"]) - 1
    apart = {("B157", f"Bundle.entry[{at}]")} if bundle["type"] == "document" else set()
    return {("B101", f"Bundle.entry[{at}].fullUrl")} | apart


def other_id(bundle: Any) -> Told:
    if not bundle["entry"][0]["fullUrl"].startswith("http"):
        return set()
    bundle["entry"][0]["resource"]["id"] = "another"
    return {("B102", "Bundle.entry[0].fullUrl")}


def no_id(bundle: Any) -> Told:
    if not bundle["entry"][0]["fullUrl"].startswith("http"):
        return set()
    del bundle["entry"][0]["resource"]["id"]
    return {("B140", "Bundle.entry[0].resource")}


def wrong_type(bundle: Any) -> Told:
    """A reference to a Patient is led to the first entry, which is none."""
    patients = {e["fullUrl"] for e in bundle["entry"] if e.get("resource", {}).get("resourceType") == "Patient"}
    for at in range(1, len(bundle["entry"])):
        for path, node in entry_references(bundle, at):
            if path.endswith((".subject", ".patient")) and any(p.endswith(node["reference"]) for p in patients):
                node["reference"] = bundle["entry"][0]["fullUrl"]
                return {("B107", path)}
    return set()


def told_type(bundle: Any) -> Told:
    path, node = entry_references(bundle, 0)[0]
    node["type"] = "Substance"
    return {("B108", path)}


def no_form(bundle: Any) -> Told:
    at = next(n for n in range(len(bundle["entry"]) - 1, 0, -1) if entry_references(bundle, n))
    path, node = entry_references(bundle, at)[-1]
    node["reference"] = "the one from last week"
    return {("B153", path)}


def into_another(bundle: Any) -> Told:
    at = next(n for n in range(len(bundle["entry"]) - 1, 0, -1) if entry_references(bundle, n))
    path, node = entry_references(bundle, at)[-1]
    node["reference"] = "Medication/1#ingredient"
    return {("B154", path)}


def post_with_id(bundle: Any) -> Told:
    at = at_request(bundle, "POST")
    bundle["entry"][at]["request"]["url"] += "/17"
    return {("B111", f"Bundle.entry[{at}].request.url")}


def post_of_another_type(bundle: Any) -> Told:
    at = at_request(bundle, "POST")
    bundle["entry"][at]["request"]["url"] = "Substance"
    return {("B111", f"Bundle.entry[{at}].request.url")}


def post_of_no_type(bundle: Any) -> Told:
    at = at_request(bundle, "POST")
    bundle["entry"][at]["request"]["url"] += "s"
    return {("B111", f"Bundle.entry[{at}].request.url")}


def put_without_id(bundle: Any) -> Told:
    at = at_request(bundle, "PUT")
    if at >= 0:
        bundle["entry"][at]["request"]["url"] = bundle["entry"][at]["resource"]["resourceType"]
    return {("B111", f"Bundle.entry[{at}].request.url")} if at >= 0 else set()


def put_of_another(bundle: Any) -> Told:
    at = at_request(bundle, "PUT")
    if at < 0 or "?" in bundle["entry"][at]["request"]["url"]:
        return set()
    bundle["entry"][at]["request"]["url"] += "0"
    return {("B111", f"Bundle.entry[{at}].request.url")}


def nothing_to_post(bundle: Any) -> Told:
    bundle["entry"].append({"request": {"method": "POST", "url": "Basic"}})
    return {("B112", f"Bundle.entry[{len(bundle['entry']) - 1}]")}


def too_much_to_delete(bundle: Any) -> Told:
    basic = {"resourceType": "Basic", "code": {"text": "a"}}
    bundle["entry"].append({"resource": basic, "request": {"method": "DELETE", "url": "Basic/1"}})
    return {("B112", f"Bundle.entry[{len(bundle['entry']) - 1}].resource")}


def condition_with_type(bundle: Any) -> Told:
    at = at_request(bundle, "POST")
    bundle["entry"][at]["request"]["ifNoneExist"] = "Patient?identifier=https://example.org/id|7"
    return {("B113", f"Bundle.entry[{at}].request.ifNoneExist")}


def changed_twice(bundle: Any) -> Told:
    for _ in range(2):
        bundle["entry"].append({"request": {"method": "DELETE", "url": "Basic/1"}})
    return {("B144", f"Bundle.entry[{len(bundle['entry']) - 1}].request")}


def bare_version(bundle: Any) -> Told:
    bundle["entry"].append({"request": {"method": "DELETE", "url": "Basic/1", "ifMatch": "3"}})
    return {("B145", f"Bundle.entry[{len(bundle['entry']) - 1}].request.ifMatch")}


def whole_resource_as_patch(bundle: Any) -> Told:
    basic = {"resourceType": "Basic", "code": {"text": "a"}}
    bundle["entry"].append({"resource": basic, "request": {"method": "PATCH", "url": "Basic/1"}})
    return {("B152", f"Bundle.entry[{len(bundle['entry']) - 1}].resource")}


def counts_on_another(bundle: Any) -> Told:
    bundle["type"] = "batch"
    created = {e["fullUrl"] for e in bundle["entry"] if e["request"]["method"] == "POST"}
    found = [r for n in range(len(bundle["entry"])) for r in entry_references(bundle, n)]
    return {("B146", path) for path, node in found if node["reference"] in created}


def word_for_status(bundle: Any) -> Told:
    bundle["entry"][0]["response"]["status"] = "Created"
    return {("B147", "Bundle.entry[0].response.status")}


def other_version(bundle: Any) -> Told:
    bundle["entry"][0]["response"]["etag"] = 'W/"9"'
    return {("B148", "Bundle.entry[0].response.etag")}


def outcome_of_another_type(bundle: Any) -> Told:
    bundle["entry"][0]["response"]["outcome"] = {"resourceType": "Basic", "code": {"text": "a"}}
    return {("B150", "Bundle.entry[0].response.outcome")}


def outcome_among_matches(bundle: Any) -> Told:
    bundle["entry"][0]["search"]["mode"] = "outcome"
    return {("B162", "Bundle.entry[0].search.mode")}


def total_too_small(bundle: Any) -> Told:
    bundle["total"] = 0
    return {("B163", "Bundle.total")}


def no_link_to_itself(bundle: Any) -> Told:
    bundle["link"] = [link for link in bundle["link"] if link["relation"] != "self"]
    return {("B160", "Bundle")}


def focus_elsewhere(bundle: Any) -> Told:
    bundle["entry"][0]["resource"]["focus"][0]["reference"] = "https://elsewhere.example.org/fhir/Patient/pat1"
    return {("B159", "Bundle.entry[0].resource.focus[0]")}


def contained_twice(bundle: Any) -> Told:
    twice = [{"resourceType": "Organization", "id": "o", "name": "a"}] * 2
    last = bundle["entry"][-1]["resource"]
    last["contained"] = copy.deepcopy(twice)
    last["extension"] = [{"url": "https://example.org/a", "valueReference": {"reference": "#o"}}]
    return {("B165", f"Bundle.entry[{len(bundle['entry']) - 1}].resource.contained[1].id")}


def element_ids_twice(bundle: Any) -> Told:
    last = bundle["entry"][-1]["resource"]
    last["extension"] = [{"id": "a", "url": f"https://example.org/{n}", "valueString": "a"} for n in range(2)]
    return {("B166", f"Bundle.entry[{len(bundle['entry']) - 1}].resource.extension[1].id")}


IN_ALL = [no_form, into_another, contained_twice, element_ids_twice]
IN_DOCUMENTS = [
    *IN_ALL, unknown_uuid, composition_leads_out, section_leads_out, no_longer_named, a_stranger, not_a_style_sheet,
    provenance_of_others, no_full_url, relative_full_url, other_id, no_id, wrong_type, told_type,
]  # fmt: skip
IN_TRANSACTIONS = [
    post_with_id, post_of_another_type, post_of_no_type, put_without_id, put_of_another, nothing_to_post,
    too_much_to_delete, condition_with_type, changed_twice, bare_version, whole_resource_as_patch,
]  # fmt: skip
FAULTS: list[tuple[str, Breaks]] = [
    *((name, fault) for name in [*DOCUMENTS, *OWN_DOCUMENTS] for fault in IN_DOCUMENTS),
    (DOCUMENTS[0], unknown_id),
    *((name, fault) for name in TRANSACTIONS for fault in IN_TRANSACTIONS),
    (TRANSACTIONS[1], unknown_uuid),
    (TRANSACTIONS[1], no_form),
    (TRANSACTIONS[1], counts_on_another),
    (ANSWER, word_for_status),
    (ANSWER, other_version),
    (ANSWER, outcome_of_another_type),
    (SEARCH, outcome_among_matches),
    (SEARCH, total_too_small),
    (SEARCH, no_link_to_itself),
    (SEARCH, no_full_url),
    (MESSAGE, focus_elsewhere),
    (MESSAGE, no_full_url),
    (COLLECTION, no_full_url),
    (COLLECTION, other_id),
    (COLLECTION, no_id),
]
FOLLOWS = {
    other_id: {"B104", "B157", "B106", "B131"},
    no_id: {"B104", "B157", "B106", "B131"},
    no_full_url: {"B161"},
    unknown_uuid: {"B106", "B157"},
    unknown_id: {"B106", "B157"},
    no_form: {"B106", "B157"},
    into_another: {"B106", "B157"},
    wrong_type: {"B106", "B157"},
    told_type: {"B107"},
    focus_elsewhere: {"B131"},
    contained_twice: {"V121"},
    outcome_among_matches: {"B163"},
}
"""What else may be told, for it follows from the fault."""


@pytest.fixture(autouse=True, params=[0, 10**9], ids=["gate", "walk"])
def _way(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gate, "WORTH", request.param)


def told(bundle: Any) -> Told:
    return {
        (i.rule, i.where.path)
        for i in check_conformance(bundle)
        if i.severity > Severity.information or i.rule[0] == "B"
    }


def has_a_place(name: str, fault: Breaks) -> bool:
    """Whether a bundle has what a fault breaks; yes for a published one that is not here, which the test tells."""
    there = name.startswith("demo_bundles") or (standards_folder() / name).exists()
    return not there or bool(fault(read(name)))


TRIED = [(name, fault) for name, fault in FAULTS if has_a_place(name, fault)]


def test_every_fault_has_a_place_somewhere() -> None:
    assert {fault for _, fault in TRIED} == {fault for _, fault in FAULTS}


@pytest.mark.parametrize(("name", "fault"), TRIED, ids=lambda v: getattr(v, "__name__", Path(str(v)).stem[-24:]))
def test_a_fault_is_told_at_its_place(name: str, fault: Breaks) -> None:
    whole = read(name)
    before = told(whole)
    broken = copy.deepcopy(whole)
    expected = fault(broken)
    assert expected
    new = told(broken) - before
    assert expected <= new
    assert {rule for rule, _ in new - expected} <= FOLLOWS.get(fault, set())


@pytest.mark.parametrize("fault", [unknown_uuid, a_stranger, no_full_url, no_form])
@pytest.mark.parametrize("around", ["entry", "parameter", "deep"])
def test_a_bundle_within_another_is_looked_at_too(fault: Breaks, around: str) -> None:
    """A nested document is judged by itself; the bundle around it answers none of its references."""
    inner = read(OWN_DOCUMENTS[0])
    expected = fault(inner)
    if around == "parameter":
        outer = {"resourceType": "Parameters", "parameter": [{"name": "a", "resource": inner}]}
        prefix = "Parameters.parameter[0].resource"
    else:
        rest = copy.deepcopy(read(OWN_DOCUMENTS[0])["entry"][1:])
        outer = {
            "resourceType": "Bundle",
            "type": "collection",
            "entry": [{"fullUrl": OTHER, "resource": inner}, *rest],
        }
        prefix = "Bundle.entry[0].resource"
    if around == "deep":
        outer = {"resourceType": "Bundle", "type": "collection", "entry": [{"fullUrl": OTHER, "resource": outer}]}
        prefix = "Bundle.entry[0].resource.entry[0].resource"
    found = {(r, p) for r, p in told(outer) if r[0] == "B"}
    assert {(rule, prefix + path.removeprefix("Bundle")) for rule, path in expected} <= found


def test_the_way_grows_with_the_bundle_and_no_faster() -> None:
    """A document of 4,000 entries, each naming the one before, takes about ten times as long as one of 400."""

    def document(count: int) -> Any:
        flags = [
            {"resourceType": "Flag", "id": f"f{n}", "status": "active", "code": {"text": "a"},
             "subject": {"reference": "Patient/p"}, "extension": [
                {"url": "https://example.org/a", "valueReference": {"reference": f"Flag/f{max(n - 1, 0)}"}}]}
            for n in range(count)
        ]  # fmt: skip
        base = read(DOCUMENTS[0])
        first = copy.deepcopy(base["entry"][0])
        first["resource"]["section"] = [{"title": "a", "entry": [{"reference": f"Flag/f{count - 1}"}]}]
        server = first["fullUrl"].removesuffix(f"Composition/{first['resource']['id']}")
        person = {"fullUrl": f"{server}Patient/p", "resource": {"resourceType": "Patient", "id": "p"}}
        return {
            **base,
            "entry": [first, person, *({"fullUrl": f"{server}Flag/{f['id']}", "resource": f} for f in flags)],
        }

    def cost(count: int) -> int:
        data = document(count)
        assert "B157" not in {i.rule for i in careful(data)}
        return work(lambda: careful(data))

    assert cost(1_000) < 12 * cost(100)
