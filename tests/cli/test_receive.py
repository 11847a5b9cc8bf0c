"""`receive`: documents of ours become visit files that say the same; what is no visit is kept, what is broken not."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from click.testing import CliRunner, Result

from bridge.cli import main
from bridge.fhir.received import read_received
from bridge.read.visits import read_visits
from bridge.receive import bundle_to_visits
from bridge.receive.same_visit import facts
from bridge.receive.settling import Settling
from bridge.visit import Visit

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "mappings/demo"
FORMS = ("json", "xml", "pdf", "cda")
ID = "0b956b5a-97b9-4dbb-b6c3-4aae91bf0389"
RECORDS = ("M26-0110", "M26-0128", "M26-0130")


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("VISIT_BRIDGE_PRACTICE", raising=False)
    return tmp_path


@pytest.fixture(scope="module")
def letters(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Summaries, a referral, a draft and a client's copy in every form."""
    folder = tmp_path_factory.mktemp("letters")
    sources = [str(DEMO / f"visits/{number}.yaml") for number in RECORDS]
    for reader in ("doctor", "client"):
        args = ["letter", *sources, "--practice", str(DEMO), "--as", ",".join(FORMS), "--for", reader, "--with-data"]
        assert CliRunner().invoke(main, [*args, "--to", str(folder), "-q"]).exit_code == 0
    return folder


def receive(*args: str | Path, given: bytes = b"") -> Result:
    return CliRunner().invoke(main, ["receive", *map(str, args)], input=given)


def visit_in(path: Path) -> Visit:
    (reading,) = read_visits(path, None, ZoneInfo("Europe/London"))
    assert reading.issues == []
    assert reading.visit is not None
    return reading.visit.model_copy(update={"source_sha256": None})


def names() -> list[str]:
    return sorted(path.name for path in Path("received").iterdir()) if Path("received").exists() else []


STEMS = ("M26-0110", "M26-0128.referral", "M26-0130.draft", "M26-0110.client")


@pytest.mark.parametrize("ending", ["bundle.json", "bundle.xml", "pdf", "cda.xml"])
@pytest.mark.parametrize("stem", STEMS)
def test_a_document_of_ours_becomes_a_file_with_the_same_visit(stem: str, ending: str, letters: Path) -> None:
    result = receive(letters / f"{stem}.{ending}")
    assert result.exit_code == 0, result.output
    assert names() == [f"{stem}.yaml"]
    data, _ = read_received((letters / f"{stem}.bundle.json").read_bytes())
    (sent,), _ = bundle_to_visits(data)
    assert visit_in(Path("received", names()[0])) == sent.model_copy(update={"source_sha256": None})


def test_what_was_received_is_taken_as_a_record(letters: Path) -> None:
    receive(letters / "M26-0110.pdf")
    result = CliRunner().invoke(main, ["check", "received/M26-0110.yaml", "--practice", str(DEMO), "--json"])
    assert result.exit_code == 0, result.output
    assert json.loads(result.stdout)["figures"]["ready"] == 1


def test_a_folder_of_letters_in_several_forms_gives_each_visit_once(letters: Path) -> None:
    told: dict[str, Any] = json.loads(receive(letters, "--json").stdout)
    assert [i for i in told["issues"] if i["severity"] == "error"] == []
    stems = {path.name.partition(".bundle")[0].partition(".cda")[0].removesuffix(".pdf") for path in letters.iterdir()}
    written = {name.removesuffix(".yaml") for name in names()}
    assert written < stems
    assert told["figures"]["visit files written"] == len(written)
    assert told["figures"]["visit files unchanged"] == len(written) * (len(FORMS) - 1)
    assert {one["state"] for one in told["files"]} == {"written", "unchanged"}


def test_what_makes_no_file_is_wholly_in_one_that_is_made(letters: Path) -> None:
    receive(letters)
    made = [facts(visit_in(Path("received", name))) for name in names()]
    for path in letters.glob("*.bundle.json"):
        (sent,), _ = bundle_to_visits(read_received(path.read_bytes())[0])
        assert any(facts(sent) <= held for held in made), path.name


def test_standard_input(letters: Path) -> None:
    assert receive("-", given=(letters / "M26-0110.pdf").read_bytes()).exit_code == 0
    assert names() == ["M26-0110.yaml"]


