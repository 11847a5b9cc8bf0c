"""Visits in JSON: the same as in YAML, with the line and column of each field; broken ones spoil no others."""

from __future__ import annotations

import json
import tracemalloc
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bridge.data import mappings_root
from bridge.errors import BridgeError
from bridge.read.json_marks import load_marked_json
from bridge.read.kinds import what_is
from bridge.read.table import open_tables
from bridge.read.visits import read_visits
from tests.read.sheets import LONDON, codes

VISITS = sorted((mappings_root() / "demo" / "visits").glob("*.yaml"))
ALONE = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def as_text(path: Path) -> Any:
    return yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader)  # noqa: S506 - makes texts only


def write(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("path", VISITS, ids=lambda p: p.stem)
def test_a_visit_in_json_is_the_visit_in_yaml(path: Path, tmp_path: Path) -> None:
    (wanted,) = read_visits(path, None, LONDON)
    made = write(tmp_path / "a.json", json.dumps(as_text(path), ensure_ascii=False, indent=2))
    (found,) = read_visits(made, None, LONDON)
    assert wanted.visit is not None
    assert found.visit == wanted.visit.model_copy(update={"source_sha256": found.visit and found.visit.source_sha256})
    assert set(found.places) == set(wanted.places)


def three() -> list[Any]:
    found = [as_text(path) for path in VISITS[:3]]
    return [{**visit, "number": f"J{n}"} for n, visit in enumerate(found)]


@pytest.mark.parametrize("form", ["list", "lines", "indented list", "one behind the other"])
def test_many_visits_in_one_file(form: str, tmp_path: Path) -> None:
    visits = three()
    text = {
        "list": json.dumps(visits),
        "indented list": "\ufeff" + json.dumps(visits, indent=3),
        "lines": "\n".join(json.dumps(v) for v in visits) + "\n\n",
        "one behind the other": "\n".join(json.dumps(v, indent=1) for v in visits),
    }[form]
    path = write(tmp_path / "a.json", text)
    assert what_is(path) == "visits"
    readings = list(read_visits(path, None, LONDON))
    assert [r.visit.number for r in readings if r.visit] == [f"J{n}" for n in range(len(visits))]
    if form == "lines":
        assert [r.where.row for r in readings] == [1, 2, 3]


def test_places_are_lines_and_columns() -> None:
    text = '{"a": 1,\n  "b": {"c": [true, null,\n "x\\"y"]}}'
    data, places = load_marked_json(text, 4, 7)
    assert data == {"a": "1", "b": {"c": ["true", None, 'x"y']}}
    assert places == {
        "": (4, 7),
        "a": (4, 8),
        "b": (5, 3),
        "b.c": (5, 9),
        "b.c[0]": (5, 15),
        "b.c[1]": (5, 21),
        "b.c[2]": (6, 2),
    }


@ALONE
@given(
    data=st.recursive(
        st.none() | st.booleans() | st.integers() | st.text(),
        lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
        max_leaves=20,
    )
)
def test_marked_json_is_the_json_of_the_standard_library(data: Any) -> None:
    def texts(node: Any) -> Any:
        if isinstance(node, dict):
            return {k: texts(v) for k, v in node.items()}
        if isinstance(node, list):
            return [texts(v) for v in node]
        return node if node is None or isinstance(node, str) else json.dumps(node)

    for indent in (None, 2):
        assert load_marked_json(json.dumps(data, indent=indent), 1, 1)[0] == texts(data)


def test_a_broken_line_does_not_stop_the_next(tmp_path: Path) -> None:
    lines = [json.dumps(v) for v in three()]
    lines[1] = lines[1][:-9]
    readings = list(read_visits(write(tmp_path / "a.ndjson", "\n".join(lines)), None, LONDON))
    assert [bool(r.visit) for r in readings] == [True, False, True]
    assert [(i.rule, i.where.row) for r in readings for i in r.issues if i.severity > 1] == [("R148", 2)]


BROKEN: dict[str, tuple[str, str]] = {
    "a name twice": ('{"number": "V1", "start": "2026-05-03", "number": "V2"}', "R149"),
    "too deep": ('{"number": "V1", "start": ' + "[" * 40 + "]" * 40 + "}", "R150"),
    "no object": ('[{"number": "V1", "start": "2026-05-03"}, 5]', "R148"),
    "no end": ('[{"number": "V1", "start": "2026-05-03"}, {"number": "V2"', "R148"),
    "too long": ('[{"number": "V1", "start": "2026-05-03"}, {"note": "' + "x" * 2_100_000 + '"}]', "R123"),
    "a field that is none": ('{"number": "V1", "strat": "x", "start": "2026-05-03", "version": 1}', "R120"),
}


@pytest.mark.parametrize("name", BROKEN)
def test_what_is_wrong_is_told_with_its_line(name: str, tmp_path: Path) -> None:
    text, rule = BROKEN[name]
    readings = list(read_visits(write(tmp_path / "a.json", text), None, LONDON))
    assert rule in codes(readings)
    assert not [r for r in readings if r.visit]
    assert all(i.where.row == 1 and i.where.column for r in readings for i in r.issues)


@ALONE
@given(text=st.text(st.sampled_from(list('{}[]",:\\ \n0123truefalsnumbecit')), max_size=200))
def test_random_json_never_ends_in_a_traceback(text: str, tmp_path: Path) -> None:
    path = write(tmp_path / "random.json", text)
    with suppress(BridgeError):
        if what_is(path) == "visits":
            list(read_visits(path, None, LONDON))
        else:
            for table in open_tables(path):
                list(table.rows())


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[]", "no records"), ("[1, 2]", "no records"), ('{"a": [1, 2', "ends before"),
        ('[{"a": 1}, {"a"', ""), ('{"a": [{"b": 1} {"b": 2}]}', "comma"),
    ],
)  # fmt: skip
def test_json_without_records_is_said(text: str, told: str, tmp_path: Path) -> None:
    path = write(tmp_path / "a.json", text)
    if told:
        with pytest.raises(BridgeError, match=told) as caught:
            open_tables(path)
        assert caught.value.help
    else:
        assert [f.rule for raw in open_tables(path)[0].rows() for _, f in raw.faults] == ["R148"]


def test_numbers_stay_as_they_are_written(tmp_path: Path) -> None:
    text = '{"rows": [{"a": 1.50, "b": {"c": true, "d": [1, "x"]}}, {"a": 007e0, "e": null}]}'.replace("007e0", "1E2")
    table = open_tables(write(tmp_path / "a.json", text))[0]
    assert table.names == ["a", "b / c", "b / d", "e"]
    assert [raw.cells for raw in table.rows()] == [["1.50", "yes", "1\nx", ""], ["1E2", "", "", ""]]


@pytest.mark.parametrize("form", ["list", "lines"])
def test_memory_does_not_grow_with_the_records(form: str, tmp_path: Path) -> None:
    def peak(count: int) -> int:
        records = (json.dumps({"a": f"{n:060}", "b": "words " * 20}) for n in range(count))
        text = "\n".join(records) if form == "lines" else f"[{', '.join(records)}]"
        table = open_tables(write(tmp_path / f"{count}.json", text))[0]
        tracemalloc.start()
        assert sum(1 for _ in table.rows()) == count
        found = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return found

    assert peak(6000) < peak(600) * 1.5 + 400_000
