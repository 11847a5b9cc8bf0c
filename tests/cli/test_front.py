"""The front door: exit codes, the last net, what is shown and what is not."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tomllib
from importlib import import_module
from pathlib import Path
from types import SimpleNamespace

import click
import pytest
from click.testing import CliRunner, Result

import bridge.__main__
import bridge.cli
from bridge import __version__
from bridge.cli import main
from bridge.cli.finish import finish
from bridge.cli.options import Showing, practice_option, showing_options
from bridge.errors import InputError
from bridge.issues import Issue, Report, Severity

ROOT = Path(__file__).parents[2]
SECRET = "Oddly Named-Client"  # noqa: S105 - stands for client data, not for a password


def run_with(command: click.Command, monkeypatch: pytest.MonkeyPatch, *args: str) -> Result:
    """Runs `visit-bridge probe ...` with the given command standing in the table as `probe`."""
    monkeypatch.setitem(bridge.cli.COMMANDS, "probe", "A probe.")
    monkeypatch.setattr(bridge.cli, "import_module", lambda name: SimpleNamespace(command=command))
    return CliRunner().invoke(main, ["probe", *args])


def raising(error: BaseException) -> click.Command:
    @click.command()
    def command() -> None:
        raise error

    return command


def test_version() -> None:
    assert CliRunner().invoke(main, ["--version"]).output == f"visit-bridge {__version__}\n"


@pytest.mark.parametrize("args", [["nosuch"], ["explain", "--nosuch"], ["schema", "too", "much"]])
def test_wrong_use_is_2(args: list[str]) -> None:
    assert CliRunner().invoke(main, args).exit_code == 2


def test_what_stops_us_is_told_with_its_help_on_stderr(monkeypatch: pytest.MonkeyPatch) -> None:
    result = run_with(raising(InputError("The sheet is locked.", "Close it and try again.")), monkeypatch)
    assert (result.exit_code, result.stdout) == (3, "")
    assert result.stderr == "The sheet is locked.\nClose it and try again.\n"


def test_a_fault_of_our_own_shows_no_client_data_and_no_traceback(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("VISIT_BRIDGE_DEBUG", raising=False)
    result = run_with(raising(KeyError(SECRET)), monkeypatch)
    assert (result.exit_code, result.stdout) == (3, "")
    assert "KeyError" in result.stderr
    assert SECRET not in result.stderr
    assert "Traceback" not in result.stderr


def test_debugging_shows_the_traceback(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("VISIT_BRIDGE_DEBUG", "1")
    result = run_with(raising(KeyError(SECRET)), monkeypatch)
    assert result.exit_code == 3
    assert "Traceback" in result.stderr


def test_a_disk_error_names_the_file(monkeypatch: pytest.MonkeyPatch) -> None:
    result = run_with(raising(PermissionError(13, "Permission denied", "out/letters")), monkeypatch)
    assert (result.exit_code, result.stderr) == (3, "Permission denied: out/letters\n")


@pytest.mark.parametrize("error", [KeyboardInterrupt(), click.Abort()])
def test_stopping_is_one_line_and_130(error: BaseException, monkeypatch: pytest.MonkeyPatch) -> None:
    result = run_with(raising(error), monkeypatch)
    assert result.exit_code == 130
    assert result.stderr.strip() == "Stopped. Nothing more was written."


@pytest.mark.parametrize(
    ("severity", "fail_on", "code"),
    [
        (Severity.error, "error", 1),
        (Severity.fatal, "error", 1),
        (Severity.warning, "error", 0),
        (Severity.warning, "warning", 1),
        (Severity.information, "information", 1),
        (None, "information", 0),
    ],
)
def test_exit_code_of_a_report(
    severity: Severity | None, fail_on: str, code: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    @click.command()
    @showing_options
    def command(showing: Showing) -> None:
        found = [] if severity is None else [Issue("R101", "Something.", severity=severity)]
        finish(Report(found), showing)

    assert run_with(command, monkeypatch, "--fail-on", fail_on).exit_code == code


def test_quiet_tells_only_what_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    @click.command()
    @click.argument("severity")
    @showing_options
    def command(severity: str, showing: Showing) -> None:
        bad = Issue("R101", "Bad.", severity=Severity[severity])
        finish(Report([Issue("R102", "Fine.", severity=Severity.information), bad], {"visits": 1}), showing)

    assert run_with(command, monkeypatch, "-q", "warning").output == ""
    told = run_with(command, monkeypatch, "-q", "error").output
    assert "Bad." in told
    assert "Fine." not in told


def test_json_is_the_same_as_report_json(monkeypatch: pytest.MonkeyPatch) -> None:
    @click.command()
    @showing_options
    def command(showing: Showing) -> None:
        finish(Report([Issue("R101", "Bad.")]), showing)

    short, long = (run_with(command, monkeypatch, *args).output for args in (["--json"], ["--report", "json"]))
    assert short == long
    assert json.loads(short)["issues"][0]["message"] == "Bad."


def test_practice_comes_from_option_or_environment(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    @click.command()
    @practice_option
    def command(practice: Path | None) -> None:
        click.echo(practice)

    monkeypatch.delenv("VISIT_BRIDGE_PRACTICE", raising=False)
    assert run_with(command, monkeypatch).output == "\n"
    assert run_with(command, monkeypatch, "--practice", str(tmp_path)).output == f"{tmp_path}\n"
    assert run_with(command, monkeypatch, "--practice", str(tmp_path / "no")).exit_code == 2
    monkeypatch.setenv("VISIT_BRIDGE_PRACTICE", str(tmp_path))
    assert run_with(command, monkeypatch).output == f"{tmp_path}\n"


def test_the_program_is_what_is_installed_under_its_name() -> None:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    module, _, name = settings["project"]["scripts"]["visit-bridge"].partition(":")
    assert getattr(import_module(module), name) is bridge.__main__.run


@pytest.mark.parametrize(("args", "code"), [(["--version"], 0), (["explain", "R101"], 0), (["nosuch"], 2)])
def test_the_program_leaves_with_everything_written(args: list[str], code: int) -> None:
    with process(*args) as running:
        said, errors = running.communicate()
    inside = CliRunner().invoke(main, args)
    assert (running.returncode, inside.exit_code) == (code, code)
    assert (said.decode(), errors.decode()) == (
        inside.stdout,
        inside.stderr.replace("Usage: main", "Usage: visit-bridge"),
    )


def process(*args: str, **environment: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "bridge", *args],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=ROOT,
        env={**os.environ, **environment},
    )


@pytest.mark.skipif(os.name == "nt", reason="pipes end otherwise on Windows")
def test_a_reader_that_leaves_is_no_finding_and_no_noise() -> None:
    with process("schema") as running:
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.close()
        noise = running.stderr.read()
    assert running.returncode == 141
    assert noise == b""


def test_a_narrow_console_gets_escapes_instead_of_an_end() -> None:
    with process("explain", "Ω", PYTHONIOENCODING="cp1252") as running:
        _, errors = running.communicate()
    assert running.returncode == 2
    assert rb"\u03a9" in errors


def test_a_module_that_is_imported_when_it_is_used() -> None:
    code = (
        "import sys\n"
        "from bridge.cli.guard import import_when_used\n"
        "import_when_used('email.message'), import_when_used('no_such_module')\n"
        "import email.message as later\n"
        "print('email.utils' in sys.modules, 'no_such_module' in sys.modules)\n"
        "print(later.Message.__name__, 'email.utils' in sys.modules, later is sys.modules['email.message'])\n"
        "try: later.nothing\n"
        "except AttributeError: print('none')\n"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert result.stdout.splitlines() == ["False False", "Message True True", "none"]