def test_nothing_is_written_over_unless_it_is_wished(letters: Path) -> None:
    Path("received").mkdir()
    Path("received/M26-0110.yaml").write_text("mine")
    result = receive(letters / "M26-0110.pdf")
    assert (result.exit_code, Path("received/M26-0110.yaml").read_text()) == (1, "mine")
    assert "D175" in result.stdout
    assert receive(letters / "M26-0110.pdf", "--replace").exit_code == 0
    assert visit_in(Path("received/M26-0110.yaml")).number == "M26-0110"


def _of_others(letters: Path) -> dict[str, tuple[bytes, str]]:
    """Documents that are not taken over, and the rule that says why."""
    data = json.loads((letters / "M26-0110.bundle.json").read_bytes())
    broken = json.dumps({**data, "type": "letter"})
    patient = next(e["resource"] for e in data["entry"] if e["resource"]["resourceType"] == "Patient")
    visit = {"resourceType": "Encounter", "status": "finished", "class": {"code": "AMB"}}
    half = {"resourceType": "Bundle", "type": "collection", "entry": [{"fullUrl": "urn:uuid:" + ID, "resource": visit}]}
    return {
        "broken.json": (broken.encode(), "S1"),
        "patient.json": (json.dumps(patient).encode(), ""),
        "half.json": (json.dumps(half).encode(), ""),
        "other.cda.xml": (b'<ClinicalDocument xmlns="urn:hl7-org:v3"/>', ""),
        "records.csv": (b"Visit no,Date\n1,2\n", "R154"),
    }


@pytest.mark.parametrize("name", ["patient.json", "half.json"])
def test_of_what_is_no_visit_all_is_kept_with_an_account(name: str, letters: Path) -> None:
    content = _of_others(letters)[name][0]
    Path(name).write_bytes(content)
    told = json.loads(receive(name, "--json").stdout)
    assert [i["rule"] for i in told["issues"] if i["severity"] == "error"] == []
    stem = name.partition(".")[0]
    assert names() == [f"{stem}.account.json", f"{stem}.kept.json"]
    kept = json.loads(Path("received", f"{stem}.kept.json").read_bytes())
    sent = json.loads(content)
    assert [e["resource"] for e in kept["entry"]] == [e["resource"] for e in sent.get("entry", [{"resource": sent}])]
    (line,) = [
        r for r in json.loads(Path("received", f"{stem}.account.json").read_bytes())["account"] if r["type"] != "Bundle"
    ]
    assert line["state"] == "kept"


@pytest.mark.parametrize("name", ["broken.json", "other.cda.xml", "records.csv"])
def test_of_other_documents_nothing_is_written_and_it_is_told(name: str, letters: Path) -> None:
    content, rule = _of_others(letters)[name]
    Path(name).write_bytes(content)
    told = json.loads(receive(name, "--json").stdout)
    errors = [i["rule"] for i in told["issues"] if i["severity"] == "error"]
    assert errors != []
    assert any(found.startswith(rule) for found in errors)
    assert names() == []


def test_the_whole_record_of_a_client_is_kept_and_not_taken_apart() -> None:
    source = ROOT / "demo_bundles/summaries/C-1011.ips.bundle.json"
    told = json.loads(receive(source, "--json").stdout)
    assert [i["rule"] for i in told["issues"] if i["severity"] == "error"] == []
    assert "X112" in [i["rule"] for i in told["issues"]]
    assert names() == ["C-1011.ips.account.json", "C-1011.ips.kept.json"]
    sent, kept = (json.loads(path.read_bytes()) for path in (source, Path("received/C-1011.ips.kept.json")))
    assert [e["resource"] for e in kept["entry"]] == [e["resource"] for e in sent["entry"]]


def test_what_contradicts_itself_is_kept_and_becomes_no_visit(letters: Path) -> None:
    data = json.loads((letters / "M26-0110.bundle.json").read_bytes())
    data["entry"][1]["fullUrl"] = data["entry"][0]["fullUrl"]
    Path("twice.json").write_text(json.dumps(data))
    told = json.loads(receive("twice.json", "--json").stdout)
    assert {i["rule"] for i in told["issues"]} >= {"X183"}
    assert any(i["severity"] == "error" for i in told["issues"])
    assert names() == ["twice.account.json", "twice.kept.json"]


def test_the_others_go_on(letters: Path) -> None:
    Path("a.json").write_bytes(_of_others(letters)["half.json"][0])
    Path("b.pdf").write_bytes(b"%PDF-1.7\n")
    result = receive("a.json", "b.pdf", letters / "M26-0110.cda.xml")
    assert (result.exit_code, names()) == (1, ["M26-0110.yaml", "a.account.json", "a.kept.json"])


