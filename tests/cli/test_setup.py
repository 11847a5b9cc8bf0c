"""`visit-bridge setup`: questions or an answers file; a whole practice folder or nothing."""

from __future__ import annotations

import stat
import sys
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from bridge.cli import main
from bridge.practice import load_practice, new_folder

FILES = ["clinical/README.txt", "doctors.csv", "layouts/README.txt", "practice.yaml", "terms/README.txt"]

QUESTIONS = [
    "uk",
    "Ohrenpflege Zoë: Aldersby",  # a colon, which YAML has its own use for
    "",
    "Rear Flat, 2 Sluice Lane",
    "Aldersby",
    "ZX9 4QT",
    "",  # needed: asked again
    "abc",  # no phone number: asked again
    "01632 960111",
    "now",  # no hours: asked again
    "no fixed hours # ring first",
    "hello(at)example",  # no e-mail address: asked again
    "",
    "PS",
    "Ms",
    "Petra Jane",
    "Sandholt",
    "Ear-care nurse",
    "nmc",
    "99",
    "n",
    "99Z0001E",
    "y",
    "ps",  # taken: asked again
    "JB",
    "",
    "Jonas",
    "Bexwell",
    "Ear-care practitioner",
    "none",
    "n",
    "Europe/Londres",  # unknown: asked again
    "Europe/London",
    "traced only",
    "y",
]

ANSWERS = """\
clinic:
  name: Millbrook Ear Care
  address: {lines: [2 Sluice Lane], city: Aldersby, postcode: ZX9 4QT}
  phone: 01632 960111
  hours: 9:00-17:00
practitioners:
- key: JB
  name: {given: [Jonas], family: Bexwell}
  role: Ear-care practitioner
  no_register: true
time_zone: Europe/London
region: uk
"""


def setup(*args: str | Path, answers: list[str] | None = None) -> Result:
    return CliRunner().invoke(main, ["setup", *map(str, args)], input="\n".join([*(answers or []), ""]))


def written(folder: Path) -> list[str]:
    """Every file under a folder, by its path from there."""
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "meine Praxis – Zoë" / "new"


@pytest.fixture
def answers_file(tmp_path: Path) -> Path:
    path = tmp_path / "Antworten für Zoë.yaml"
    path.write_text(ANSWERS, encoding="utf-8")
    return path


def test_questions_make_a_folder_that_loads(folder: Path) -> None:
    result = setup(folder, answers=QUESTIONS)
    assert result.exit_code == 0, result.output
    assert written(folder) == FILES
    practice, issues = load_practice(folder)
    assert issues == []
    assert practice is not None
    assert practice.clinic.name == "Ohrenpflege Zoë: Aldersby"
    assert practice.clinic.hours == "no fixed hours # ring first"
    assert practice.clinic.address is not None
    assert practice.clinic.address.lines == ("Rear Flat", "2 Sluice Lane")
    assert [(p.key, p.no_register) for p in practice.practitioners] == [("PS", False), ("JB", True)]
    assert practice.practitioners[0].registrations[0].number == "99Z0001E"
    assert practice.nhs_numbers == "traced only"
    assert practice.namespace.version == 4


def test_anywhere_else_is_the_last_of_the_regions(folder: Path) -> None:
    told = setup(folder).output
    assert told.index("  uk: ") < told.index("  us: ") < told.index("  international: anywhere else")


def test_what_is_asked_again_says_why(folder: Path) -> None:
    told = " ".join(setup(folder, answers=QUESTIONS).output.split())
    assert "This one is needed. A doctor who has a question about a letter has no other way to reply." in told
    assert "at least 5" in told
    assert "one @ and a dot" in told
    assert "from when to when" in told


def test_it_shows_what_it_writes_before_it_asks(folder: Path) -> None:
    result = setup(folder, answers=[*QUESTIONS[:-1], "n"])
    assert result.exit_code != 0
    assert "namespace: " in result.output
    assert not folder.parent.exists()


@pytest.mark.parametrize("count", range(0, len(QUESTIONS), 5))
def test_stopping_half_way_writes_nothing(folder: Path, count: int) -> None:
    result = CliRunner().invoke(main, ["setup", str(folder)], input="\n".join(QUESTIONS[:count]))
    assert result.exit_code != 0
    assert not folder.parent.exists()


