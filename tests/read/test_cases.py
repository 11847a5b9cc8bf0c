"""Every rule of reading against its cases in tests/cases/<RULE>.yaml.

A case changes the good row of `sheets.py` (`rows`, one mapping for each row of the sheet), gives the rows as text
(`text`), or a YAML record (`yaml`). `at` ends the place of the issue that is wanted: a heading, a row, a line.
"""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Any

import pytest
import yaml

from bridge.issues import Severity, rules
from bridge.layout import load_layout
from bridge.read.visits import read_visits
from bridge.shapes import Reading
from tests.read.sheets import LONDON, good, layout_data, write_layout, write_sheet

CASES = Path(__file__).parents[1] / "cases"
CODES = [
    code
    for code in rules()
    if "R101" <= code <= "R139" or "R160" <= code <= "R199" or code in ("R155", "R207", "R208", "R209", "R210")
]


def load(code: str) -> dict[str, Any]:
    cases: dict[str, Any] = yaml.safe_load((CASES / f"{code}.yaml").read_text(encoding="utf-8"))
    return cases


def read(case: dict[str, Any], kind: str, folder: Path) -> list[Reading]:
    if "yaml" in case:
        path = folder / "record.yaml"
        path.write_text(case["yaml"], encoding="utf-8")
        return list(read_visits(path, None, LONDON))
    layout = load_layout(write_layout(folder, layout_data(kind, case.get("layout"))))
    changes = case.get("rows", [{}])
    rows = [{k: v for k, v in {**good(kind), **change}.items() if v is not None} for change in changes]
    sheet = write_sheet(folder / "sheet.csv", layout, rows)
    text = sheet.read_text(encoding="utf-8")
    if "text" in case:
        head, body = text.split("\n", 1)
        whole = body.rstrip("\r\n")
        text = head + "\n" + case["text"].replace("{good}", whole).replace("{short}", whole.rstrip(","))
    if "extra" in case or "missing" in case:
        text = reheaded(text, case.get("extra", []), case.get("missing", []))
    sheet.write_bytes(text.encode(case.get("encoding", "utf-8")))
    return list(read_visits(sheet, layout, LONDON))


def reheaded(text: str, extra: list[str], missing: list[str]) -> str:
    head, *body = list(csv.reader(io.StringIO(text, newline="")))
    keep = [i for i, h in enumerate(head) if h not in missing]
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow([*(head[i] for i in keep), *extra])
    writer.writerows([*(row[i] for i in keep), *("x" for _ in extra)] for row in body)
    return out.getvalue()


@pytest.mark.parametrize("code", CODES)
def test_a_good_record_has_no_such_issue(code: str, tmp_path: Path) -> None:
    cases = load(code)
    assert cases["passes"]
    for case in cases["passes"]:
        readings = read(case, cases.get("sheet", "visit"), tmp_path)
        assert [i.message for r in readings for i in r.issues if i.rule == code] == []
        assert [i.message for r in readings for i in r.issues if i.severity >= Severity.error] == []
        assert any(r.visit for r in readings)


@pytest.mark.parametrize("code", CODES)
def test_a_bad_record_has_the_issue_at_its_place(code: str, tmp_path: Path) -> None:
    cases = load(code)
    assert cases["fails"]
    for case in cases["fails"]:
        readings = read(case, cases.get("sheet", "visit"), tmp_path)
        found = [i for r in readings for i in r.issues if i.rule == code]
        assert found, [(i.rule, i.message) for r in readings for i in r.issues]
        assert any(str(i.where).rstrip("”").endswith(case["at"]) or case["at"] in str(i.where) for i in found), found
        if rules()[code].severity >= Severity.error:
            assert not [r for r in readings if r.visit and any(i.rule == code for i in r.issues)]


@pytest.mark.parametrize("code", CODES)
def test_no_message_quotes_who_the_client_is(code: str, tmp_path: Path) -> None:
    cases = load(code)
    for case in cases["fails"]:
        told = [
            i.message + i.cause + i.help for r in read(case, cases.get("sheet", "visit"), tmp_path) for i in r.issues
        ]
        for secret in ("testington", "ada", "999 000 0018", "1950-05-03", "03/05/1950", "other"):
            words = " ".join(told).casefold().replace("the other", "").replace("another", "").split()
            assert secret not in words