def test_no_words_of_the_client_in_the_report(letters: Path) -> None:
    shutil.copy(letters / "M26-0110.pdf", "in.pdf")
    for args in ((), ("--json",)):
        told = receive("in.pdf", *args).stdout
        assert [word for word in ("Dunleavey", "Osric", "1958", "9995075296", "Weirside") if word in told] == []


FOREIGN = {
    "resourceType": "Bundle",
    "type": "collection",
    "entry": [
        {
            "fullUrl": "urn:uuid:11111111-1111-4111-8111-111111111111",
            "resource": {
                "resourceType": "Patient",
                "identifier": [{"system": "https://fhir.nhs.uk/Id/nhs-number", "value": "9990000018"}],
                "name": [{"family": "Ash", "given": ["Rowan"]}],
                "birthDate": "1950-02-03",
                "maritalStatus": {"text": "married"},
            },
        },
        {
            "fullUrl": "urn:uuid:22222222-2222-4222-8222-222222222222",
            "resource": {
                "resourceType": "Encounter",
                "status": "finished",
                "identifier": [{"system": "https://other.example.org/visits", "value": "E7"}],
                "class": {"system": "http://terminology.hl7.org/CodeSystem/v3-ActCode", "code": "AMB"},
                "subject": {"reference": "urn:uuid:11111111-1111-4111-8111-111111111111"},
                "period": {"start": "2026-03-01T10:00:00Z"},
            },
        },
        {
            "fullUrl": "urn:uuid:33333333-3333-4333-8333-333333333333",
            "resource": {
                "resourceType": "Observation",
                "status": "final",
                "code": {"text": "Something nobody has a field for"},
                "subject": {"reference": "urn:uuid:11111111-1111-4111-8111-111111111111"},
                "valueString": "=dense",
            },
        },
    ],
}


def sheet(number: str, given: str, born: str, nhs: str) -> str:
    """A record of our own as YAML."""
    return (
        f"number: {number}\nstart: 2025-01-02\nclient:\n  number: C-77\n"
        f"  legal_name: {{family: Ash, given: [{given}]}}\n  birth_date: {born}\n  nhs_number: '{nhs}'\n"
    )


def test_a_bundle_of_another_system_loses_nothing() -> None:
    Path("other.json").write_text(json.dumps(FOREIGN))
    result = receive("other.json")
    assert result.exit_code == 0, result.output
    (stem,) = {name.partition(".")[0] for name in names()}
    assert names() == [f"{stem}.account.json", f"{stem}.kept.json", f"{stem}.yaml"]
    kept = json.loads(Path(f"received/{stem}.kept.json").read_bytes())
    sent = [e["resource"] for e in FOREIGN["entry"] if e["resource"]["resourceType"] != "Encounter"]  # type: ignore[index]
    assert [e["resource"] for e in kept["entry"] if e["resource"]["resourceType"] != "Encounter"] == sent
    visit = visit_in(Path(f"received/{stem}.yaml"))
    assert (visit.client.nhs_number, visit.right, visit.left) == ("9990000018", None, None)


@pytest.mark.parametrize(
    ("given", "born", "nhs", "rule", "number"),
    [
        ("Rowan", "1950-02-03", "9990000018", "X172", "C-77"),
        ("Rowan", "1950-02-03", "9990000026", "X170", None),
        ("Rowan", "1961-02-03", "9990000018", "X171", ""),
        ("Hazel", "1961-02-03", "9990000026", "", None),
    ],
)
def test_a_client_is_one_of_ours_on_a_number_only(
    given: str, born: str, nhs: str, rule: str, number: str | None
) -> None:
    Path("other.json").write_text(json.dumps(FOREIGN))
    Path("ours.yaml").write_text(sheet("H1", given, born, nhs))
    result = receive("other.json", "--into", "ours.yaml", "--practice", DEMO, "--json")
    told = json.loads(result.stdout)
    found = {i["rule"] for i in told["issues"] if "X170" <= i["rule"] <= "X175"}
    assert found == ({rule} if rule else set())
    assert not [w for w in ("Rowan", "Hazel", "Ash", "1950", "1961", "99900000") if w in result.stdout]
    if rule == "X171":
        assert (result.exit_code, names()) == (1, [])
    else:
        (file,) = [n for n in names() if n.endswith(".yaml")]
        assert visit_in(Path("received", file)).client.number == number


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_rows_go_into_a_file_of_their_own(form: str, letters: Path) -> None:
    shutil.copytree(DEMO, "practice")
    args = [letters / "M26-0110.bundle.json", "--practice", "practice", "--as", form, "--layout", "one row per visit"]
    told = json.loads(receive(*args, "--json").stdout)
    assert (told["figures"]["visits in rows"], names()) == (1, ["M26-0110.yaml"])
    Path("practice/layouts").mkdir()
    shutil.copy(ROOT / "mappings/layouts/one-row-per-visit.yaml", "practice/layouts")
    checked = CliRunner().invoke(main, ["check", f"received-rows.{form}", "--practice", "practice", "--json"])
    assert json.loads(checked.stdout)["figures"]["visits"] == 1
    files = CliRunner().invoke(main, ["check", "received", "--practice", "practice", "--json"])
    assert "R126" not in files.stdout, "in one folder each visit would stand twice"
    assert receive(*args[:-1], "nothing of ours").output.count("“one row per visit”") == 1
    before = Path(f"received-rows.{form}").read_bytes()
    assert receive(*args).exit_code == 0
    Path(f"received-rows.{form}").write_bytes(b"mine")
    assert (receive(*args).exit_code, Path(f"received-rows.{form}").read_bytes()) == (1, b"mine")
    assert receive(*args, "--replace").exit_code == 0
    assert Path(f"received-rows.{form}").read_bytes() == before


