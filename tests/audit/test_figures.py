"""Figures to give away: nothing small is in them or can be worked out from them, and sums keep the truth within."""

from __future__ import annotations

import copy
import json
import random
from dataclasses import replace
from typing import Any

import jsonschema_rs
import pytest

from bridge.audit.figures import About, figures, read_figures
from bridge.audit.roll_up import added
from bridge.audit.shapes import Audited, Group, PatternFound, Rate
from bridge.data import table_path
from bridge.issues import Severity
from tests.audit.hand_made import HOSTILE, audited

ABOUT = About("k1", "Millbrook Ear Care", "2026-11", "free")
KEYS = {"coded": "completeness", "sided": "sided", "text-only": "text_only", "conflicts": "conflicts"}


def known(words: str) -> bool:
    return words in {"impacted", "wax ++"}


def made_up(seed: int) -> Audited:
    """Records of one to six months, many of them with few of something."""
    pick = random.Random(seed)
    months = []
    for number in range(1, pick.randint(1, 6) + 1):
        records = pick.choice((1, 2, 3, 4, 5, 9, 40))
        things = records * pick.choice((1, 2, 12))
        coded = things - min(things, pick.choice((0, 0, 1, 2, 4, 5, 30)))
        sided = pick.choice((0, 1, things // 2, things))
        ears = min(things, sided + pick.choice((0, 1, 3, 8)))
        conflicts = min(records, pick.choice((0, 0, 1, 2, 5)))
        months.append(
            Group(
                f"2026-{number:02}", records, Rate(coded, things), Rate(min(sided, ears), ears),
                Rate(things - coded, things), Rate(min(coded, pick.choice((0, 1, 6))), coded), Rate(conflicts, records),
            )
        )  # fmt: skip

    def whole(name: str) -> Rate:
        rates: list[Rate] = [getattr(month, name) for month in months]
        return Rate(sum(one.count for one in rates), sum(one.of for one in rates))

    records = sum(month.records for month in months)
    shown = Rate(pick.randint(0, records), records)
    return Audited(
        records=records, first_month=months[0].name, last_month=months[-1].name, completeness=whole("coded"),
        sided=whole("sided"), text_only=whole("text_only"), unspecific=whole("unspecific"),
        retired=Rate(0, whole("coded").count), conflicts=whole("conflicts"), months=tuple(months),
        patterns=(PatternFound("I13", "t", (), Severity.error, shown),),
    )  # fmt: skip


MADE = [one for one in map(made_up, range(600)) if one.records >= 5]


def cells(data: Any) -> list[dict[str, Any]]:
    """Every rate in the data, found by its keys alone."""
    if isinstance(data, dict):
        inner = [cell for value in data.values() for cell in cells(value)]
        return [*inner, data] if set(data) == {"count", "of", "withheld"} else inner
    return [cell for value in data for cell in cells(value)] if isinstance(data, list) else []


def test_no_number_from_1_to_4_of_anything_stands_in_figures() -> None:
    met = 0
    for one in MADE:
        for cell in cells(figures(one, ABOUT)):
            met += 1
            count, of = cell["count"], cell["of"]
            assert of is None or of == 0 or of >= 5
            assert count is None or count == 0 or count >= 5
            assert count is None or of is None or of - count == 0 or of - count >= 5
    assert met > 5_000


def bounds(cell: dict[str, Any]) -> tuple[int, int]:
    """What a stranger knows of a withheld count, by the words of the schema."""
    of = 10**9 if cell["of"] is None else cell["of"]
    return {"few": (1, min(4, of)), "nearly all": (of - 4, of - 1)}.get(cell["withheld"], (0, of))


@pytest.mark.parametrize("key", KEYS)
def test_a_stranger_cannot_work_out_a_small_count_from_the_sum_of_months(key: str) -> None:
    """The stranger subtracts what is shown from the total, and asks what the hidden ones can still be."""
    tried = exposed = 0
    for one in MADE:
        data = figures(one, ABOUT)
        total = data["rates"][key]["count"]
        column = [month["rates"][key] for month in data["months"]]
        hidden = [at for at, cell in enumerate(column) if cell["count"] is None]
        if total is None or len(hidden) == len(column):
            continue
        rest = total - sum(cell["count"] or 0 for cell in column)
        for at in hidden:
            low, high = bounds(column[at])
            others = [bounds(column[other]) for other in hidden if other != at]
            low = max(low, rest - sum(top for _, top in others))
            high = min(high, rest - sum(bottom for bottom, _ in others))
            attribute = key.replace("-", "_")
            truth = getattr(one.months[at], attribute)
            assert low <= truth.count <= high
            tried += 1
            exposed += low == high and (0 < truth.count < 5 or 0 < truth.of - truth.count < 5)
    assert tried > 50
    assert exposed == 0


def test_a_stranger_cannot_work_out_the_records_of_a_small_month() -> None:
    tried = 0
    for one in MADE:
        data = figures(one, ABOUT)
        hidden = [at for at, month in enumerate(data["months"]) if month["records"] is None]
        rest = data["records"] - sum(month["records"] or 0 for month in data["months"])
        if hidden and len(hidden) < len(data["months"]):
            tried += 1
            assert len(hidden) >= 2
            assert rest > len(hidden)
    assert tried > 50


def test_figures_hold_to_their_schema_and_are_read_again() -> None:
    schema = json.loads(table_path("schemas", "audit-figures.schema.json").read_text(encoding="utf-8"))
    for one in [audited(), *MADE[:100]]:
        data = figures(one, ABOUT, known)
        jsonschema_rs.validate(schema, data)
        found, issues = read_figures(json.dumps(data).encode(), "a.json")
        assert issues == []
        assert found is not None
        assert (found.key, found.name, found.data) == ("k1", "Millbrook Ear Care", data)


def test_words_are_given_only_where_they_are_of_the_trade_and_got_a_code_often() -> None:
    data = figures(audited(), ABOUT, known)
    assert [term["text"] for term in data["terms"]] == ["impacted", "wax ++"]
    assert data["words_left_out"] == 2
    assert figures(audited(), ABOUT)["terms"] == []
    text = json.dumps(data)
    for never in (json.dumps(HOSTILE)[1:-1], "M26-", "visits-2026", "PS", "JB", "tm vis nad"):
        assert never not in text


def test_of_fewer_than_five_records_there_are_no_figures() -> None:
    with pytest.raises(ValueError, match="too few"):
        figures(Audited(records=4), ABOUT)
    assert figures(Audited(records=5), ABOUT)["records"] == 5


def test_a_month_of_others_that_is_none_has_no_row() -> None:
    held = audited()
    held.months = (*held.months, Group("Smith-1", 9, *[Rate(0, 0)] * 5))
    assert len(figures(held, ABOUT)["months"]) == 5
    assert "Smith" not in json.dumps(figures(held, ABOUT))


def test_the_same_audit_gives_the_same_figures() -> None:
    assert json.dumps(figures(audited(), ABOUT, known)) == json.dumps(figures(audited(), ABOUT, known))


def test_sums_hold_the_truth_between_their_ends() -> None:
    """Oracle: the counts that the audits had before anything was withheld, added here."""
    pick = random.Random(8)
    open_ends = 0
    for _ in range(200):
        chosen = pick.sample(MADE, pick.randint(1, 6))
        given = []
        for number, one in enumerate(chosen):
            found, _ = read_figures(
                json.dumps(figures(one, About(f"k{number}", f"N{number}", "e", "free"))).encode(), ""
            )
            assert found is not None
            given.append(found)
        result = added(given)
        for key, attribute in KEYS.items():
            pooled = result.rates[key]
            told = [getattr(one, attribute) for one in chosen]
            if pooled.without:
                told = [rate for rate in told if rate.of == 0 or rate.of >= 5]
            assert pooled.of == sum(rate.of for rate in told)
            assert pooled.low <= sum(rate.count for rate in told) <= pooled.high
            assert pooled.clinics + pooled.without == len(chosen)
            open_ends += pooled.low < pooled.high
        assert result.records == sum(one.records for one in chosen)
        if result.weights:
            assert abs(sum(result.weights.values()) - 1) < 1e-9
    assert open_ends > 100


def test_a_sum_is_no_average_of_averages() -> None:
    """90 of 100 and 1,000 of 2,000: 1,090 of 2,100 is 51.9 percent, the average of 90 and 50 would be 70."""
    given = []
    for number, rate in enumerate((Rate(90, 100), Rate(1000, 2000))):
        held = Audited(records=100, completeness=rate, text_only=Rate(rate.of - rate.count, rate.of))
        found, _ = read_figures(json.dumps(figures(held, About(f"k{number}", f"N{number}", "e", "free"))).encode(), "")
        assert found is not None
        given.append(found)
    shares = added(given).rates["coded"].shares
    assert shares == (1090 / 2100, 1090 / 2100)


def spoilt(data: Any, pick: random.Random) -> Any:
    """One thing somewhere in the data made into something else."""
    places: list[tuple[Any, Any]] = []

    def walk(at: Any) -> None:
        for key, value in at.items() if isinstance(at, dict) else enumerate(at):
            places.append((at, key))
            if isinstance(value, dict | list):
                walk(value)

    walk(data)
    at, key = pick.choice(places)
    at[key] = pick.choice((None, -1, 0, 3, 10**400, 1.5, "x" * 500, "\ud800", [], {}, True, [[]], {"count": 1}))
    return data


def test_whatever_is_changed_in_figures_they_are_refused_or_the_same() -> None:
    pick = random.Random(4)
    good = figures(audited(), ABOUT, known)
    refused = 0
    for _ in range(1_500):
        data = spoilt(copy.deepcopy(good), pick)
        found, issues = read_figures(json.dumps(data).encode(), "a.json")
        assert (found is None) == bool(issues)
        assert found is not None or {one.rule for one in issues} <= {"A260", "A261"}
        assert found is None or found.data == good
        assert not any("x" * 50 in one.message for one in issues)
        refused += found is None
    assert refused > 1_300


def test_bytes_of_any_kind_are_refused_without_an_exception() -> None:
    pick = random.Random(5)
    whole = json.dumps(figures(audited(), ABOUT, known)).encode()
    for _ in range(300):
        cut = bytearray(whole[: pick.randrange(len(whole))])
        for _ in range(3):
            if cut:
                cut[pick.randrange(len(cut))] = pick.randrange(256)
        found, issues = read_figures(bytes(cut), "a.json")
        assert found is None
        assert issues
    for hostile in (b"[" * 500_000, b'{"a":' * 200_000, b"9" * 100_000, b" " * 5_000_001, b"\xff\xfe{", b"\x00"):
        assert [one.rule for one in read_figures(hostile, "a.json")[1]] == ["A260"]


def test_the_same_words_of_each_ear_and_of_each_way_of_saying_stay_apart() -> None:
    """“deafness” of the right ear has a code of its own: neither one is inconsistent with the other."""
    held = audited()
    use = held.terms[0]
    ears = [
        replace(use, text="wax ++", codes=(replace(use.codes[0], code=ear),), about=ear) for ear in ("right", "left")
    ]
    held.terms = (*ears, *ears)
    data = figures(held, ABOUT, known)
    assert [term["about"] for term in data["terms"]] == ["right", "left"]
    found, issues = read_figures(json.dumps(data).encode(), "a.json")
    assert issues == []
    assert found is not None
    assert added([found]).terms == ()
