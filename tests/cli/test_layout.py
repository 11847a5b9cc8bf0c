"""`layout draft` and `layout check`: a layout from the sheet, its questions, and three rows as they are read."""

from __future__ import annotations

import csv
import json
import shutil
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from bridge.cli import main
from bridge.cli.layout import _staff
from bridge.coding import code_visit, load_term_maps
from bridge.data import mappings_root
from bridge.layout import load_layout
from bridge.read.visits import read_visits
from tests.read.sheets import LONDON

DEMO = mappings_root() / "demo"
ROWS = [
    ["Visit no", "Date", "Name", "Born", "Seen by", "GP letter", "R drum", "L drum", "Fee"],
    ["1", "14/05/2026", "Smith, Ann", "03/05/1950", "JB", "Y", "NAD", "ok", "60"],
    ["2", "15/05/2026", "Jones, Mary", "13/07/1941", "JB", "N", "UTV", "NAD", "60"],
]


def run(*args: str, answers: str | None = None) -> Result:
    return CliRunner().invoke(main, ["layout", *args], input=answers)


def write(path: Path, rows: Sequence[Sequence[str]]) -> Path:
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows(rows)
    return path


@pytest.fixture
def sheet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.delenv("VISIT_BRIDGE_PRACTICE", raising=False)
    monkeypatch.chdir(tmp_path)
    return write(tmp_path / "visits.csv", ROWS)


def test_a_draft_tells_each_column_and_writes_nothing(sheet: Path) -> None:
    result = run("draft", str(sheet))
    assert result.exit_code == 1
    told = " ".join(result.output.split())
    wanted = ("date of the visit sure", "Born birth date sure", "? consent to share", "not used")
    assert [text for text in wanted if text not in told] == []
    assert max(map(len, result.output.splitlines())) <= 80
    assert [p.name for p in sheet.parent.iterdir()] == ["visits.csv"]


def test_a_draft_is_written_once_and_only_over_what_may_be_replaced(sheet: Path) -> None:
    target = sheet.parent / "layouts" / "ours.yaml"
    assert run("draft", str(sheet), "--to", str(target)).exit_code == 1
    first = target.read_bytes()
    refused = run("draft", str(sheet), "--to", str(target))
    assert "nothing was overwritten" in refused.output
    target.write_text("mine")
    assert run("draft", str(sheet), "--to", str(target)).exit_code == 1
    assert target.read_text() == "mine"
    run("draft", str(sheet), "--to", str(target), "--replace")
    assert target.read_bytes() == first
    assert run("draft", str(sheet), "--to", "-").stdout.encode() == first


def test_an_open_draft_is_not_used(sheet: Path) -> None:
    run("draft", str(sheet), "--to", "ours.yaml")
    result = run("check", str(sheet), "--layout", "ours.yaml")
    assert result.exit_code == 3
    assert "“GP letter”: What is this column?" in result.output
    assert "R220" in result.output


ANSWERS = "1\n1\n2\n1\n"
"""GP letter is the consent to share; “ok” is normal; Y is given, N refused: by the order of the questions below."""


def test_the_questions_make_a_layout_that_reads(sheet: Path) -> None:
    result = run("draft", str(sheet), "--ask", "--to", "ours.yaml", answers=ANSWERS)
    assert result.exit_code == 0, result.output
    layout = load_layout(Path("ours.yaml"))
    visits = [r.visit for r in read_visits(sheet, layout, LONDON) if r.visit]
    assert [v.sharing.status for v in visits if v.sharing] == ["given", "refused"]
    told = [visits[0].model_dump()["left"], visits[1].model_dump()["right"]]
    assert [ear["before"]["drum"]["answer"] for ear in told] == ["normal", "not seen"]


def test_what_is_skipped_stays_open_and_a_stop_writes_nothing(sheet: Path) -> None:
    result = run("draft", str(sheet), "--ask", "--to", "ours.yaml", answers="s\ns\n")
    assert result.exit_code == 1
    assert "GP letter: ask" in Path("ours.yaml").read_text(encoding="utf-8")
    stopped = run("draft", str(sheet), "--ask", "--to", "other.yaml", answers="1\n")
    assert stopped.exit_code not in (0, 1)
    assert not Path("other.yaml").exists()


