"""The client's own copy: other people's data stay out, what is left out is named, words are read by a person first."""

from __future__ import annotations

import random
import re
from typing import Any

import pytest

from bridge.cut import own_copy
from bridge.handover.look import to_look_at
from bridge.visit import Visit
from tests.build.ips.some import CLIENT, visit
from tests.generate import visit as generated
from tests.handover.some import collected, converter, made_of, page_of, section
from tests.remake import ROOT
from tests.test_cut import FIELDS, holds, rows

TABLE = rows("mappings/documents/handover-client.csv")
GUARDIAN = {"name": {"family": "Zorbel", "given": ["Quentina"]}, "relationship": "mother", "phone": "07700 900999"}
CHILD: dict[str, Any] = {**CLIENT, "birth_date": "2019-03-04", "guardians": [GUARDIAN]}
STAFF = [{"key": "JM", "name": {"family": "Moss"}, "phone": "07700 900888"}]
REFERRAL = {
    "to": "ENT", "urgency": "routine", "reason": "hearing", "ear": "right",
    "told_by": "phone", "told_to": "Sister Okapi", "told_at": "2026-01-10",
}  # fmt: skip


def child(month: int = 1, **more: Any) -> Visit:
    return visit(month, client=CHILD, practitioners=STAFF, referral=REFERRAL, **more)


def test_every_field_of_a_visit_is_decided_and_every_row_decides_one() -> None:
    undecided = [f for f in FIELDS if not any(holds(row["field"], f) for row in TABLE)]
    idle = [row["field"] for row in TABLE if not any(holds(row["field"], f) for f in FIELDS)]
    assert (undecided, idle) == ([], [])
    assert {row["client"] for row in TABLE} == {"yes", "look", "no"}
    assert all(bool(row["told"]) == (row["client"] == "no") for row in TABLE)


def test_every_field_of_free_text_is_looked_at() -> None:
    """By hand: every field that is called a note, a reason, a plan or the like by the model's own names."""
    free = re.compile(r"(^|\.)(note|reason|why|agreed|question|action|plan|done|client_told)$")
    terms = re.compile(r"(view|wax|contents|canal|drum|outer_ear|mastoid_cavity)\.reason$")
    looked = [row["field"] for row in TABLE if row["client"] == "look"]
    missing = [f for f in FIELDS if free.search(f) and not terms.search(f) and not any(holds(p, f) for p in looked)]
    assert missing == []


def test_other_people_are_in_no_file() -> None:
    for reader in ("clinic", "client"):
        made = made_of(child(1), child(2), reader=reader)
        text = b"\n".join(p.content for p in made.pieces if not p.name.endswith(".pdf")).decode()
        found = {word: word in text for word in ("Zorbel", "Quentina", "07700 900999", "07700 900888", "Okapi")}
        assert set(found.values()) == {reader == "clinic"}, (reader, found)


def test_what_is_left_out_is_named() -> None:
    page = page_of(made_of(child(1), child(2), reader="client"))
    told = section(page, "left")
    assert "2 entries about people who speak for you" in told
    assert "2 phone numbers of people who work at the clinic" in told
    assert "2 names of people who took calls about you" in told
    assert "Nothing was left out." in section(page_of(made_of(visit(1), reader="client")), "left")


def test_words_that_a_person_reads_first() -> None:
    record, _, _ = collected(child(1, note="a note", right={"note": "of the ear"}), reader="client")
    assert record is not None
    known = converter().maps.of_the_trade
    found = {i.where.path for i in to_look_at(record, known) if i.rule == "D185"}
    assert {"note", "right.note", "referral.reason"} <= found
    assert "referral.told_to" not in found
    assert [i.rule for i in to_look_at(record, known)].count("D186") == 1
    messages = " ".join(i.message for i in to_look_at(record, known))
    assert not any(word in messages for word in ("Zorbel", "Okapi", "a note"))
    right = next(i for i in to_look_at(record, known) if i.where.path == "right.note")
    assert (right.where.file, right.where.row, right.where.record) == ("sheet.csv", 2, "V1")
    assert "“right.note”" in right.message, "several fields of one row are told apart"


def test_words_of_the_trade_and_the_client_themselves_name_nobody_else() -> None:
    advice = [{"term": "olive oil", "to": who} for who in ("client", "her daughter", None)]
    reasons = ["hearing aid whistling", "hearing aid whistling, says her daughter"]
    record, _, _ = collected(visit(1, advice=advice, reasons=reasons), reader="client")
    assert record is not None
    found = [i.where.path for i in to_look_at(record, converter().maps.of_the_trade)]
    assert found == ["reasons[1]", "advice[1].to"]


def test_plain_pages_and_no_letters_to_doctors() -> None:
    made = made_of(child(1), reader="client")
    letters = sorted(p.name for p in made.pieces if p.name.startswith("letters/"))
    assert letters == ["letters/V1.client.html", "letters/V1.client.pdf"]


@pytest.mark.parametrize("seed", range(40))
def test_nothing_else_is_taken(seed: int) -> None:
    """Field by field: what is gone is what the table's rows with `no` name, and nothing else changed."""
    before = generated(random.Random(seed), fill=0.8)
    after = own_copy(before).visit
    gone = before.model_dump(exclude={"client": {"guardians"}, "practitioners": {"__all__": {"phone"}}})
    kept = after.model_dump(exclude={"client": {"guardians"}, "practitioners": {"__all__": {"phone"}}})
    for dumped in (gone, kept):
        if dumped.get("referral"):
            dumped["referral"].pop("told_to", None)
    assert gone == kept
    assert (after.client.guardians, [p.phone for p in after.practitioners]) == ((), [None] * len(after.practitioners))
    assert own_copy(after).visit == after


def test_the_table_stands_among_the_tables() -> None:
    listed = (ROOT / "mappings/README.md").read_text(encoding="utf-8")
    for name in ("handover-client.csv", "handover-hazards.csv", "handover-check.txt"):
        assert name in listed
