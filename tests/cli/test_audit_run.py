"""`audit run`, `audit figures` and `audit roll-up` as a person and a schedule use them, over the demo's records."""

from __future__ import annotations

import csv
import json
import shutil
import stat
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import click
import jsonschema_rs
import pytest
from click.testing import CliRunner, Result

from bridge.cli import main
from bridge.data import load_csv, table_path
from tests.audit.seeder import bundles, sheets

DEMO = table_path("demo")
Run = Callable[..., Result]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs `audit` in a folder with the demo's practice and records."""
    for name in ("practice.yaml", "doctors.csv", "visits-2026.csv", "ears-2026.csv", "home-visits-2026.xlsx"):
        shutil.copy(DEMO / name, tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("VISIT_BRIDGE_PRACTICE", raising=False)
    return lambda *words: CliRunner().invoke(main, ["audit", *words])


def test_a_lead_reads_how_it_stands(run: Run) -> None:
    result = run("run", "visits-2026.csv", "home-visits-2026.xlsx")
    assert result.exit_code == 0, result.output
    lines = result.stdout.splitlines()
    assert max(map(len, lines)) <= 80
    assert lines[0].startswith("Coding audit: ")
    for part in ("Rates", "What changed", "Worst patterns", "Where to look next"):
        assert part in lines


def test_json_has_the_documented_shape_and_nothing_beside_it(run: Run) -> None:
    result = run("run", "visits-2026.csv", "--json")
    data = json.loads(result.stdout)
    jsonschema_rs.validate(json.loads(table_path("schemas", "audit.schema.json").read_text(encoding="utf-8")), data)
    assert data["records"] == 8  # a row that was corrected does not count


def personal() -> set[str]:
    """Names, birth dates, numbers and streets of the demo's clients, from its sheet."""
    found: set[str] = set()
    with (DEMO / "visits-2026.csv").open(encoding="utf-8-sig", newline="") as stream:
        for row in csv.DictReader(stream):
            for heading, cell in row.items():
                if any(
                    word in (heading or "").casefold()
                    for word in ("surname", "first name", "birth", "nhs", "client no")
                ):
                    found.add((cell or "").strip())
    return {one for one in found if len(one) >= 3}


def test_no_form_of_it_names_a_client(run: Run, tmp_path: Path) -> None:
    told = run("run", "visits-2026.csv", "--verbose", "--html", "a.html", "--csv", "a.csv", "--show-few").output
    told += run("run", "visits-2026.csv", "--json").output + run("figures", "visits-2026.csv", "--to", "-").output
    told += (tmp_path / "a.html").read_text(encoding="utf-8") + (tmp_path / "a.csv").read_text(encoding="utf-8")
    names = personal()
    assert len(names) > 20
    assert {name for name in names if name.casefold() in told.casefold()} == set()


@pytest.mark.skipif(sys.platform == "win32", reason="files have no such permissions there")
def test_files_are_for_the_owner_alone(run: Run, tmp_path: Path) -> None:
    run("run", "visits-2026.csv", "--html", "out/a.html", "--csv", "out/a.csv")
    run("figures", "visits-2026.csv", "--to", "out/f.json")
    for path in (tmp_path / "out").iterdir():
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert len(list((tmp_path / "out").iterdir())) == 3


@pytest.mark.parametrize(
    "words", [("run", "--html", "a.html"), ("run", "--csv", "a.html"), ("figures", "--to", "a.html")]
)
def test_a_file_that_is_there_is_not_written_over_unasked(run: Run, tmp_path: Path, words: tuple[str, ...]) -> None:
    (tmp_path / "a.html").write_text("mine", encoding="utf-8")
    result = run(*words, "visits-2026.csv")
    assert result.exit_code == 2
    assert "--replace" in result.output
    assert (tmp_path / "a.html").read_text(encoding="utf-8") == "mine"
    assert run(*words, "visits-2026.csv", "--replace").exit_code == 0
    assert (tmp_path / "a.html").read_text(encoding="utf-8") != "mine"


def test_a_source_is_never_written_over(run: Run, tmp_path: Path) -> None:
    before = (tmp_path / "visits-2026.csv").read_bytes()
    result = run("run", "visits-2026.csv", "--csv", "./visits-2026.csv", "--replace")
    assert result.exit_code == 2
    assert (tmp_path / "visits-2026.csv").read_bytes() == before


@pytest.mark.parametrize("name", ["practice.yaml", "doctors.csv", "keys/signing-key"])
def test_what_the_practice_keeps_is_never_written_over(run: Run, tmp_path: Path, name: str) -> None:
    (tmp_path / name).parent.mkdir(exist_ok=True)
    (tmp_path / name).touch()
    before = (tmp_path / name).read_bytes()
    result = run("run", "visits-2026.csv", "--csv", name, "--replace")
    assert (result.exit_code, "belongs to a practice folder" in " ".join(result.output.split())) == (2, True)
    assert (tmp_path / name).read_bytes() == before


@pytest.mark.parametrize("source", [".", "*.csv"])
def test_what_a_folder_or_a_pattern_holds_is_never_written_over(run: Run, tmp_path: Path, source: str) -> None:
    before = (tmp_path / "visits-2026.csv").read_bytes()
    for words in (("run", "--html"), ("run", "--csv"), ("figures", "--to")):
        result = run(*words, "visits-2026.csv", source, "--replace")
        assert (result.exit_code, "one of the sources" in " ".join(result.output.split())) == (2, True), words
    assert (tmp_path / "visits-2026.csv").read_bytes() == before
    assert run("run", source, "--csv", "found.csv", "--html", "a.html").exit_code in (0, 1)
    assert run("run", source, "--csv", "found.csv", "--html", "a.html", "--replace").exit_code in (0, 1)


def measured(result: Result) -> dict[str, object]:
    """All but the note of what was left alone."""
    told = json.loads(result.stdout)
    return {**told, "issues": [one for one in told["issues"] if one["rule"] != "R151"]}


def test_the_findings_of_an_earlier_run_are_no_source(run: Run) -> None:
    first = run("run", ".", "--csv", "found.csv", "--replace", "--json")
    again = run("run", ".", "--csv", "found.csv", "--replace", "--json")
    assert (first.exit_code, measured(first)) == (again.exit_code, measured(again))
    assert "1 made by visit-bridge" in again.stdout


def test_a_schedule_fails_below_a_floor(run: Run) -> None:
    low = run("run", "visits-2026.csv", "--floor", "coded=99.9", "--quiet")
    assert low.exit_code == 1
    assert low.stdout.startswith("  Error    A250")
    calm = run("run", "visits-2026.csv", "--floor", "coded=50", "--ceiling", "conflicts=50", "--quiet")
    assert (calm.exit_code, calm.output) == (0, "")


def test_a_schedule_fails_on_the_severity_it_names(run: Run) -> None:
    assert run("run", "visits-2026.csv", "--fail-on", "error").exit_code == 0
    warned = run("run", "visits-2026.csv", "--fail-on", "warning", "--quiet")
    assert warned.exit_code == 1
    assert "Warning" in warned.stdout
    assert run("run", "visits-2026.csv", "--fail-on", "never", "--floor", "coded=100").exit_code == 0


@pytest.mark.parametrize(
    "limit", ["coded", "coded=x", "coded=101", "coded=nan", "coded=-1", "retired=5", "=5", "coded=inf"]
)
def test_a_limit_that_is_none_is_wrong_use(run: Run, limit: str) -> None:
    assert run("run", "visits-2026.csv", "--floor", limit).exit_code == 2
    assert run("run", "visits-2026.csv", "--floor", "coded=5", "--floor", "coded=6").exit_code == 2


def test_no_colour_where_no_terminal_is(run: Run) -> None:
    assert "\x1b" not in run("run", "visits-2026.csv").output


def test_figures_go_up_and_the_missing_are_named(run: Run, tmp_path: Path) -> None:
    assert run("figures", "visits-2026.csv", "home-visits-2026.xlsx", "--to", "figures/a.json").exit_code == 0
    data = json.loads((tmp_path / "figures/a.json").read_text(encoding="utf-8"))
    jsonschema_rs.validate(
        json.loads(table_path("schemas", "audit-figures.schema.json").read_text(encoding="utf-8")), data
    )
    (tmp_path / "clinics.csv").write_text("name\nMillbrook Ear Care\nHatherby Ears\n", encoding="utf-8")
    result = run("roll-up", "figures", "--expected", "clinics.csv", "--html", "all.html", "--csv", "all.csv")
    assert result.exit_code == 0
    assert "Hatherby Ears sent nothing" in result.stdout
    assert "Hatherby Ears" in (tmp_path / "all.html").read_text(encoding="utf-8")
    assert run("roll-up", "figures", "--expected", "clinics.csv", "--fail-on", "warning", "-q").exit_code == 1
    assert json.loads(run("roll-up", "figures", "--json").stdout)["records"] == data["records"]


def test_figures_of_one_clinic_have_one_key(run: Run, tmp_path: Path) -> None:
    keys = set()
    for source in ("visits-2026.csv", "home-visits-2026.xlsx"):
        keys.add(json.loads(run("figures", source, "--to", "-").stdout)["clinic"]["key"])
    assert len(keys) == 1
    namespace = next(
        line for line in (tmp_path / "practice.yaml").read_text().splitlines() if line.startswith("namespace")
    )
    assert keys.pop() not in namespace


def test_words_of_figures_are_all_in_the_word_lists(run: Run) -> None:
    given = json.loads(run("figures", "visits-2026.csv", "home-visits-2026.xlsx", "ears-2026.csv", "--to", "-").stdout)
    shipped = {
        word.strip().casefold()
        for path in table_path("terms").glob("*.csv")
        if path.name != "kinds.csv"
        for row in load_csv(path)
        for word in (*row["words"].split("|"), row["label"])
    }
    told = {term["text"].casefold() for term in given["terms"]}
    assert told
    assert {text for text in told if text not in shipped and not any(text.endswith(word) for word in shipped)} == set()
    bare = json.loads(run("figures", "visits-2026.csv", "--to", "-", "--without-words").stdout)
    assert bare["terms"] == []


def test_of_a_few_records_no_figures_are_written(run: Run, tmp_path: Path) -> None:
    lines = (tmp_path / "visits-2026.csv").read_text(encoding="utf-8-sig").splitlines(keepends=True)
    (tmp_path / "visits-2026.csv").write_text("".join(lines[:4]), encoding="utf-8")
    result = run("figures", "visits-2026.csv", "--to", "f.json")
    assert result.exit_code == 1
    assert "A252" in result.output
    assert not (tmp_path / "f.json").exists()


def test_a_file_that_is_no_figures_fails_and_the_others_count(run: Run, tmp_path: Path) -> None:
    run("figures", "visits-2026.csv", "--to", "figures/a.json")
    (tmp_path / "figures/b.json").write_text('{"records": 3}', encoding="utf-8")
    result = run("roll-up", "figures")
    assert result.exit_code == 1
    assert "A260" in result.stdout
    assert "of 1 clinic:" in result.stdout
    assert run("roll-up", "figures", "--fail-on", "never").exit_code == 0


@pytest.mark.parametrize("months", ["2026", "2026-01", "2026-03..2026-01", "2026-01..2026-13"])
def test_months_that_are_none_are_wrong_use(run: Run, months: str) -> None:
    run("figures", "visits-2026.csv", "--to", "figures/a.json")
    assert run("roll-up", "figures", "--months", months).exit_code == 2


def test_a_folder_without_figures_is_wrong_use(run: Run, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    assert run("roll-up", "empty").exit_code == 2
    assert run("roll-up", "nowhere").exit_code == 2


def test_without_a_practice_folder_it_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("VISIT_BRIDGE_PRACTICE", raising=False)
    shutil.copy(DEMO / "visits-2026.csv", tmp_path)
    result = CliRunner().invoke(main, ["audit", "run", "visits-2026.csv"])
    assert result.exit_code == 3
    assert "practice" in result.output


def test_only_the_months_that_were_asked_for_count(run: Run) -> None:
    whole = json.loads(run("run", "visits-2026.csv", "--json").stdout)
    part = json.loads(run("run", "visits-2026.csv", "--json", "--months", "2026-01..2026-03").stdout)
    assert 0 < part["records"] < whole["records"]
    assert (part["first_month"], part["last_month"]) >= ("2026-01", "2026-01")
    assert part["last_month"] <= "2026-03"
    assert run("run", "visits-2026.csv", "--months", "2026-03").exit_code == 2


def test_records_of_no_month_are_left_out_and_told(run: Run, tmp_path: Path) -> None:
    bundle = {"resourceType": "Bundle", "type": "collection", "entry": [
        {"resource": {"resourceType": "Condition", "id": "1", "code": {"text": "wax"}, "subject": {"display": "x"}}},
    ]}  # fmt: skip
    (tmp_path / "undated.json").write_text(json.dumps(bundle), encoding="utf-8")
    part = json.loads(run("run", "undated.json", "--json", "--months", "2026-01..2026-12", "--fail-on", "never").stdout)
    assert part["records"] == 0
    assert "A253" in [one["rule"] for one in part["issues"]]
    assert json.loads(run("run", "undated.json", "--json", "--fail-on", "never").stdout)["records"] == 1


def test_a_quiet_run_with_a_page_says_nothing_where_all_is_well(run: Run, tmp_path: Path) -> None:
    quiet = run("run", "visits-2026.csv", "--html", "audit.html", "--csv", "audit.csv", "--quiet")
    assert (quiet.exit_code, quiet.output) == (0, "")
    assert (tmp_path / "audit.html").is_file()
    assert "Written: again.html" in run("run", "visits-2026.csv", "--html", "again.html").stderr
    sheet = run("changes", "shipped", ".", "visits-2026.csv", "--csv", "changes.csv", "--quiet")
    assert (sheet.exit_code, sheet.output) == (0, "")


@pytest.mark.parametrize(
    "words", [("run", "visits-2026.csv", "--html"), ("sample", "5", "visits-2026.csv", "--seed", "a", "--to")], ids=str
)
def test_what_cannot_be_written_is_named_with_what_to_do(run: Run, words: tuple[str, ...]) -> None:
    target = Path("doctors.csv/out.xlsx")  # below a file
    done = run(*words, str(target))
    assert done.exit_code == 3
    assert f"{target} cannot be written" in done.stderr
    assert "Name another file or folder." in done.stderr


def test_a_limit_over_nothing_does_not_pass_and_months_without_a_record_are_told(run: Run) -> None:
    nothing = ("run", "visits-2026.csv", "--months", "2062-01..2062-03")
    assert "A254" in run(*nothing).stdout
    held = run(*nothing, "--floor", "coded=90", "--quiet")
    assert held.exit_code == 1
    assert "A251" in held.stdout


def test_records_that_are_no_visit_are_told(run: Run, tmp_path: Path) -> None:
    sheet = tmp_path / "visits-2026.csv"
    heading, *rows = sheet.read_text(encoding="utf-8").splitlines()
    undated = [row.replace(row.split(",")[1], "", 1) for row in rows[:2]]
    sheet.write_text("\n".join([heading, *rows, *undated]), encoding="utf-8")
    found = json.loads(run("run", "visits-2026.csv", "--json").stdout)["issues"]
    (told,) = (one for one in found if one["rule"] == "A196")
    assert (told["message"], told["where"]["row"]) == (
        "2 records could not be read as visits, so nothing of what they hold is counted.",
        len(rows) + 2,
    )


def test_json_that_is_no_document_is_no_record(run: Run, tmp_path: Path) -> None:
    other = tmp_path / "other.json"
    other.write_text('{"name": "x"}', encoding="utf-8")
    done = run("run", "other.json", "--json")
    assert (done.exit_code, json.loads(done.stdout)["records"]) == (1, 0)
    assert "S101" in [one["rule"] for one in json.loads(done.stdout)["issues"]]


def test_limits_of_the_practice_hold_and_an_option_goes_before_them(run: Run, tmp_path: Path) -> None:
    settings = tmp_path / "practice.yaml"
    with settings.open("a", encoding="utf-8") as stream:
        stream.write("\naudit: {floors: {coded: 99.9}, ceilings: {text-only: 50}}\n")
    assert run("run", "visits-2026.csv", "--quiet").exit_code == 1
    assert run("run", "visits-2026.csv", "--quiet", "--floor", "coded=50").exit_code == 0
    wrong = settings.read_text(encoding="utf-8").replace("coded: 99.9", "codes: 99.9")
    settings.write_text(wrong, encoding="utf-8")
    result = run("run", "visits-2026.csv")
    assert result.exit_code == 3
    assert "no setting audit.floors.codes. The nearest known one is “coded”" in " ".join(result.output.split())
    settings.write_text(wrong.replace("codes: 99.9", "coded: 999"), encoding="utf-8")
    assert run("run", "visits-2026.csv").exit_code == 3


def test_what_an_earlier_run_wrote_beside_the_records_is_no_source(run: Run) -> None:
    before = measured(run("run", ".", "--json"))
    assert run("figures", ".", "--to", "kept/figures.json").exit_code == 0
    run("run", ".", "--csv", "kept/found.csv")
    assert measured(run("run", ".", "--json")) == before
    assert run("run", "kept/figures.json").exit_code == 3


def test_records_come_from_standard_input_too(run: Run, tmp_path: Path) -> None:
    content = (tmp_path / "visits-2026.csv").read_bytes()
    result = CliRunner().invoke(main, ["audit", "run", "-", "--json"], input=content)
    assert json.loads(result.stdout)["records"] == 8


def test_the_list_of_the_group_has_the_first_line_of_each_help_and_imports_none_of_them() -> None:
    from bridge.cli.audit import COMMANDS, command

    for name, line in COMMANDS.items():
        found = command.get_command(click.Context(command), name)
        assert found is not None
        assert " ".join((found.help or "").partition("\n\n")[0].split()) == line
    alone = (
        "import sys; from bridge.cli import main; main(['audit', '--help'], standalone_mode=False); print(*sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", alone], capture_output=True, text=True, check=True)
    assert {name for name in done.stdout.split() if name.startswith("bridge.cli.audit")} == {"bridge.cli.audit"}
    assert not {"yaml", "pydantic", "jinja2", "jsonschema_rs"} & set(done.stdout.split())


def test_an_unknown_command_of_the_group_is_wrong_use() -> None:
    assert CliRunner().invoke(main, ["audit", "nothing"]).exit_code == 2


def test_documents_of_others_need_no_practice_folder_and_figures_do(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("VISIT_BRIDGE_PRACTICE", raising=False)
    for name in ("M26-0101", "M26-0102"):
        shutil.copy(Path(__file__).parents[2] / f"demo_bundles/{name}.bundle.json", tmp_path)
    result = CliRunner().invoke(main, ["audit", "run", ".", "--json"])
    assert result.exit_code == 0, result.output
    assert json.loads(result.stdout)["records"] == 2
    assert CliRunner().invoke(main, ["audit", "run", ".", "--html", "a.html"]).exit_code == 0
    assert "<h1>Coding audit</h1>" in (tmp_path / "a.html").read_text(encoding="utf-8")
    assert CliRunner().invoke(main, ["audit", "figures", ".", "--to", "f.json"]).exit_code == 2
    assert CliRunner().invoke(main, ["audit", "run", ".", "--practice", "."]).exit_code == 3


def test_figures_of_records_with_every_inconsistency_are_sound(run: Run, tmp_path: Path) -> None:
    (tmp_path / "seeded").mkdir()
    sheets.write_sheet(tmp_path / "seeded/visits-seeded.csv", 200, seed=7, each=20)
    bundles.write_bundles(tmp_path / "seeded/seeded.ndjson", 200, seed=8, each=20)
    assert run("figures", "seeded", "--to", "figures/a.json").exit_code == 0
    data = json.loads(run("roll-up", "figures", "--json").stdout)
    assert data["issues"] == []
    assert data["records"] == 400
    assert len([one for one in data["patterns"].values() if one["high"]]) > 25
    told = run("run", "seeded", "--verbose", "--fail-on", "never").stdout.splitlines()
    assert max(map(len, told)) <= 80
