"""The demo with the licensed codes: the same visits are ready, every code is one to be written, and is for its ear.

The judge reads the finished bundles and the tables verified by hand only.
"""

from __future__ import annotations

import json
import re
from typing import Any

import pytest

from tests.remake import make_into, outputs
from tests.test_codes_written import NOT_FOR_WRITING, OWN, codings, verified
from tests.test_mappings import reference

SCT = "http://snomed.info/sct"
EDITION = "http://snomed.info/sct/900000000000207008/version/20260501"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    folder = tmp_path_factory.mktemp("licensed") / "demo"
    make_into(folder, f"codes: licensed\nsnomed_version: {EDITION}\n")
    return outputs(folder)


@pytest.fixture(scope="module")
def free(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    folder = tmp_path_factory.mktemp("free") / "demo"
    make_into(folder)
    return outputs(folder)


def bundles(made: dict[str, bytes]) -> dict[str, Any]:
    return {name: json.loads(content) for name, content in made.items() if name.endswith(".json")}


def test_the_same_visits_are_ready(made: dict[str, bytes], free: dict[str, bytes]) -> None:
    assert sorted(made) == sorted(free)


def test_letters_and_words_are_the_same(made: dict[str, bytes], free: dict[str, bytes]) -> None:
    """Nothing changes but codings, and in the letter the list of codes at its end."""

    def without(node: Any) -> Any:
        if isinstance(node, dict):
            return {k: without(v) for k, v in node.items() if k != "coding"}
        return [without(v) for v in node] if isinstance(node, list) else node

    for name, bundle in bundles(made).items():
        assert without(bundle) == without(json.loads(free[name])), name
    for name in made:
        if name.endswith(".html"):
            assert _uncoded(made[name]) == _uncoded(free[name])


def _uncoded(page: bytes) -> list[str]:
    return [line for line in page.decode().splitlines() if "<td>SNOMED CT</td>" not in line]


def test_every_code_is_verified_and_for_writing(made: dict[str, bytes], free: dict[str, bytes]) -> None:
    known = verified()
    finer = {row["code"] for row in reference("snomed-ear.csv") if row["free_set"] == "no"}
    seen: set[str] = set()
    for name, bundle in bundles(made).items():
        for path, coding in codings(bundle):
            if not OWN.fullmatch(coding["system"]):
                names, use = known[coding["system"], coding["code"]]
                assert coding["display"] in names, (name, path)
                assert not NOT_FOR_WRITING.search(use), (name, path)
                seen |= {coding["code"]} & finer
    assert len(seen) >= 8
    for name, content in free.items():
        told = content.decode(errors="replace")
        assert not set(re.findall(r'code"?[:=]\s*"(\d+)"', told)) & finer, name


def test_a_finer_code_stands_alone_and_names_the_ear_of_its_entry(made: dict[str, bytes]) -> None:
    """One SNOMED CT code for each word of the record, with the edition that the practice names."""
    ear = {row["code"]: row["laterality"] for row in reference("snomed-ear.csv")}
    sided = 0
    for name, bundle in bundles(made).items():
        for entry in bundle["entry"]:
            resource = entry["resource"]
            about = {e for e in ("right", "left") if f"/{e}/" in json.dumps(resource.get("identifier", ""))}
            for concept in _concepts({k: v for k, v in resource.items() if k not in ("type", "section")}):
                found = [c for c in concept["coding"] if c["system"] == SCT]
                assert len(found) <= 1, (name, concept)
                for coding in found:
                    side = ear[coding["code"]]
                    assert side == "none" or not about or {side} == about, (name, coding)
                    sided += side != "none" and "version" in coding
                    assert coding.get("version") in (None, EDITION)
    assert sided >= 8


def _concepts(node: Any) -> list[dict[str, Any]]:
    if isinstance(node, dict):
        here = [node] if isinstance(node.get("coding"), list) else []
        return here + [c for inner in node.values() for c in _concepts(inner)]
    return [c for inner in node for c in _concepts(inner)] if isinstance(node, list) else []


def test_a_body_site_is_the_part_that_its_words_name(made: dict[str, bytes]) -> None:
    sites = {
        "right ear canal": "45124007", "left ear canal": "71471005", "right eardrum": "726563001",
        "left eardrum": "726562006", "right ear": "25577004", "left ear": "89644007",
    }  # fmt: skip
    seen = set()
    for bundle in bundles(made).values():
        for concept in (c for e in bundle["entry"] for c in _sites(e["resource"])):
            words = concept["text"]
            part = words.replace("mastoid cavity", "ear")  # no verified code is of the cavity
            wanted = sites.get(part) or sites[part[: part.index("ear") + 3]]
            assert [(c["system"], c["code"]) for c in concept["coding"]] == [(SCT, wanted)], words
            seen.add(words)
    assert seen >= set(sites)


def _sites(node: Any) -> list[dict[str, Any]]:
    if isinstance(node, list):
        return [site for inner in node for site in _sites(inner)]
    if not isinstance(node, dict):
        return []
    here = [node[key] for key in ("bodySite", "site") if key in node]
    found = [site for value in here for site in (value if isinstance(value, list) else [value])]
    return found + [site for inner in node.values() for site in _sites(inner)]


def test_no_issue_of_ours(made: dict[str, bytes]) -> None:
    from bridge.check import check_bundle
    from bridge.issues import Severity

    for bundle in bundles(made).values():
        assert [i for i in check_bundle(bundle) if i.severity >= Severity.warning] == []


def test_a_code_of_the_other_ear_is_found_in_every_document(made: dict[str, bytes]) -> None:
    """Seeded faults: each sided code in the documents, changed for that of the other ear, one at a time."""
    from bridge.check import check_bundle

    mirror = {}
    rows = reference("snomed-ear.csv")
    by_name = {row["fsn_or_display"].lower(): row["code"] for row in rows}
    for row in rows:
        if row["laterality"] in {"left", "right"}:
            other = {"left": "right", "right": "left"}[row["laterality"]]
            twin = by_name.get(row["fsn_or_display"].lower().replace(row["laterality"], other))
            if twin:
                mirror[row["code"]] = twin
    assert len(mirror) >= 50
    seeded = 0
    for name, bundle in bundles(made).items():
        for _, coding in list(codings(bundle)):
            if coding["system"] == SCT and "version" in coding and coding["code"] in mirror:
                kept = dict(coding)
                coding["code"], coding["display"] = mirror[coding["code"]], "as coded"
                assert "C101" in {i.rule for i in check_bundle(bundle)}, (name, kept)
                coding.update(kept)
                seeded += 1
    assert seeded >= 8