@pytest.mark.parametrize(
    ("args", "code"),
    [
        (["--layout", "one row per visit"], 2),
        (["--as", "csv", "--layout", "no such layout", "--practice", str(DEMO)], 3),
        (["--as", "csv", "--practice", str(DEMO)], 3),
        (["--as", "csv"], 3),
        (["--into", "nothing-here", "--practice", str(DEMO)], 3),
    ],
)
def test_what_cannot_be_done_is_said_before_anything_is_written(args: list[str], code: int, letters: Path) -> None:
    result = receive(letters / "M26-0110.bundle.json", *args)
    assert (result.exit_code, names()) == (code, []), result.output


def test_what_is_kept_travels_on_with_a_hand_over() -> None:
    ours = json.loads((ROOT / "demo_bundles/M26-0112.bundle.json").read_bytes())["entry"]
    data = json.loads(json.dumps(FOREIGN))
    (patient,) = (e["resource"] for e in ours if e["resource"]["resourceType"] == "Patient")
    next(e for e in data["entry"] if e["resource"]["resourceType"] == "Patient")["resource"] |= {
        key: patient[key] for key in ("name", "birthDate", "identifier")
    }
    Path("other.json").write_text(json.dumps(data))
    receive("other.json")
    (kept,) = [n for n in names() if n.endswith(".kept.json")]
    Path("records").mkdir()
    for number in ("M26-0111", "M26-0112"):
        shutil.copy(DEMO / f"visits/{number}.yaml", "records")
    for ending in ("kept.json", "account.json"):
        shutil.copy(f"received/{kept.partition('.')[0]}.{ending}", f"records/M26-0112.{ending}")
    args = ["handover", "C-1011", "records", "--practice", str(DEMO), "--plain", "--unsigned", "--date", "2026-11-26"]
    made = CliRunner().invoke(main, [*args, "--to", "out"])
    assert made.exit_code == 0, made.output
    assert receive("out", "--unsigned", "--to", "next").exit_code == 0
    for ending in ("kept.json", "account.json"):
        assert Path(f"next/M26-0112.{ending}").read_bytes() == Path(f"records/M26-0112.{ending}").read_bytes()


def test_a_hand_over_comes_back_as_the_visits_that_were_handed_over() -> None:
    args = ["handover", "C-1011", str(DEMO / "visits"), "--practice", str(DEMO), "--plain", "--unsigned"]
    assert CliRunner().invoke(main, [*args, "--date", "2026-11-26", "--to", "out"]).exit_code == 0
    result = receive("out", "--unsigned", "--json")
    assert json.loads(result.stdout)["figures"]["visit files written"] == 2
    for path in sorted(Path("out").rglob("visits/*.json")):
        (sent,), _ = bundle_to_visits(read_received(path.read_bytes())[0])
        (file,) = [n for n in names() if n.startswith(sent.number) and n.endswith(".yaml")]
        assert visit_in(Path("received", file)) == sent.model_copy(update={"source_sha256": None})


