"""Cells of words: sides, amounts, answers, what becomes a note, and that the practitioner's own words stay."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from bridge.visit import EarRecord, Visit
from tests.read.sheets import codes, read_rows, records


def read_one(folder: Path, change: dict[str, str], layout: dict[str, Any] | None = None) -> Visit:
    reading = records(read_rows(folder, [change], layout=layout))[0]
    assert reading.visit is not None, [(i.rule, i.message) for i in reading.issues]
    return reading.visit


def ear(visit: Visit, side: str) -> EarRecord:
    found = visit.right if side == "right" else visit.left
    assert found is not None
    return found


def canal(visit: Visit, side: str = "right") -> Any:
    before = ear(visit, side).before
    assert before is not None
    return before.canal


@pytest.mark.parametrize(
    ("cell", "text", "amount"),
    [
        ("narrow", "narrow", None), ("narrow ++", "narrow", "++"), ("R narrow", "narrow", None),
        ("right: no pus", "no pus", None),
        ("?exostosis", "?exostosis", None), ("old scar", "old scar", None), ("No  Debris", "No  Debris", None),
        ("mild redness", "redness", "mild"), ("R ?polyp", "?polyp", None),
    ],
)  # fmt: skip
def test_own_words_stay_but_for_side_and_amount(cell: str, text: str, amount: str | None, tmp_path: Path) -> None:
    (finding,) = canal(read_one(tmp_path, {"R canal": cell})).findings
    assert finding.term.text == text
    assert (finding.amount.text if finding.amount else None) == amount
    assert finding.term.assertion is None, "coding reads denial and doubt from the words"


def test_a_list_keeps_its_order_and_its_answers(tmp_path: Path) -> None:
    part = canal(read_one(tmp_path, {"R canal": "NAD; no debris; narrow"}))
    assert part.answer == "normal"
    assert [f.term.text for f in part.findings] == ["no debris", "narrow"]


@pytest.mark.parametrize(
    ("cell", "answer", "reason"),
    [
        ("UTV", "not seen", None), ("not seen (wax in the way)", "not seen", "wax in the way"),
        ("Not examined (declined)", "not examined", "declined"), ("NORMAL", "normal", None),
    ],
)  # fmt: skip
def test_four_answers_stay_apart(cell: str, answer: str, reason: str | None, tmp_path: Path) -> None:
    part = canal(read_one(tmp_path, {"R canal": cell}))
    assert part.answer == answer
    assert (part.reason.text if part.reason else None) == reason
    assert canal(read_one(tmp_path, {"R canal": ""})) is None


def test_a_longer_text_is_the_part_s_note_with_its_heading(tmp_path: Path) -> None:
    text = "skin a little dry near the entrance, otherwise as one would wish"
    part = canal(read_one(tmp_path, {"R canal": text}))
    assert part.note == f"R canal: {text}"
    assert part.findings == ()


def test_a_longer_text_of_work_stands_at_the_work_or_the_ear(tmp_path: Path) -> None:
    text = "coughed a good deal at first and then settled quite well"
    assert ear(read_one(tmp_path, {"R events": text}), "right").work[0].note == f"R events: {text}"
    nothing = dict.fromkeys(["R method", "R instrument", "R tube", "R suction mmHg", "R outcome", "R pain"], "")
    assert ear(read_one(tmp_path, {"R events": text, **nothing}), "right").note == f"R events: {text}"


def test_a_cell_that_names_its_ear_goes_to_that_ear_only(tmp_path: Path) -> None:
    visit = read_one(tmp_path, {"Impression": "R impacted wax; left: ?otitis externa; both dry skin"})
    assert [i.term.text for i in ear(visit, "right").impressions] == ["impacted wax", "dry skin"]
    assert [i.term.text for i in ear(visit, "left").impressions] == ["?otitis externa", "dry skin"]


def test_findings_routed_by_the_cell(tmp_path: Path) -> None:
    layout = {"columns": {"Seen": {"to": "before.canal.findings", "list": ";"}}}
    visit = read_one(tmp_path, {"R canal": "", "Seen": "L narrow ++; R no pus"}, layout)
    assert [f.term.text for f in canal(visit, "left").findings] == ["narrow"]
    assert [f.term.text for f in canal(visit).findings] == ["no pus"]


def test_an_answer_routed_by_the_cell(tmp_path: Path) -> None:
    layout = {"columns": {"Drums": {"to": "before.drum", "list": ";"}, "R drum": None, "L drum": None}}
    visit = read_one(tmp_path, {"Drums": "R normal; L not seen", "R drum": None}, layout)  # type: ignore[dict-item]
    right, left = ear(visit, "right").before, ear(visit, "left").before
    assert right is not None and left is not None  # noqa: PT018
    assert right.drum is not None and left.drum is not None  # noqa: PT018
    assert (right.drum.answer, left.drum.answer) == ("normal", "not seen")


def test_no_side_is_never_a_default(tmp_path: Path) -> None:
    reading = records(read_rows(tmp_path, [{"Impression": "otitis externa; R wax"}]))[0]
    assert reading.visit is None
    assert [i.rule for i in reading.issues] == ["R114"]


def test_a_whole_ear_can_be_not_examined(tmp_path: Path) -> None:
    layout = {"columns": {"L ear": {"to": "left", "words": {"not looked at": "not examined"}}}}
    left = ear(read_one(tmp_path, {"L ear": "Not looked at"}, layout), "left")
    assert left.before is not None and left.before.view is not None  # noqa: PT018
    assert left.before.view.answer == "not examined"


def test_nothing_asked_is_kept_apart_from_nothing_said(tmp_path: Path) -> None:
    assert read_one(tmp_path, {"GP action": "nothing"}).no_request
    assert not read_one(tmp_path, {"GP action": ""}).no_request
    assert [r.action for r in read_one(tmp_path, {"GP action": "repeat drops; review"}).requests] == [
        "repeat drops",
        "review",
    ]


@pytest.mark.parametrize(("cell", "answer"), [("NKDA", "none known"), ("not asked", "not asked")])
def test_allergies_answered(cell: str, answer: str, tmp_path: Path) -> None:
    allergies = read_one(tmp_path, {"Allergies": cell}).allergies
    assert allergies is not None
    assert allergies.answer == answer


def test_allergies_listed(tmp_path: Path) -> None:
    allergies = read_one(tmp_path, {"Allergies": "nuts; latex"}).allergies
    assert allergies is not None
    assert [a.term.text for a in allergies.items] == ["nuts", "latex"]


def test_one_column_fills_two_fields_and_two_columns_one_list(tmp_path: Path) -> None:
    layout = {"columns": {"Seen by": ["practitioners", "consent.taken_by"], "Also by": "practitioners"}}
    visit = read_one(tmp_path, {"Also by": "MK"}, layout)
    assert [p.key for p in visit.practitioners] == ["JB", "MK"]
    assert visit.consent is not None
    assert visit.consent.taken_by == "JB"


def test_a_constant_inside_an_ear_adds_nothing_to_an_ear_nobody_touched(tmp_path: Path) -> None:
    visit = read_one(tmp_path, {}, {"constants": {"ear.before.view.device": "microscope", "place": "clinic"}})
    before = ear(visit, "right").before
    assert before is not None and before.view is not None and before.view.device is not None  # noqa: PT018
    assert before.view.device.text == "microscope"
    assert visit.left is None
    assert visit.place == "clinic"


@pytest.mark.parametrize(
    ("order", "cell", "family", "given"),
    [
        ("family, given", "Testington, Ada Mary", "Testington", ("Ada", "Mary")),
        ("family, given", "van der Test, Dr Bo", "van der Test", ("Bo",)),
        ("given family", "Mr Bo Test", "Test", ("Bo",)),
    ],
)
def test_a_name_in_one_cell(order: str, cell: str, family: str, given: tuple[str, ...], tmp_path: Path) -> None:
    layout = {"columns": {"Surname": None, "First name": None, "Name": {"to": "client.legal_name", "name": order}}}
    visit = read_one(tmp_path, {"Surname": None, "First name": None, "Name": cell}, layout)  # type: ignore[dict-item]
    assert (visit.client.legal_name.family, visit.client.legal_name.given) == (family, given)


@pytest.mark.parametrize(
    ("order", "cell"), [("family, given", "Ada Test"), ("given family", "Ada van Test"), ("given family", "Ada")]
)
def test_a_name_that_cannot_be_split_is_said_and_not_quoted(order: str, cell: str, tmp_path: Path) -> None:
    layout = {"columns": {"Surname": None, "First name": None, "Name": {"to": "client.legal_name", "name": order}}}
    readings = read_rows(tmp_path, [{"Surname": None, "First name": None, "Name": cell}], layout=layout)  # type: ignore[dict-item]
    assert codes(readings) == ["R108"]
    assert "Ada" not in readings[1].issues[0].message


@pytest.mark.parametrize("words", ["warfarin stopped", "no longer on apixaban", "came off warfarin"])
def test_a_caution_that_is_over_is_still_a_caution_and_no_note(words: str, tmp_path: Path) -> None:
    visit = read_one(tmp_path, {"Cautions": words})
    assert ([c.term.text for c in visit.cautions], visit.note) == ([words], None)


@pytest.mark.parametrize(
    ("heading", "words"), [("GP action", "none"), ("GP action", "n/a"), ("Allergies", "nil"), ("Medicines", "nil reg")]
)
def test_words_for_nothing_reach_the_visit_whole(heading: str, words: str, tmp_path: Path) -> None:
    """What they mean is said when the visit is coded, for every form of record alike."""
    visit = read_one(tmp_path, {heading: words})
    assert visit.requests or visit.no_request or visit.allergies or visit.medicines
