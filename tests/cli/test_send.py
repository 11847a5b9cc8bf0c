"""`visit-bridge send`: exit codes, what it prints, and that it prints nothing of a client."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from pytest_httpserver import HTTPServer
from werkzeug import Request, Response

from bridge.cli import main
from tests.deliver.server.at_work import as_bytes, made, practice_folder

NONE = {"resourceType": "Bundle", "type": "searchset", "total": 0}
SUMMARY = as_bytes(made("M26-0101"))


@pytest.fixture
def folder(tmp_path: Path, httpserver: HTTPServer, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("PYTHON_KEYRING_BACKEND", "keyring.backends.null.Keyring")
    address = httpserver.url_for("/r4")
    practice_folder(tmp_path, {"name": "there", "address": address, "organisation": "AG", "without_tls": True})
    (tmp_path / "M26-0101.bundle.json").write_bytes(SUMMARY)
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("VISIT_BRIDGE_PRACTICE", raising=False)
    return tmp_path


def send(*words: str) -> Result:
    return CliRunner().invoke(main, ["send", *words])


def ready(server: HTTPServer, status: int = 201) -> None:
    server.expect_request("/r4/Bundle", method="GET").respond_with_json(NONE)
    server.expect_request("/r4/Bundle", method="POST").respond_with_data("", status)


def test_accepted(folder: Path, httpserver: HTTPServer) -> None:
    ready(httpserver)
    result = send("M26-0101.bundle.json", "--to", "there")
    assert result.exit_code == 0, result.output
    assert "M26-0101.bundle.json: accepted" in result.output
    assert (folder / "M26-0101.there.receipt.json").exists()
    assert send("M26-0101.bundle.json", "--to", "AG", "-q").output == ""
    assert len([r for r, _ in httpserver.log if r.method == "POST"]) == 1


def test_a_dry_run_asks_nobody(folder: Path, httpserver: HTTPServer) -> None:
    result = send("M26-0101.bundle.json", "--to", "there", "--dry-run")
    assert (result.exit_code, httpserver.log) == (0, [])
    assert f"would be sent to there, {httpserver.url_for('/r4')}" in result.output
    assert list(folder.glob("*.receipt.json")) == []


def test_refused_and_held_back(folder: Path, httpserver: HTTPServer) -> None:
    ready(httpserver, 422)
    (folder / "draft.json").write_bytes(as_bytes(made("M26-0101", changes={"approved": None})))
    result = send("M26-0101.bundle.json", "draft.json", "--to", "there", "--json")
    assert result.exit_code == 1
    told = json.loads(result.stdout)
    assert {i["rule"] for i in told["issues"]} == {"D203", "D224"}
    assert told["figures"] == {"refused": 1, "held back": 1}


@pytest.mark.parametrize(("words", "code"), [
    (["M26-0101.bundle.json"], 2), (["gone.json", "--to", "there"], 2), (["M26-0101.bundle.json", "--to", "nobody"], 3),
    (["M26-0101.bundle.json", "--to", "there", "--date", "soon"], 2),
])  # fmt: skip
def test_wrong_use(folder: Path, words: list[str], code: int, httpserver: HTTPServer) -> None:
    result = CliRunner().invoke(main, ["send", *words], standalone_mode=True)
    assert result.exit_code == code, result.output
    assert httpserver.log == []


def test_a_receipt_that_nobody_understands_stops_everything(folder: Path, httpserver: HTTPServer) -> None:
    (folder / "M26-0101.there.receipt.json").write_text("{}")
    result = send("M26-0101.bundle.json", "--to", "there")
    assert result.exit_code == 3
    assert httpserver.log == []


def test_a_folder_where_no_receipt_can_be_kept(folder: Path, httpserver: HTTPServer) -> None:
    """What cannot be noted does not leave."""
    ready(httpserver)
    (folder / "receipts").write_text("a file")
    result = send("M26-0101.bundle.json", "--to", "there", "--receipts", "receipts/inner")
    assert result.exit_code == 3
    assert httpserver.log == []


def test_the_day_that_a_consent_ended(folder: Path, httpserver: HTTPServer) -> None:
    content = as_bytes(made("M26-0101", changes={"sharing": {"status": "given", "valid_until": "2026-11-20"}}))
    (folder / "M26-0101.bundle.json").write_bytes(content)
    line = ["M26-0101.bundle.json", "--to", "there", "--dry-run", "--date"]
    assert send(*line, "2026-11-20").exit_code == 0
    assert send(*line, "2026-11-21").exit_code == 1


def stopped(folder: Path, httpserver: HTTPServer, *words: str) -> tuple[int, str, str]:
    """Ctrl-C once the server has the bundle, and before it answers."""
    sent, over = threading.Event(), threading.Event()

    def taken(request: Request) -> Response:
        sent.set()
        over.wait(60)
        return Response("", 201)

    httpserver.expect_request("/r4/Bundle", method="GET").respond_with_json(NONE)
    httpserver.expect_request("/r4/Bundle", method="POST").respond_with_handler(taken)
    (folder / "M26-0101-again.bundle.json").write_bytes(SUMMARY)
    line = [sys.executable, "-m", "bridge", "send", "M26-0101.bundle.json", "M26-0101-again.bundle.json"]
    run = subprocess.Popen([*line, "--to", "there", *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        assert sent.wait(60)
        run.send_signal(signal.SIGINT)
        out, err = run.communicate(timeout=60)
    finally:
        over.set()
        run.kill()
    return run.returncode, out, err


def test_stopped_before_anything_is_known_says_no_more_than_that(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("bridge.sending.Sender.send", stop)
    done = CliRunner().invoke(main, ["send", "M26-0101.bundle.json", "--to", "there"])
    assert (done.exit_code, done.stdout, done.stderr) == (130, "", "Stopped. 1 bundle was not sent.\n")


def test_stopped_while_it_is_in_doubt(folder: Path, httpserver: HTTPServer) -> None:
    code, out, err = stopped(folder, httpserver)
    assert (code, err.strip()) == (130, "Stopped. 1 bundle was not sent.")
    assert out.startswith("M26-0101.bundle.json: in doubt")
    words = " ".join(out.split())
    assert "D226" in words
    assert "Its receipt is M26-0101.there.receipt.json." in words
    assert "Run the same line again later." in words
    assert json.loads((folder / "M26-0101.there.receipt.json").read_bytes())["verdict"] == "in doubt"


def test_stopped_while_it_is_in_doubt_for_programs(folder: Path, httpserver: HTTPServer) -> None:
    code, out, _ = stopped(folder, httpserver, "--json")
    told = json.loads(out)
    assert (code, told["figures"], [i["rule"] for i in told["issues"]]) == (130, {"in doubt": 1}, ["D226"])


@pytest.mark.parametrize(("words", "told"), [((), True), (("-q",), False), (("--json",), False)])
def test_a_wait_is_told_on_a_terminal(folder: Path, httpserver: HTTPServer, words: tuple[str, ...], told: bool) -> None:
    answers = iter([("", 429, {"Retry-After": "1"}), ("", 201, {})])
    httpserver.expect_request("/r4/Bundle", method="GET").respond_with_json(NONE)
    httpserver.expect_request("/r4/Bundle", method="POST").respond_with_handler(lambda _: Response(*next(answers)))
    pty = pytest.importorskip("pty")
    ours, theirs = pty.openpty()
    line = [sys.executable, "-m", "bridge", "send", "M26-0101.bundle.json", "--to", "there", *words]
    run = subprocess.run(line, stdout=subprocess.PIPE, stderr=theirs, timeout=120, check=True)
    os.write(theirs, b"\n.\n")
    shown = os.read(ours, 10_000).decode()
    os.close(ours)
    os.close(theirs)
    assert ("there: it is busy (HTTP 429). In 1 s it is tried again; Ctrl-C stops." in shown) == told, shown
    assert b"Ctrl-C" not in run.stdout