def test_a_version_is_told_by_what_the_folder_holds(letters: Path) -> None:
    rules = lambda result: {i["rule"] for i in json.loads(result.stdout)["issues"]} & {"X173", "X174"}  # noqa: E731
    newer, older = ROOT / "demo_bundles/M26-0101-v2.bundle.json", ROOT / "demo_bundles/M26-0101.bundle.json"
    assert rules(receive(newer, "--json")) == set()
    assert rules(receive(older, "--json")) == {"X174"}
    assert rules(receive(older, "--json")) == set()
    shutil.rmtree("received")
    assert rules(receive(older, "--json")) == set()
    assert rules(receive(newer, "--json")) == {"X173"}
    assert names() == ["M26-0101-v2.yaml", "M26-0101.yaml"]


def test_thousands_of_documents_of_one_visit_are_not_compared_each_with_each() -> None:
    """Counted, not timed: what is compared pair by pair stays few."""
    visits = [
        Visit.model_validate(
            {"number": "1", "start": "2026-03-01", "client": {"legal_name": {"family": "Ash"}}, "note": str(number)}
        )
        for number in range(3000)
    ]
    found = Settling().settle(visits, ["summary"] * len(visits))
    assert all(one.visit for one in found)
    assert sum(one.fullest for one in found) == 1


def test_letters_of_our_own_records_are_held_already(letters: Path) -> None:
    told = json.loads(receive(letters, "--into", DEMO / "visits", "--practice", DEMO, "--json").stdout)
    assert [i["rule"] for i in told["issues"] if i["severity"] == "error"] == []
    assert {i["rule"] for i in told["issues"] if "X170" <= i["rule"] <= "X179"} == {"X172", "X179"}
    assert names() == []


def test_of_each_document_its_own_numbers_are_told() -> None:
    """Reports tell issues of one cause once: one that names a visit, a version or a count is a cause of its own."""
    Path("one.json").write_text(json.dumps(FOREIGN))
    twice = json.loads(json.dumps(FOREIGN))
    flag = {"resourceType": "Flag", "status": "active", "code": {"text": "x"}, "subject": {"display": "x"}}
    twice["entry"] += [{"fullUrl": f"urn:uuid:{ID[:-1]}{n}", "resource": flag} for n in range(2)]
    Path("two.json").write_text(json.dumps(twice))
    said = " ".join(receive("one.json", "two.json", "--verbose").output.split())
    counts = [f"of {len(bundle['entry'])} resources" for bundle in (FOREIGN, twice)]  # type: ignore[arg-type]
    assert all(said.count(count) == 1 for count in counts), said
    numbers = ("M26-0110", "M26-0130")
    made = [ROOT / f"demo_bundles/{number}.bundle.json" for number in numbers]
    said = " ".join(receive(*made, "--into", DEMO / "visits", "--practice", DEMO).output.split())
    for number in numbers:
        (told,) = re.findall(rf"is the one of your visit {number};.*?Do:", said)
        assert [n for n in numbers if f"{n}.bundle.json" in told] == [number]


def test_of_two_clients_in_one_bundle_kept_and_account_are_apart_and_only_one_s_travel_on() -> None:
    source = ROOT / "tests/receive/foreign/ear_clinic.json"
    receive(source)
    assert names() == [
        "HV-2026-88.account.json", "HV-2026-88.kept.json", "HV-2026-88.yaml", "ear_clinic.account.json",
        "ear_clinic.kept.json",
    ]  # fmt: skip
    mine, others = (
        json.loads(Path(f"received/{stem}.account.json").read_bytes())["account"]
        for stem in ("HV-2026-88", "ear_clinic")
    )
    entries = range(len(json.loads(source.read_bytes())["entry"]))
    assert sorted(line["path"] for line in (*mine, *others)) == sorted(
        ["Bundle", *(f"Bundle.entry[{n}].resource" for n in entries)]
    )
    assert "otosclerosis" not in json.dumps(mine)
    assert "otosclerosis" in json.dumps(others)
    shutil.copytree(DEMO, "practice")
    args = ["received", "--practice", "practice"]
    CliRunner().invoke(main, ["convert", *args, "--as", "ips", "--to", "ips"])
    (number,) = (path.name.removesuffix(".ips.bundle.json") for path in Path("ips").iterdir())
    CliRunner().invoke(main, ["handover", number, *args, "--plain", "--unsigned", "--to", "out"])
    (folder,) = Path("out").iterdir()
    assert sorted(p.name for p in (folder / "kept").iterdir()) == ["HV-2026-88.account.json", "HV-2026-88.kept.json"]
    assert [p for p in folder.rglob("*") if p.is_file() and (b"c-other" in (c := p.read_bytes()) or b"p-18" in c)] == []