def test_json_shows_no_client_without_samples(sheet: Path) -> None:
    text = run("draft", str(sheet), "--json").stdout
    data = json.loads(text)
    assert data["questions"][0]["column"] == "GP letter"
    assert not [n for n in ("Smith", "Ann", "1950", "1941") if n in text]
    assert "Smith" in run("draft", str(sheet), "--json", "--samples").stdout


def test_check_shows_rows_and_columns_without_a_partner(sheet: Path) -> None:
    run("draft", str(sheet), "--ask", "--to", "ours.yaml", answers=ANSWERS)
    write(sheet, [[*ROWS[0][:-2], "Drum left", "Mood"], *ROWS[1:]])
    result = run("check", str(sheet), "--layout", "ours.yaml")
    assert result.exit_code == 1
    assert "so not read: “Drum left”, “Mood”" in " ".join(result.output.split())
    assert "not in the sheet: “L drum”" in " ".join(result.output.split())
    write(sheet, [*ROWS, ["3", "31/02/2026", "Moss, Jo", "1/1/1940", "JB", "perhaps", "NAD", "", ""]])
    result = run("check", str(sheet), "--layout", "ours.yaml")
    shown = " ".join(result.output.split())
    wanted = (
        "Row 2",
        "Row 3",
        "Row 4",
        "R drum: UTV -> eardrum before the work, right ear: not seen",
        "(R104)",
        "(R101)",
    )
    assert [text for text in wanted if text not in shown] == []
    assert max(map(len, result.output.splitlines())) <= 80
    text = run("check", str(sheet), "--layout", "ours.yaml", "--json").stdout
    assert json.loads(text)[0]["records"] == 3
    assert not [n for n in ("Smith", "Ann", "1950", "Moss") if n in text]


def test_a_missing_or_odd_file_is_told_plainly(sheet: Path) -> None:
    for command in ("draft", "check"):
        result = run(command, "gone.csv")
        assert result.exit_code == 3
        assert "fault of its own" not in result.output
    (sheet.parent / "empty.csv").write_text("\n\n")
    assert "fault of its own" not in run("draft", "empty.csv").output
    assert run("draft", str(sheet), "--sheet", "Nope").exit_code == 3


DICTATED = [
    ["Date", "Name", "Born", "Dictation", "Seen by", "Consent to share"],
    ["14/05/2026", "Smith, Ann", "03/05/1950",
     "She came with a blocked right ear. The canal was full of hard wax, which I cleared with suction. The drum was"
     " then seen in full.", "PS", "yes"],
    ["15/05/2026", "Jones, Mary", "13/07/1941", "Both ears were clear, nothing was done, and she was glad.", "PS", ""],
]  # fmt: skip


