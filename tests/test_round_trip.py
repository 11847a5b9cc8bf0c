"""visit -> bytes -> visit is the identity for every field: JSON, XML, NDJSON, PDF that carries its data, sealed parcel.

`VISIT_BRIDGE_MANY=10000 python -m pytest tests/test_round_trip.py tests/receive/test_rows.py` runs the full count; the
rows are those of every layout, which hold what they have columns for. CDA is held to what it keeps in `tests/cda/`.
"""

from __future__ import annotations

import os
import random
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from bridge.about_document import about
from bridge.build import Options, build_collection, build_document, build_transaction
from bridge.check import check_bundle
from bridge.coding import load_term_maps
from bridge.fhir.ndjson import dump_lines
from bridge.fhir.own import licensed as licensed_codes
from bridge.fhir.received import read_received
from bridge.fhir.write_json import dumps
from bridge.fhir.write_xml import write_xml
from bridge.issues import Issue, Severity
from bridge.letters import Wish, letters
from bridge.parcel import About, Piece, opened, packed, public_sealing_key, sealed, signing_key
from bridge.parcel.keys import new_sealing_key, new_signing_key
from bridge.pdf_data import bundle_in_pdf
from bridge.receive import bundle_to_visits
from bridge.visit import Visit, terms_of
from tests import generate
from tests.coded import coded
from tests.fields import pattern

NAMESPACE = UUID("3d3b5a9c-52e5-4cf8-9a34-2b0c36a2f0aa")
ZONE = ZoneInfo("Europe/London")
LICENSED = licensed_codes()
MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "300"))
PRINTED = MANY if "VISIT_BRIDGE_MANY" in os.environ else 40
"""Letters as PDF, each of which takes as long as many bundles."""
IN_A_PARCEL = 500

WRITTEN: dict[str, Callable[[Visit], bytes]] = {
    "document": lambda visit: dumps(build_document(visit, NAMESPACE, ZONE)),
    "transaction": lambda visit: dumps(build_transaction(visit, NAMESPACE, ZONE)),
    "collection": lambda visit: dumps(build_collection(visit, NAMESPACE, ZONE)),
    "xml": lambda visit: write_xml(build_document(visit, NAMESPACE, ZONE)),
    "ndjson": lambda visit: dump_lines(build_collection(visit, NAMESPACE, ZONE)),
}


def there_and_back(visit: Visit, kind: str) -> tuple[Visit, list[Issue]]:
    data, issues = read_received(WRITTEN[kind](visit))
    assert issues == []
    visits, problems = bundle_to_visits(data)
    assert problems == []
    (back,) = visits
    return back, [i for i in check_bundle(data) if i.severity >= Severity.error]


@settings(max_examples=40, deadline=None, phases=[Phase.explicit, Phase.generate])
@given(st.integers(0, 2**32), st.sampled_from(sorted(WRITTEN)))
def test_visit_comes_back_as_it_was(seed: int, kind: str) -> None:
    visit = generate.visit(random.Random(seed))
    assert there_and_back(visit, kind) == (visit, [])


@pytest.mark.parametrize("kind", WRITTEN)
def test_many_visits_come_back_and_conform(kind: str) -> None:
    met: Counter[str] = Counter()
    for seed in range(MANY):
        visit = seeded(seed)
        assert there_and_back(visit, kind) == (visit, []), f"seed {seed}"
        met.update(pattern(path) for path in _paths(visit.model_dump(exclude_defaults=True), ""))
    assert len(met) > 200, "the generator reaches too few of the fields"


def seeded(seed: int) -> Visit:
    return generate.visit(random.Random(seed), fill=0.3 + 0.6 * (seed % 7) / 7)


def test_many_visits_come_back_out_of_letters_as_pdf() -> None:
    for seed in range(PRINTED):
        visit = seeded(seed)
        bundle = build_document(visit, NAMESPACE, ZONE)
        ((letter, issues),) = letters(bundle, about(bundle), "V", Wish(("pdf",)))
        assert letter is not None, f"seed {seed}: {[i.rule for i in issues]}"
        data, _ = read_received(bundle_in_pdf(letter.content))
        assert bundle_to_visits(data) == ([visit], []), f"seed {seed}"


def test_many_visits_come_back_out_of_sealed_parcels(tmp_path: Path) -> None:
    """Keys are made for this run; what is opened is the file, by another key than it is signed with."""
    key, identity = signing_key(new_signing_key()), new_sealing_key()
    path = tmp_path / "parcel.zip.age"
    for first in range(0, MANY, IN_A_PARCEL):
        visits = {f"visits/V{seed}.bundle.json": seeded(seed) for seed in range(first, min(first + IN_A_PARCEL, MANY))}
        pieces = [Piece(n, "application/fhir+json", WRITTEN["document"](v), "visit") for n, v in visits.items()]
        whole = packed(pieces, About("2026-11-26", "Willow Ear Care", "", "round trip"), key)
        path.write_bytes(sealed(whole, recipients=[public_sealing_key(identity)]))
        found = opened(path, identities=[identity])
        assert found.ok
        assert set(found.pieces) == set(visits)
        for name, visit in visits.items():
            data, _ = read_received(found.pieces[name].content)
            assert bundle_to_visits(data) == ([visit], []), name


@pytest.mark.parametrize("seed", range(20))
def test_same_visit_same_bytes(seed: int) -> None:
    one = generate.visit(random.Random(seed))
    two = generate.visit(random.Random(seed))
    for write in WRITTEN.values():
        assert write(one) == write(two)


def _paths(value: object, path: str) -> list[str]:
    if isinstance(value, dict):
        return [p for k, v in value.items() for p in _paths(v, f"{path}.{k}" if path else k)]
    if isinstance(value, list | tuple):
        return [p for i, v in enumerate(value) for p in _paths(v, f"{path}[{i}]")]
    return [path]


@pytest.mark.parametrize("licensed", [False, True], ids=["free", "licensed"])
def test_coded_visits_come_back_and_conform_in_both_code_sets(licensed: bool) -> None:
    maps = load_term_maps(licensed=licensed)
    finer: Counter[str] = Counter()
    for seed in range(MANY // 4):
        rng = random.Random(seed)
        visit = coded(generate.visit(rng, fill=0.3 + 0.6 * (seed % 7) / 7), maps, rng)
        bundle = build_document(visit, NAMESPACE, ZONE, options=Options(licensed=licensed))
        assert bundle_to_visits(bundle) == ([visit], []), f"seed {seed}"
        errors = [i for i in check_bundle(bundle) if i.severity >= Severity.error and i.rule != "V103"]
        assert errors == [], f"seed {seed}"  # V103: the generator's moments are in no order
        finer.update(name for _, term in terms_of(visit) for c in term.codings if (name := f"sct:{c.code}") in LICENSED)
    assert len(finer) > 30 if licensed else not finer
