"""What is suspected, denied or past never reads as a finding, nor as done, to a reader who knows CDA alone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import Any

import pytest
from lxml import etree

from bridge.cda.oids import root_of
from bridge.visit import Term, Visit, terms_of
from tests.cda.documents import MANY
from tests.cda.entries import naive
from tests.cda.entries.some import act, clinical, context_of, in_document, visit_of

ID = "30a3c696-41bb-534a-bcca-84010929d2f6"
DISEASE = {"coding": [{"system": "http://snomed.info/sct", "code": "3135009"}], "text": "otitis externa"}
"""3135009 Otitis externa."""
CODE = ("2.16.840.1.113883.6.96", "3135009")
OWN = "urn:oid:2.25.315634712590341250083437118789586142799"


def status(system: str, code: str) -> Any:
    return {"coding": [{"system": f"http://terminology.hl7.org/CodeSystem/{system}", "code": code}]}


def said(text: str) -> Any:
    return {"status": "generated", "div": f'<div xmlns="http://www.w3.org/1999/xhtml"><p>{text}</p></div>'}


def condition(verification: str | None, clinical: str = "active", text: str = "Otitis externa suspected.") -> Any:
    verified = {"verificationStatus": status("condition-ver-status", verification)} if verification else {}
    return {
        "resourceType": "Condition",
        "id": ID,
        "clinicalStatus": status("condition-clinical", clinical),
        **verified,
        "code": DISEASE,
        "text": said(text),
    }


def codes_of(terms: Iterable[Term]) -> set[tuple[str, str]]:
    return {(root_of(c.system)[0], c.code) for term in terms for c in term.codings}


def told(visit: Visit, *assertions: str) -> list[tuple[str, Term]]:
    return [(path, term) for path, term in terms_of(visit) if term.assertion in assertions]


def is_statement(path: str) -> bool:
    """Whether a field states something found, felt or happened now; a medicine is taken, a caution stands."""
    return (
        path.endswith(".term") and not path.startswith(("cautions", "allergies", "advice")) and ".history[" not in path
    )


@pytest.mark.parametrize("verification", ["provisional", "differential", "unconfirmed", None])
def test_an_impression_that_is_not_sure_has_no_value(verification: str | None) -> None:
    root = in_document([act(condition(verification))])
    assert CODE not in set(naive.findings(root))
    assert CODE not in set(naive.denials(root))
    assert "otitis externa" not in set(naive.shown(root))
    assert "Otitis externa suspected." in set(naive.shown(root))


def test_an_impression_that_is_sure_is_a_finding() -> None:
    assert CODE in set(naive.findings(in_document([act(condition("confirmed"))])))


def test_an_impression_that_is_refuted_is_denied() -> None:
    root = in_document([act(condition("refuted"))])
    assert CODE in set(naive.denials(root))
    assert CODE not in set(naive.findings(root))


@pytest.mark.parametrize("clinical", ["inactive", "resolved", "remission"])
def test_what_is_over_has_an_end_also_where_nobody_knows_it(clinical: str) -> None:
    root = in_document([act(condition("confirmed", clinical))])
    assert CODE not in set(naive.findings(root))


def test_what_was_entered_in_error_never_was() -> None:
    root = in_document([act(condition("entered-in-error"))])
    assert CODE not in set(naive.findings(root))
    assert root.xpath("//*[local-name()='statusCode' and @code='nullified']")


@pytest.mark.parametrize(
    ("word", "claimed", "denied"), [("suspected", False, False), ("past", False, False), ("absent", False, True)]
)
def test_what_was_looked_for_is_claimed_only_as_far_as_the_observation_does(
    word: str, claimed: bool, denied: bool
) -> None:
    observation = {
        "resourceType": "Observation",
        "id": ID,
        "status": "final",
        "text": said("The whole sentence."),
        "code": {"text": "Canal"},
        "valueCodeableConcept": {"coding": [{"system": OWN, "code": f"assertion-{word}"}], "text": "otitis externa"},
        "component": [
            {"code": {"coding": [{"system": OWN, "code": "finding-in-question"}]}, "valueCodeableConcept": DISEASE}
        ],
    }
    root = in_document([act(observation)])
    assert (CODE in set(naive.findings(root))) is claimed
    assert (CODE in set(naive.denials(root))) is denied
    assert "otitis externa" not in set(naive.shown(root))


@pytest.mark.parametrize("state", ["completed", "in-progress", "stopped", "not-done", "unknown", "entered-in-error"])
def test_only_what_was_done_reads_as_done(state: str) -> None:
    root = in_document([act({"resourceType": "Procedure", "id": ID, "status": state, "code": {"text": "work"}})])
    assert (ID in set(naive.done(root))) is (state not in ("not-done", "entered-in-error"))
    found = root.find(".//{urn:hl7-org:v3}procedure/{urn:hl7-org:v3}statusCode")
    expected = {"completed": "completed", "stopped": "aborted", "in-progress": "active", "not-done": "cancelled"}
    assert found.get("code") == {**expected, "entered-in-error": "nullified"}.get(state)


@pytest.mark.parametrize(
    ("state", "reason", "read"),
    [
        ("active", None, True),
        ("completed", "past", True),
        ("not-taken", "absent", False),
        ("unknown", "suspected", False),
        ("unknown", None, False),
    ],
)
def test_only_a_medicine_that_is_stated_reads_as_taken(state: str, reason: str | None, read: bool) -> None:
    reasons = [{"coding": [{"system": OWN, "code": f"assertion-{reason}"}]}] if reason else []
    statement = {
        "resourceType": "MedicationStatement",
        "id": ID,
        "status": state,
        "medicationCodeableConcept": {"coding": [{"system": "http://snomed.info/sct", "code": "372756006"}]},
        **({"statusReason": reasons} if reasons else {}),
    }
    assert bool(set(naive.medicines(in_document([act(statement)])))) is read


@pytest.mark.parametrize(
    ("state", "rule", "negated", "code"),
    [
        ("active", "OPTIN", None, "active"),
        ("active", "OPTOUT", "true", "active"),
        ("inactive", "OPTIN", None, "aborted"),
        ("rejected", "OPTIN", "true", "cancelled"),
    ],
)
def test_a_consent_that_was_refused_does_not_read_as_given(
    state: str, rule: str, negated: str | None, code: str
) -> None:
    consent = {"resourceType": "Consent", "id": ID, "status": state, "policyRule": status("v3-ActCode", rule)}
    found = act(consent)
    assert found.get("negationInd") == negated
    assert found.find("{urn:hl7-org:v3}statusCode").get("code") == code


@pytest.mark.parametrize(("intent", "mood"), [("order", "RQO"), ("proposal", "PRP"), ("plan", "INT")])
def test_a_request_is_no_event(intent: str, mood: str) -> None:
    found = act({"resourceType": "ServiceRequest", "id": ID, "status": "active", "intent": intent})
    assert found.get("moodCode") == mood


def test_not_examined_and_not_seen_are_two_answers_and_neither_is_a_finding() -> None:
    flavors = {}
    for reason in ("not-performed", "unknown"):
        observation = {
            "resourceType": "Observation",
            "id": ID,
            "status": "final",
            "code": {"text": "Drum"},
            "dataAbsentReason": status("data-absent-reason", reason),
        }
        root = in_document([act(observation)])
        assert list(naive.findings(root)) == []
        flavors[reason] = root.find(".//{urn:hl7-org:v3}observation/{urn:hl7-org:v3}value").get("nullFlavor")
    assert flavors == {"not-performed": "NASK", "unknown": "UNK"}


def test_generated_visits_claim_what_they_state_and_nothing_else() -> None:
    """The visit's own assertions are the oracle; codes that it also states as present somewhere are left out."""
    met: Counter[str] = Counter()
    for seed in range(MANY):
        visit, bundle = visit_of(seed)
        context = context_of(bundle)
        root = in_document([act(resource, context) for resource in clinical(bundle)])
        etree.cleanup_namespaces(root)
        findings, denials, shown = set(naive.findings(root)), set(naive.denials(root)), set(naive.shown(root))
        plain = [term for _, term in terms_of(visit) if term.assertion in (None, "present")]
        stated = codes_of(plain)
        words = {"normal", *(term.text for term in plain)}  # a part's own answer, which is no term
        for path, term in told(visit, "suspected", "absent", "past"):
            if is_statement(path):
                assert not (codes_of([term]) - stated) & findings, f"seed {seed}: {path}"
                assert term.assertion == "absent" or not (codes_of([term]) - stated) & (
                    denials - codes_of(t for _, t in told(visit, "absent"))
                ), f"seed {seed}: {path}"
                assert term.text in words or term.text not in shown, f"seed {seed}: {path}"
                met[str(term.assertion)] += 1
        taken = set(naive.medicines(root))
        for path, term in told(visit, "suspected", "absent"):
            if path.startswith(("medicines", "softeners")) or ".products[" in path:
                others = codes_of(t for _, t in terms_of(visit) if t.assertion not in ("suspected", "absent"))
                assert not (codes_of([term]) - others) & taken, f"seed {seed}: {path}"
                met[f"medicine {term.assertion}"] += 1
        for path, term in told(visit, "present"):
            if ".findings[" in path or path.startswith(("symptoms", "right.symptoms", "left.symptoms")):
                assert codes_of([term]) <= findings, f"seed {seed}: {path}"
                met["present"] += 1
    assert min(met[key] for key in ("suspected", "absent", "past", "present", "medicine suspected", "medicine absent"))


def test_words_and_site_of_an_entry_name_the_same_ear() -> None:
    """By 25577004 and 89644007, right and left ear structure, and by the words of the sites, against the narrative."""
    met: Counter[str] = Counter()
    for seed in range(MANY):
        _, bundle = visit_of(seed)
        context = context_of(bundle)
        for resource in clinical(bundle):
            found = act(resource, context)
            said = (found.findtext("{urn:hl7-org:v3}text") or "").partition(" ear")[0]
            sites = found.xpath("*[local-name()='targetSiteCode' or local-name()='approachSiteCode']")
            if len(sites) == 1:
                side = {"25577004": "Right", "89644007": "Left"}.get(sites[0].get("code"))
                words = sites[0].findtext("{urn:hl7-org:v3}originalText").partition(" ")[0].capitalize()
                assert words in ("Right", "Left")
                assert {said} == {words, side or words}, f"seed {seed}"
                met[said] += 1
    assert min(met["Right"], met["Left"]) > 10