def test_ctrl_c_at_a_question_writes_nothing(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bridge.cli.setup_questions.click.prompt", _raise(click.Abort()))
    assert setup(folder).exit_code == 130
    assert not folder.parent.exists()


@pytest.mark.parametrize("name", FILES)
def test_ctrl_c_while_writing_takes_back_what_was_written(
    folder: Path, answers_file: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    write = new_folder.write_bytes

    def stop_at_one(path: Path, content: bytes, private: bool = False) -> None:
        if path == folder / name:
            raise KeyboardInterrupt
        write(path, content, private)

    monkeypatch.setattr(new_folder, "write_bytes", stop_at_one)
    assert setup(folder, "--answers", answers_file).exit_code == 130
    assert not folder.parent.exists()


def _raise(error: BaseException) -> object:
    def stop(*_: object, **__: object) -> None:
        raise error

    return stop


def test_answers_from_a_file(folder: Path, answers_file: Path) -> None:
    result = setup(folder, "--answers", answers_file)
    assert result.exit_code == 0, result.output
    practice, issues = load_practice(folder)
    assert issues == []
    assert practice is not None
    assert practice.clinic.hours == "9:00-17:00"


def test_each_practice_has_a_namespace_of_its_own(tmp_path: Path, answers_file: Path) -> None:
    namespaces = set()
    for name in ("one", "two"):
        setup(tmp_path / name, "--answers", answers_file)
        practice, _ = load_practice(tmp_path / name)
        assert practice is not None
        namespaces.add(practice.namespace)
    assert len(namespaces) == 2


def test_a_namespace_from_before_is_kept(folder: Path, answers_file: Path) -> None:
    before = "6f0b6d1e-3c52-4b7a-9e0d-5a1c8f27d943"
    answers_file.write_text(f"{ANSWERS}namespace: {before}\n", encoding="utf-8")
    assert setup(folder, "--answers", answers_file).exit_code == 0
    practice, _ = load_practice(folder)
    assert practice is not None
    assert str(practice.namespace) == before


def test_all_problems_of_an_answers_file_at_once(folder: Path, answers_file: Path) -> None:
    text = ANSWERS.replace("region: uk", "region: mars").replace("  no_register: true\n", "").replace("phone", "phon")
    answers_file.write_text(text, encoding="utf-8")
    result = setup(folder, "--answers", answers_file)
    assert result.exit_code == 1
    for code in ("R302", "R304", "R306", "R310"):
        assert code in result.output
    assert not folder.parent.exists()


@pytest.mark.parametrize("content", ["", "- a\n", "a: [", "words\n"])
def test_an_answers_file_that_holds_no_answers(folder: Path, answers_file: Path, content: str) -> None:
    answers_file.write_text(content, encoding="utf-8")
    result = setup(folder, "--answers", answers_file)
    assert result.exit_code == 1
    assert "R301" in result.output
    assert not folder.parent.exists()


@pytest.mark.parametrize("name", FILES)
def test_refuses_to_overwrite(folder: Path, answers_file: Path, name: str) -> None:
    there = folder / name
    there.parent.mkdir(parents=True)
    there.write_text("mine", encoding="utf-8")
    result = setup(folder, "--answers", answers_file)
    assert result.exit_code == 1
    assert name in result.output
    assert "overwritten" in result.output
    assert there.read_text(encoding="utf-8") == "mine"
    assert written(folder) == [name]


def test_other_files_of_the_folder_stay(folder: Path, answers_file: Path) -> None:
    folder.mkdir(parents=True)
    (folder / "records.csv").write_text("mine", encoding="utf-8")
    assert setup(folder, "--answers", answers_file).exit_code == 0
    assert written(folder) == sorted([*FILES, "records.csv"])


@pytest.mark.skipif(sys.platform == "win32", reason="file modes are of POSIX systems")
def test_files_are_for_their_owner_alone(folder: Path, answers_file: Path) -> None:
    setup(folder, "--answers", answers_file)
    assert {stat.S_IMODE((folder / name).stat().st_mode) for name in FILES} == {0o600}


def test_a_place_that_cannot_be_written_to(tmp_path: Path, answers_file: Path) -> None:
    (tmp_path / "a file").write_text("mine", encoding="utf-8")
    result = setup(tmp_path / "a file" / "new", "--answers", answers_file)
    assert result.exit_code == 3
    assert (tmp_path / "a file").read_text(encoding="utf-8") == "mine"


def test_the_example_row_of_the_address_book_can_be_used(folder: Path, answers_file: Path) -> None:
    setup(folder, "--answers", answers_file)
    path = folder / "doctors.csv"
    path.write_text(path.read_text(encoding="utf-8").replace("# example", "example"), encoding="utf-8")
    practice, issues = load_practice(folder)
    assert issues == []
    assert practice is not None
    assert practice.doctors.find("Example Surgery")[0].route == "post"


@pytest.fixture(autouse=True)
def _no_zone(monkeypatch: pytest.MonkeyPatch) -> None:
    """The computer's own zone must not decide what the tests see."""
    monkeypatch.setenv("TZ", "")


def test_a_region_asks_in_its_own_words(folder: Path) -> None:
    answers = [
        "us", "Quay Ear Care", "1234567893", "1 Quay", "Aldersby", "MA", "01999", "+1 555 0100 199", "9:00-17:00", "",
        "PS", "Ms", "Petra", "Sandholt", "Audiologist", "npi", "1234567890", "n", "1234567893", "n",
        "America/New_York", "y",
    ]  # fmt: skip
    result = setup(folder, answers=answers)
    assert result.exit_code == 0, result.output
    told = " ".join(result.output.split())
    assert "ZIP code" in told
    assert "Postcode" not in told
    assert "State" in told
    assert "npi: National Provider Identifier" in told
    assert "nmc" not in told
    assert "NHS" not in told
    assert "Numbers of npi are usually ten digits with their check digit" in told
    practice, issues = load_practice(folder)
    assert issues == []
    assert practice is not None
    assert practice.region == "us"
    assert practice.clinic.address is not None
    assert (practice.clinic.address.district, practice.clinic.address.postcode) == ("MA", "01999")


@pytest.mark.parametrize("name", ["france", "UK", ""])
def test_a_region_that_is_not_there_is_refused_with_those_that_are(tmp_path: Path, name: str) -> None:
    path = tmp_path / "answers.yaml"
    path.write_text(ANSWERS.replace("region: uk", f'region: "{name}"'), encoding="utf-8")
    result = setup(tmp_path / "new", "--answers", path)
    assert result.exit_code == 1
    assert "international, uk, us" in " ".join(result.output.split())
