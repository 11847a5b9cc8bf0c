"""The index page of a hand-over says nothing that the catalogue does not, as test_pseudo.py has it for letters."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from bridge.build import Options
from bridge.build.ips import build_client_summary
from bridge.render.handover import FileTold, PictureTold, Told, VisitTold, WordTold, handover_page
from tests.wording.pseudo import TAG, pseudo_language
from tests.wording.test_pseudo import CODED, FLAGS, UUID, ZONE, bundle, leaks, record, said_on

FREE = {"Files.rows", "Listing.text"}
"""Names of files, and lines for a computer."""
ALONE = {"check", "parcel", "py", "http", "snomed", "info", "sct", "urn", "oid"}
"""The name under which the lines are saved, and addresses of code systems."""


@pytest.fixture(scope="module", autouse=True)
def _in_pseudo() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patched, pseudo_language(patched):
        yield


@pytest.mark.parametrize("seed", range(12))
def test_the_index_page(seed: int) -> None:
    visits = [record(seed), record(seed + 100).model_copy(update={"client": record(seed).client})]
    older = visits[0].model_copy(update={"version": 1, "number": visits[1].number, "approved": None})
    visits[1] = visits[1].model_copy(update={"version": 2, "replaces": 1})
    told = [
        VisitTold(visits[0], bundle(seed, "uk", "record"), "1", ["2"], alerts=()),
        VisitTold(older, bundle(seed, "uk", "record"), "3", superseded=2),
        VisitTold(visits[1], bundle(seed + 100, "uk", "record"), "4", alerts=tuple(FLAGS[:0])),
    ]
    page = handover_page(
        Told(
            "client" if seed % 2 else "clinic",
            "2026-11-26",
            "visit-bridge",
            "1",
            build_client_summary(visits, UUID(int=5), ZONE, Options("uk", language=TAG)),
            told,
            [PictureTold("1", "right", "before", "αβ", ""), PictureTold("1", "left", "after", "αβ", "5")],
            [WordTold("αβ", "", "", "", "", 2), WordTold("αβ", "1", "", "2", "γδ", 1)],
            [FileTold("x", "αβ", 2, "00")],
            {"handover.left.guardians": 1, "handover.left.phones": 2},
            "0123" if seed % 3 else "",
            ("", "key", "passphrase")[seed % 3],
            "x",
            "αβ",
        )
    )
    texts = [(where, text) for where, text in said_on(page) if where not in FREE]
    assert len(texts) > 100
    found = [(where, words, text) for where, text in texts if (words := leaks(text, codes=where in CODED))]
    assert [(where, words, text) for where, words, text in found if set(words) - ALONE] == []
