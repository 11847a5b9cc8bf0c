"""Every command's help: fits 80 columns, and its examples run as they stand after `visit-bridge demo`."""

from __future__ import annotations

import json
import re
import shlex
import shutil
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from bridge.cli import COMMANDS, main
from bridge.parcel.keys import fingerprint_of
from bridge.parcel.known import KnownKey, as_csv

DEMO = Path("visit-bridge-demo")

SETUP_ANSWERS = """\
uk
Millbrook Ear Care

1 Mill Lane
Millbrook

01632 960111
Mon-Fri 9:00-17:00

AB

Alex
Bell
Ear-care practitioner
none
n
Europe/London
as recorded
y
"""
"""What a person answers to the examples that ask."""


ALDERS_CARD = """\
{"clinic": "Alder Hearing", "signing_key":
{"crv": "Ed25519", "kty": "OKP", "x": "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo"}}
"""
"""The public keys of another clinic (the key is that of RFC 8037, appendix A.2)."""


def command_at(words: str) -> click.Command:
    """The command that these words call, such as `terms find`."""
    found: click.Command = main
    for word in words.split():
        assert isinstance(found, click.Group)
        inner = found.get_command(click.Context(found), word)
        assert inner is not None, f"{word} is listed and not there"
        found = inner
    return found


def every_command() -> list[str]:
    """Each command as it is called, those inside a group too."""
    found = []
    for name in COMMANDS:
        command = command_at(name)
        inner = command.list_commands(click.Context(command)) if isinstance(command, click.Group) else []
        found += [name, *(f"{name} {one}" for one in inner)]
    return found


def help_of(words: str) -> str:
    result = CliRunner().invoke(main, [*words.split(), "--help"])
    assert result.exit_code == 0, result.output
    return result.output


def examples_of(words: str) -> list[str]:
    """The command lines under "Examples:" in a command's help, as a person would copy them."""
    _, _, after = (command_at(words).help or "").partition("Examples:")
    return re.findall(r"^ +((?:cat \S+ \| )?visit-bridge .+)$", after, re.MULTILINE)


EXAMPLES = [line for words in every_command() for line in examples_of(words)]


@pytest.fixture(scope="session")
def after_demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A practice folder with records and documents in it, as they are after `visit-bridge demo`."""
    folder = tmp_path_factory.mktemp("examples")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        patch.delenv("VISIT_BRIDGE_PRACTICE", raising=False)
        result = CliRunner().invoke(main, ["demo"])
    assert result.exit_code in {0, 1}, result.output
    here = folder / "here"
    for part in ("practice", "records"):
        shutil.copytree(folder / DEMO / part, here, dirs_exist_ok=True)
    for pattern in ("*.bundle.json", "letters/*.pdf", "cda/*.xml"):
        for document in (folder / DEMO).glob(pattern):
            shutil.copy(document, here)
    shutil.copy(here / "practice.yaml", here / "answers.yaml")
    (here / "alder-keys.json").write_text(ALDERS_CARD, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(here)
        assert CliRunner().invoke(main, ["check", "visits-2026.csv", "--words", "answered.csv", "-q"]).exit_code == 0
        sheet = ["audit", "sample", "9", "visits-2026.csv", "--seed", "may", "--to", "recoded.xlsx"]
        assert CliRunner().invoke(main, sheet).exit_code == 0
        figures = ["audit", "figures", "visits-2026.csv", "--to", "figures/ours.json"]
        assert CliRunner().invoke(main, figures).exit_code == 0
        parcel = ["handover", "C-1001", "visits-2026.csv", "--plain", "--unsigned", "--to", "."]
        assert CliRunner().invoke(main, parcel).exit_code == 0
    (here / "figures/clinics.csv").write_text("name\nMillbrook Ear Care\n", encoding="utf-8")
    return here


@pytest.mark.parametrize("words", every_command())
def test_help_fits_80_columns_and_has_an_example(words: str) -> None:
    assert max(map(len, help_of(words).splitlines())) <= 80
    assert examples_of(words)


@pytest.mark.parametrize("name", COMMANDS)
def test_the_line_in_the_list_is_the_first_of_the_help(name: str) -> None:
    assert " ".join((command_at(name).help or "").partition("\n\n")[0].split()) == COMMANDS[name]


def test_the_list_fits_80_columns_and_names_every_command_in_order() -> None:
    text = CliRunner().invoke(main, ["--help"]).output
    assert max(map(len, text.splitlines())) <= 80
    assert re.findall(r"^  (\w+)  +[A-Z]", text.partition("Commands:")[2], re.MULTILINE) == list(COMMANDS)
    assert CliRunner().invoke(main, ["-h"]).output == text


def _with_keys(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keys of one's own, a clinic that can open what is sealed for it, and a passphrase where no terminal is."""
    from pyrage import x25519

    assert CliRunner().invoke(main, ["keys", "make"]).exit_code == 0
    card = json.loads(ALDERS_CARD)
    known = KnownKey(
        card["clinic"],
        fingerprint_of(card["signing_key"]),
        card["signing_key"],
        str(x25519.Identity.generate().to_public()),
    )
    Path("keys/known.csv").write_bytes(as_csv([known]))
    monkeypatch.setenv("VISIT_BRIDGE_PASSPHRASE", "four invented words here")


@pytest.mark.parametrize("line", EXAMPLES)
def test_an_example_runs(line: str, after_demo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "here"
    shutil.copytree(after_demo, folder)
    monkeypatch.chdir(folder)
    monkeypatch.delenv("VISIT_BRIDGE_PRACTICE", raising=False)
    piped = re.match(r"cat (\S+) \| ", line)
    given = (folder / piped[1]).read_text(encoding="utf-8") if piped else SETUP_ANSWERS
    told, _, target = line.partition(" > ")
    words = shlex.split(told[piped.end() :] if piped else told)
    if words[1] == "handover" or words[1:3] == ["keys", "forget"]:
        _with_keys(monkeypatch)
    result = CliRunner().invoke(main, words[1:], input=given)
    assert result.exit_code in {0, 1}, f"{line}\n{result.output}"
    assert result.output.strip() or "--output" in line or "--quiet" in line
    if target.endswith(".json"):
        json.loads(result.stdout)
