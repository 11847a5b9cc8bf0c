"""What a hand-over holds: the blocks that the next clinic needs, and each visit whole.

The blocks are those that common practice names for moving clinic; no published list demands them one by one.
"""

from __future__ import annotations

import hashlib
import json
import random
import re

import pytest

from bridge.check import check_bundle
from bridge.fhir.received import read_received
from bridge.handover import Made
from bridge.issues import Severity
from bridge.receive import bundle_to_visits
from bridge.visit import Visit
from tests.build.ips.some import WHOLE, generated, visit
from tests.handover.some import coded, collected, content, made_of, page_of, said, section

SHARING = {"sharing": visit(1).sharing}
HAZARDS = ["Perforation of the drum", "Ear surgery", "Mastoid cavity", "Only hearing ear",
           "Anticoagulant, or bleeds easily", "Allergies and reactions", "Needs"]  # fmt: skip
OPEN = ["Referrals", "Asked of the family doctor", "Next visit or recall", "Right ear: what the last look found"]
BLOCKS = {
    "identity": ("client", ["Born", "NHS number", "Address", "Family doctor"]),
    "visits": ("visit-1", ["Files"]),
    "baseline": ("baseline", ["Right ear", "Left ear", "Hearing thresholds", "Right ear, pictures"]),
    "standing hazards": ("hazards", HAZARDS),
    "products": ("worked", ["What worked, and what did not"]),
    "settings that worked": ("worked", ["How the client sat or lay"]),
    "consents": ("consents", ["To share", "To examine and treat"]),
    "open items": ("open", OPEN),
    "codes": ("words", ["Local word", "Code system", "Version", "Code"]),
    "audit": ("files", ["SHA-256", "visits.ndjson", "words.csv"]),
    "amendments": ("amendments", ["Amendments"]),
}


def some(seed: int) -> list[Visit]:
    shared = Visit.model_validate({**visit(1).model_dump(), "sharing": WHOLE}).sharing
    found = [v.model_copy(update={"sharing": shared}) for v in generated(seed, 3)]
    number = {"number": found[0].client.number or "C-7"}
    return [v.model_copy(update={"client": v.client.model_copy(update=number)}) for v in found]


MANY = [some(seed) for seed in range(6)]


@pytest.fixture(scope="module")
def handed() -> list[Made]:
    return [made_of(*visits) for visits in MANY]


@pytest.mark.parametrize("block", BLOCKS)
def test_every_block_is_on_every_page(handed: list[Made], block: str) -> None:
    key, words = BLOCKS[block]
    for made in handed:
        page = page_of(made)
        told = section(page, key) if key != "client" else page
        assert [w for w in words if w not in told] == [], block


def test_each_visit_comes_back_as_it_was(handed: list[Made]) -> None:
    for visits, made in zip(MANY, handed, strict=True):
        files = [p for p in made.pieces if p.name.startswith("visits/")]
        back = [bundle_to_visits(json.loads(p.content))[0] for p in files]
        assert [[*one] for one in back] == [[one] for one in sorted(visits, key=lambda v: (v.start, v.number))]


def test_documents_and_lines_have_no_error(handed: list[Made]) -> None:
    for made in handed:
        lines = next(p.content for p in made.pieces if p.name == "visits.ndjson")
        data, issues = read_received(lines, "visits.ndjson")
        assert issues == []
        found = [i for i in check_bundle(data) if i.severity >= Severity.error]
        record = next(p for p in made.pieces if p.name.startswith("record/") and p.name.endswith(".json"))
        found += [i for i in check_bundle(json.loads(record.content)) if i.severity >= Severity.error]
        assert found == []
        names = [(r["resourceType"], r["id"]) for r in map(json.loads, lines.splitlines())]
        assert len(names) == len(set(names))


def test_the_lines_tell_every_visit() -> None:
    visits = [coded(visit(n)) for n in (1, 2, 3)]
    made = made_of(*visits)
    lines = next(p.content for p in made.pieces if p.name == "visits.ndjson")
    back, problems = bundle_to_visits(read_received(lines, "visits.ndjson")[0])
    assert (sorted(v.number for v in back), problems) == (["V1", "V2", "V3"], [])


def test_same_record_same_bytes() -> None:
    assert made_of(*MANY[0]).pieces == made_of(*MANY[0]).pieces
    shuffled = random.Random(5).sample(MANY[0], k=len(MANY[0]))
    assert {p.name: p.content for p in made_of(*shuffled).pieces} == {
        p.name: p.content for p in made_of(*MANY[0]).pieces
    }


def test_the_page_names_every_file_with_its_hash(handed: list[Made]) -> None:
    for made in handed:
        told = section(page_of(made), "files")
        for piece in made.pieces:
            if piece.name != "index.html":
                assert piece.name in told
                assert hashlib.sha256(piece.content).hexdigest() in told.replace("\n", "")


def test_ids_on_the_page_are_its_own(handed: list[Made]) -> None:
    for made in handed:
        ids = re.findall(r'\bid="([^"]+)"', page_of(made))
        assert len(ids) == len(set(ids))


def test_what_is_replaced_is_kept_and_flagged() -> None:
    first = coded(visit(1, note="first words"))
    second = coded(visit(1, version=2, replaces=1, note="second words"))
    made = made_of(first, second, coded(visit(2)))
    assert [p.name for p in made.pieces if p.name.startswith("visits/")] == [
        "visits/V1.bundle.json", "visits/V1-v2.bundle.json", "visits/V2.bundle.json",
    ]  # fmt: skip
    assert made.counts["superseded"] == 1
    told = section(page_of(made), "amendments")
    for words in ("Version 1, no longer in force", "Replaced by version 2", "visits/V1.bundle.json", "Second words"):
        assert words in told
    whole = said(page_of(made))
    assert whole.count("irst words") == told.count("irst words") == 1, (
        "what does not hold is told as an amendment alone"
    )
    (old,) = bundle_to_visits(content(made, "visits/V1.bundle.json"))[0]
    assert old == first
    back, _ = bundle_to_visits(
        read_received(next(p.content for p in made.pieces if p.name == "visits.ndjson"), "x.ndjson")[0]
    )
    assert [(v.number, v.version) for v in back] == [("V1", 2), ("V2", 1)]


def test_an_older_version_with_errors_is_told() -> None:
    record, issues, _ = collected(visit(1), visit(1, version=2, replaces=1), failed=("V1/1",))
    assert record is not None
    assert [i.rule for i in issues] == ["D184"]
    assert [(v.visit.version, v.superseded) for v in record.visits] == [(2, None)]