def test_one_dictated_cell_makes_a_letter_in_those_words(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("practice.yaml", "doctors.csv"):
        shutil.copy(DEMO / name, tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("VISIT_BRIDGE_PRACTICE", raising=False)
    write(tmp_path / "dictated.csv", DICTATED)
    drafted = run("draft", "dictated.csv", "--to", "layouts/dictated.yaml")
    assert drafted.exit_code == 0, drafted.output
    done = CliRunner().invoke(main, ["convert", "dictated.csv", "--letters", "--json"])
    report = json.loads(done.stdout)
    told = {(i["rule"], i.get("row") or i.get("where", {}).get("row")) for i in report["issues"]}
    assert ("D110", 3) in told, told
    letters = list(tmp_path.rglob("*.html"))
    assert len(letters) == 1
    page = " ".join(letters[0].read_text(encoding="utf-8").split())
    assert "The canal was full of hard wax, which I cleared with suction." in page
    bundle = json.loads(next(tmp_path.rglob("*.bundle.json")).read_text(encoding="utf-8"))
    kinds = [entry["resource"]["resourceType"] for entry in bundle["entry"]]
    assert not {"Condition", "Procedure"} & set(kinds)


SAID = {
    "L reason": "left.work.outcome_reason", "R reason": "right.work.outcome_reason", "L wax depth": "mm",
    "R wax depth": "mm",
}  # fmt: skip


@pytest.mark.parametrize("name", ["visits-2026.csv", "ears-2026.csv"])
def test_the_demo_reads_alike_through_its_own_draft(name: str, tmp_path: Path) -> None:
    """The shipped layouts were written by hand; the draft has to read the same visits from the same sheets."""
    from bridge.drafting import answer, layout_page, open_questions
    from bridge.drafts import draft_file

    found = draft_file(DEMO / name)
    for question in open_questions(found):
        answer(found, question, SAID[question.heading])
    assert open_questions(found) == []
    (tmp_path / "own.yaml").write_text(layout_page(found), encoding="utf-8")
    drafted = load_layout(tmp_path / "own.yaml")
    shipped = load_layout(mappings_root() / "layouts" / f"one-row-per-{drafted.rows}.yaml")
    maps = load_term_maps()
    by_draft, by_hand = (
        [code_visit(r.visit, maps)[0] for r in read_visits(DEMO / name, lay, LONDON) if r.visit]
        for lay in (drafted, shipped)
    )
    assert len(by_hand) >= 4
    assert by_draft == by_hand


@pytest.fixture
def clinic(sheet: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A practice folder around the sheet, with a person of the key PS."""
    for name in ("practice.yaml", "doctors.csv"):
        shutil.copy(DEMO / name, sheet.parent)
    return sheet


def test_asked_in_a_practice_folder_it_is_written_there(clinic: Path) -> None:
    result = run("draft", "visits.csv", "--ask", answers=ANSWERS)
    assert result.exit_code == 0, result.output
    assert "Written: layouts/visits.yaml" in result.output.replace(str(clinic.parent) + "/", "")
    assert load_layout(clinic.parent / "layouts" / "visits.yaml").fills("sharing.status")


def test_asked_without_a_practice_it_is_written_beside_the_person(sheet: Path) -> None:
    assert run("draft", "visits.csv", "--ask", answers=ANSWERS).exit_code == 0
    assert load_layout(Path("visits.layout.yaml")).fills("sharing.status")


def test_a_dash_prints_and_nothing_else(clinic: Path) -> None:
    result = run("draft", "visits.csv", "--to", "-")
    assert result.stdout.startswith("# A layout drafted")
    assert not (clinic.parent / "layouts").exists()


def test_a_sheet_with_a_layout_is_asked_about_new_columns_only(clinic: Path) -> None:
    run("draft", "visits.csv", "--ask", answers=ANSWERS)
    target = clinic.parent / "layouts" / "visits.yaml"
    first = target.read_bytes()
    write(clinic, [[*row, extra] for row, extra in zip(ROWS, ["Zz", "hm", "ho"], strict=True)])
    no = run("draft", "visits.csv", "--ask", answers="2\nn\n")
    assert "[1 left]" in no.output
    assert "“GP letter”" not in no.output
    assert "Write over it?" in no.output
    assert target.read_bytes() == first
    yes = run("draft", "visits.csv", "--ask", answers="2\ny\n")
    assert yes.exit_code == 0, yes.output
    assert load_layout(target).fills("sharing.status")
    assert "sure: your layout says so" in target.read_text(encoding="utf-8")
    again = run("draft", "visits.csv", "--ask")
    assert (again.exit_code, "nothing is open in it" in again.output) == (0, True)


def interrupted(monkeypatch: pytest.MonkeyPatch, after: int) -> None:
    """The person presses Ctrl-C instead of the next answer."""
    import click

    asked, plain = [0], click.prompt

    def prompt(*args: Any, **named: Any) -> Any:
        asked[0] += 1
        if asked[0] > after:
            raise click.Abort
        return plain(*args, **named)

    monkeypatch.setattr(click, "prompt", prompt)


def test_ctrl_c_keeps_the_answers_only_where_the_person_says_so(clinic: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = clinic.parent / "layouts" / "visits.yaml"
    with monkeypatch.context() as stopping:
        interrupted(stopping, 1)
        assert run("draft", "visits.csv", "--ask", answers="1\nn\n").exit_code not in (0, 1)
        assert not target.exists()
    with monkeypatch.context() as stopping:
        interrupted(stopping, 1)
        stopped = run("draft", "visits.csv", "--ask", answers="1\ny\n")
    assert "Go on with: visit-bridge layout draft visits.csv --ask" in stopped.output
    assert "ask" in target.read_text(encoding="utf-8")
    done = run("draft", "visits.csv", "--ask", answers="1\n1\n2\ny\n")
    assert done.exit_code == 0, done.output
    assert "“GP letter”?" not in done.output
    assert load_layout(target).fills("sharing.status")


def test_ctrl_c_never_writes_over_a_layout(clinic: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = clinic.parent / "layouts" / "visits.yaml"
    run("draft", "visits.csv", "--to", str(target))
    first = target.read_bytes()
    interrupted(monkeypatch, 1)
    stopped = run("draft", "visits.csv", "--ask", answers="1\ny\n")
    assert "nothing was written" in stopped.output
    assert target.read_bytes() == first


def test_an_answer_that_another_column_has_is_asked_again(sheet: Path) -> None:
    answers = f"{field_number(sheet)}\ndate of the visit\n{ANSWERS}"
    result = run("draft", "visits.csv", "--ask", answers=answers)
    assert result.exit_code == 0, result.output
    assert "The column “Date” gives “date of the visit” already" in " ".join(result.output.split())
    assert "Nothing is left open" in result.output


def field_number(sheet: Path) -> int:
    """The number of “another field” in the first question about a column."""
    shown = run("draft", str(sheet), "--ask", answers="").output
    return int(next(line.split()[0] for line in shown.splitlines() if "another field" in line))


def test_a_field_can_be_named_and_near_ones_are_shown(sheet: Path) -> None:
    number = field_number(sheet)
    plain = run("draft", "visits.csv", "--ask", "--to", "a.yaml", answers=f"{number}\nrequests\n1\n")
    assert plain.exit_code == 0, plain.output
    assert load_layout(Path("a.yaml")).fills("requests")
    near = run("draft", "visits.csv", "--ask", "--to", "b.yaml", answers=f"{number}\nwax before\n1\n1\n")
    assert "1  wax seen before the work, right ear" in near.output
    slip = run("draft", "visits.csv", "--ask", "--to", "d.yaml", answers=f"{number}\nfolow up\n1\n1\n")
    assert load_layout(Path("d.yaml")).fills("follow_up"), slip.output
    none = run("draft", "visits.csv", "--ask", "--to", "c.yaml", answers=f"{number}\nxqzw\ns\ns\n")
    assert "No field has a name like that" in none.output


def test_what_no_letter_can_do_without_is_told_and_one_person_may_be_named(clinic: Path) -> None:
    rows = [[c for c, h in zip(row, ROWS[0], strict=True) if h not in ("Seen by", "GP letter")] for row in ROWS]
    write(clinic, rows)
    told = " ".join(run("draft", "visits.csv").output.split())
    wanted = ("gives the consent to share", "gives who saw the client", "gives the family doctor’s practice")
    assert [text for text in wanted if text not in told] == []
    keys = [key for key, _ in _staff(clinic.parent)]
    done = run("draft", "visits.csv", "--ask", answers=f"1\n{keys[0]}\n")
    assert done.exit_code == 0, done.output
    layout = load_layout(clinic.parent / "layouts" / "visits.yaml")
    assert [(t.field.path, value) for t, value in layout.constants] == [("practitioners", keys[0])]


def test_several_columns_of_notes_are_joined_with_their_headings(sheet: Path) -> None:
    columns = '  Visit no: number\n  Date: start.date\n  Name: {to: client.legal_name, name: "family, given"}\n'
    notes = "  Seen by: note\n  GP letter: note\n"
    Path("ours.yaml").write_text(
        f"name: ours\nrows: visit\ndates: [dd/mm/yyyy]\ncolumns:\n{columns}{notes}", encoding="utf-8"
    )
    first = next(r.visit for r in read_visits(sheet, load_layout(Path("ours.yaml")), LONDON) if r.visit)
    assert first.note == "JB\nGP letter: Y"
