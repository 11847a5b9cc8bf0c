"""What a region wants of codes: a diagnosis that nobody confirmed in words, and codes of its classification beside."""

from __future__ import annotations

from functools import cache

from bridge.data import load_csv, table_path
from bridge.ear_words import EARS, Ear
from bridge.fhir.own import coding
from bridge.fhir.systems import OWN
from bridge.issues import Issue, Where, issue
from bridge.regions import Region
from bridge.visit import Term, Visit
from bridge.visit.base import Coding
from bridge.visit.ear import EarRecord, Impression

STATED = ("present", "past")


def regional(visit: Visit, region: Region) -> tuple[Visit, list[Issue]]:
    """The coded visit as the region wants its codes, and what went out with fewer of them."""
    issues: list[Issue] = []
    ears: dict[str, EarRecord] = {}
    for ear in EARS:
        record = visit.ear(ear)
        if record is None or not record.impressions:
            continue
        changed = tuple(_changed(one, region, ear, n, issues) for n, one in enumerate(record.impressions))
        if changed != record.impressions:
            ears[ear] = record.model_copy(update={"impressions": changed})
    return (visit.model_copy(update=ears) if ears else visit), issues


def _changed(impression: Impression, region: Region, ear: Ear, number: int, issues: list[Issue]) -> Impression:
    term = impression.term
    if term.assertion in STATED:
        codings = (*term.codings, *_classified(term, region, ear))
    elif region.unconfirmed_as_words:
        codings = tuple(c for c in term.codings if c.system == OWN)
    else:
        return impression
    if codings == term.codings:
        return impression
    if len(codings) < len(term.codings):
        message = f"An impression of the {ear} ear is not confirmed; it goes out in words, without a diagnosis code."
        issues.append(issue("D151", message, Where(path=f"{ear}.impressions[{number}].term"), cause="D151"))
    return impression.model_copy(update={"term": term.model_copy(update={"codings": codings})})


def _classified(term: Term, region: Region, ear: Ear) -> list[Coding]:
    """Codes of the region's classifications that the term has none of yet; only what is present has one."""
    if term.assertion != "present" or not region.classifications:
        return []
    concept = next((c.code for c in term.codings if c.system == OWN), "")
    rows = ((name, _table().get((name, concept))) for name in region.classifications)
    codings = [coding(f"{name}:{row[ear]}") for name, row in rows if row]
    met = {c.system for c in term.codings}
    return [Coding.model_validate(c) for c in codings if c["system"] not in met]


@cache
def _table() -> dict[tuple[str, str], dict[str, str]]:
    """Rows of mappings/classifications.csv by system and concept."""
    return {(row["system"], row["concept"]): row for row in load_csv(table_path("classifications.csv"))}
