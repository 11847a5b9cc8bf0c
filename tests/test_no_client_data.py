"""No client data in messages, logs, tracebacks, temporary files or process arguments, whatever is done with the demo.

Every command runs as a program of its own, with `--verbose` and all loggers on, under a watch (tests/watched.py) that
notes files opened for writing and programs started. The words looked for are those of the demo's clients in the
committed transactions: names, numbers, phones, addresses, dates of birth.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest
import yaml

ROOT = Path(__file__).parents[1]
DEMO = ROOT / "mappings/demo"
SHORTEST = 4


def words_of(resource: dict[str, Any]) -> Iterator[str]:
    for name in resource.get("name", ()):
        yield from (*name.get("given", ()), *([name["family"]] if "family" in name else []))
    for point in resource.get("telecom", ()):
        yield from (point["value"], point["value"].replace(" ", ""))
    for address in resource.get("address", ()):
        yield from (line for line in address.get("line", ()) if not line.startswith("Flat"))
        yield from ([address["postalCode"]] if "postalCode" in address else [])
    for identifier in resource.get("identifier", ()):
        if (value := identifier["value"]).startswith("999") and len(value) == 10:
            yield from (value, f"{value[:3]} {value[3:6]} {value[6:]}")
    if born := resource.get("birthDate"):
        yield from (born, "/".join(reversed(born.split("-"))))


def secret_words() -> frozenset[str]:
    found: set[str] = set()
    for path in (ROOT / "demo_bundles").rglob("*.bundle.json"):
        for entry in json.loads(path.read_bytes())["entry"]:
            if entry["resource"]["resourceType"] in ("Patient", "RelatedPerson"):
                found |= set(words_of(entry["resource"]))
    return frozenset(word for word in found if len(word) >= SHORTEST)


WORDS = secret_words()


def clients_in(text: str) -> list[str]:
    """The words of clients that stand in a text as whole words."""
    maybe = [word for word in WORDS if word in text]
    return sorted(word for word in maybe if re.search(rf"(?<![\w-]){re.escape(word)}(?![\w-])", text))


A_NAME = "Winifred Castlemoor 9991862528"


@dataclass
class Run:
    """One command, and what came of it."""

    code: int
    out: str
    err: str
    events: list[list[str]]
    logged: str

    def wrote(self) -> list[str]:
        return [event[1] for event in self.events if event[0] == "open"]

    def started(self) -> str:
        return "\n".join(event[1] for event in self.events if event[0] not in ("open", "socket.connect"))


class Desk:
    """A practice with the demo's records, and a folder of its own for temporary files."""

    def __init__(self, folder: Path) -> None:
        self.home, self.temporary, self.logs = folder / "home", folder / "temporary", folder / "logs"
        for made in (self.temporary, self.logs):
            made.mkdir()
        shutil.copytree(DEMO, self.home)
        self.number = 0
        names = ("VISIT_BRIDGE_DEBUG", "VISIT_BRIDGE_PRACTICE", "TEMP", "TMP")
        self.environment = {k: v for k, v in os.environ.items() if k not in names and not k.lower().endswith("_proxy")}
        self.environment |= {
            "TMPDIR": str(self.temporary), "VISIT_BRIDGE_CACHE": str(folder / "cache"), "PYTHONPATH": str(ROOT),
            "PYTHON_KEYRING_BACKEND": "keyring.backends.null.Keyring", "PYTHONDONTWRITEBYTECODE": "1",
        }  # fmt: skip
        self.cache = folder / "cache"
        self._seen: set[tuple[Path, int]] = set()

    def new_files(self, folder: Path) -> list[Path]:
        """Files that have come or changed since this was asked last."""
        there = {(p, p.stat().st_mtime_ns) for p in folder.rglob("*") if p.is_file()}
        new = sorted(p for p, _ in there - self._seen)
        self._seen |= there
        return new

    def run(self, *arguments: str, fault: str = "-") -> Run:
        self.number += 1
        log = self.logs / f"{self.number}"
        line = [sys.executable, "-X", "utf8", str(ROOT / "tests/watched.py"), str(log), fault, A_NAME, *arguments]
        done = subprocess.run(
            line, cwd=self.home, env=self.environment, capture_output=True, text=True, encoding="utf-8", timeout=300,
            check=False,
        )  # fmt: skip
        events = [json.loads(found) for found in log.read_text(encoding="utf-8").splitlines()]
        logged = Path(f"{log}.logging").read_text(encoding="utf-8")
        return Run(done.returncode, done.stdout, done.stderr, events, logged)


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    return Desk(tmp_path_factory.mktemp("desk"))


@pytest.fixture(scope="module")
def server() -> Iterator[str]:
    """Takes documents, and quotes clients in what it says of them."""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.say(200, {"resourceType": "Bundle", "type": "searchset", "total": 0})

        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            said = {
                "severity": "error",
                "code": "value",
                "diagnostics": f"{A_NAME}: {body[:2000]!r}",
                "expression": [A_NAME],
            }
            self.say(422, {"resourceType": "OperationOutcome", "issue": [said]})

        def say(self, status: int, data: Any) -> None:
            content = json.dumps(data).encode()
            self.send_response(status)
            self.send_header("Content-Type", "application/fhir+json")
            self.send_header("Content-Length", str(len(content)))
            self.end_headers()
            self.wfile.write(content)

        def log_message(self, format: str, *args: object) -> None:
            """Nothing."""

    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as made:
        threading.Thread(target=made.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{made.server_address[1]}/r4"
        made.shutdown()


def clean(desk: Desk, run: Run, folders: tuple[str, ...], codes: tuple[int, ...] = (0, 1)) -> None:
    """Nothing of a client anywhere but in the folders that the command was to write."""
    assert run.code in codes, f"{run.out[-2000:]}{run.err[-2000:]}"
    for what, text in (("output", run.out), ("errors", run.err), ("log", run.logged), ("arguments", run.started())):
        assert clients_in(text) == [], what
    outside = [p for p in run.wrote() if not within(desk, p, (*folders, str(desk.cache)))]
    assert [p for p in outside if not passing(desk, p)] == []
    kept = [*desk.new_files(desk.temporary), *desk.new_files(desk.cache)]
    assert [p for p in kept if clients_in(p.read_bytes().decode("utf-8", "ignore"))] == []
    assert [p for p in desk.temporary.rglob("*") if p.is_file()] == []


def passing(desk: Desk, path: str) -> bool:
    """Whether a file that is written is nobody else's to read and will not stay: one without a name, one in a folder
    made for its owner alone, the eight letters by which `tempfile` tries a folder, or a folder written beside its name.
    """
    place = Path(path)
    inside = place.relative_to(desk.temporary).parts if place.is_relative_to(desk.temporary) else None
    if inside is not None:
        return inside == () or inside[0].startswith("visit-bridge-") or (len(inside) == 1 and len(inside[0]) == 8)
    at = desk.home / place
    parts = at.relative_to(desk.home).parts if at.is_relative_to(desk.home) else ()
    beside = len(parts) > 1 and re.fullmatch(r"\..+\.part", parts[0]) is not None
    return path in (os.devnull, "/dev/tty") or beside


def within(desk: Desk, path: str, folders: tuple[str, ...]) -> bool:
    whole = (desk.home / path).resolve()
    return any(whole.is_relative_to((desk.home / folder).resolve()) for folder in folders)


SHEETS = ["visits-2026.csv", "ears-2026.csv", "home-visits-2026.xlsx", "second-room-2026.sqlite", "visits"]


def test_the_words_are_those_of_the_clients() -> None:
    assert {"Castlemoor", "9991862528", "999 186 2528", "07700 900101", "7 Lockgate Row"} <= WORDS
    assert len(WORDS) > 200
    assert clients_in("Mrs Castlemoor, 9991862528; Millbrook Ear Care") == ["9991862528", "Castlemoor"]


def test_the_watch_sees(desk: Desk) -> None:
    """What it is to find would be found: a command that writes clients' data, where it may."""
    run = desk.run("convert", "visits", "--to", "seen", "-q")
    assert any(within(desk, path, ("seen",)) for path in run.wrote())
    with pytest.raises(AssertionError):
        clean(desk, run, ("elsewhere",))


def test_check(desk: Desk) -> None:
    clean(desk, desk.run("check", *SHEETS, "--verbose"), ())
    for form in ("json", "csv", "outcome"):
        clean(desk, desk.run("check", "visits-2026.csv", "visits", "--verbose", "--report", form), ())


@pytest.mark.parametrize("kind", ["document", "transaction", "ndjson", "ips"])
def test_convert(desk: Desk, kind: str) -> None:
    sheets = SHEETS if kind == "document" else ["visits-2026.csv", "visits"]
    clean(desk, desk.run("convert", *sheets, "--as", kind, "--to", f"out-{kind}", "--verbose"), (f"out-{kind}",))


def test_documents(desk: Desk) -> None:
    """check, letter and receive over what convert wrote."""
    assert desk.run("convert", "home-visits-2026.xlsx", "--to", "documents").code in (0, 1)
    clean(desk, desk.run("check", "documents", "--verbose"), ())
    clean(desk, desk.run("letter", "documents", "--to", "letters", "--verbose"), ("letters",))
    clean(desk, desk.run("receive", "documents", "--to", "received", "--verbose"), ("received",))
    clean(desk, desk.run("receive", "letters", "--to", "received-letters", "--verbose"), ("received-letters",))


def test_handover_and_back(desk: Desk) -> None:
    clean(desk, desk.run("keys", "make"), ("keys",))
    shown = desk.run("keys", "show", "--json")
    clean(desk, shown, ())
    own = re.search(r"age1[a-z0-9]+", shown.out)
    assert own is not None
    arguments = "handover", "C-1001", "visits-2026.csv", "--date", "2026-11-26", "--verbose"
    clean(desk, desk.run(*arguments, "--plain", "--to", "plain"), ("plain",))
    clean(desk, desk.run(*arguments, "--for", "client", "--plain", "--to", "own-copy"), ("own-copy",))
    clean(desk, desk.run(*arguments, "--for-key", own[0], "--to", "sealed"), ("sealed",))
    sealed = [p for p in (desk.home / "sealed").rglob("*") if p.is_file()]
    assert sealed
    assert [p for p in sealed if clients_in(p.read_bytes().decode("utf-8", "ignore"))] == []
    for folder in ("plain", "sealed"):
        clean(desk, desk.run("receive", folder, "--to", f"from-{folder}", "--verbose"), (f"from-{folder}",), (0, 1, 3))


def test_send(desk: Desk, server: str) -> None:
    assert desk.run("convert", "visits-2026.csv", "--to", "to-send").code in (0, 1)
    path = desk.home / "practice.yaml"
    said = yaml.safe_load(path.read_text(encoding="utf-8"))
    end = {"name": "loopback", "address": server, "organisation": "AG", "without_tls": True}
    path.write_text(
        yaml.safe_dump({**said, "endpoints": [*said["endpoints"], end]}, allow_unicode=True), encoding="utf-8"
    )
    bundles = sorted(str(p.relative_to(desk.home)) for p in (desk.home / "to-send").glob("*.bundle.json"))
    clean(desk, desk.run("send", *bundles, "--to", "loopback", "--dry-run", "--verbose"), ())
    run = desk.run("send", *bundles, "--to", "loopback", "--receipts", "receipts", "--verbose")
    clean(desk, run, ("receipts",), (1,))
    assert "D224" in run.out
    receipts = list((desk.home / "receipts").glob("*.receipt.json"))
    assert receipts
    assert [p for p in receipts if clients_in(p.read_text(encoding="utf-8"))] == []


def test_deidentify(desk: Desk) -> None:
    """Here not even the files may hold such words."""
    for purpose in ("teaching", "audit"):
        folder = f"without-{purpose}"
        line = (
            "deidentify",
            "visits-2026.csv",
            "home-visits-2026.xlsx",
            "--to",
            folder,
            "--for",
            purpose,
            "--once",
            "--verbose",
        )
        clean(desk, desk.run(*line), (folder, f".{folder}"))
        found = [p for p in (desk.home / folder).rglob("*") if p.is_file()]
        assert found
        assert {p.name: clients_in(p.read_text(encoding="utf-8")) for p in found if clients_in(p.read_text())} == {}


def test_audit(desk: Desk) -> None:
    """Nor here: its pages hold numbers of records alone."""
    line = "audit", "run", *SHEETS, "--verbose", "--html", "audit.html", "--csv", "audit.csv"
    clean(desk, desk.run(*line), (".",))
    clean(desk, desk.run("audit", "run", "visits-2026.csv", "--json"), ())
    for name in ("audit.html", "audit.csv"):
        assert clients_in((desk.home / name).read_text(encoding="utf-8")) == []


FAULTS = {
    "check": ("bridge.pipeline:check_visit", ["check", "visits-2026.csv"]),
    "convert": ("bridge.build:document", ["convert", "visits-2026.csv", "--to", "broken"]),
    "letter": ("bridge.build:document", ["letter", "visits-2026.csv", "--to", "broken"]),
    "handover": ("bridge.build:document", ["handover", "C-1001", "visits-2026.csv", "--plain", "--unsigned"]),
    "send": ("bridge.sending:bundle_to_visits", ["send", "M.bundle.json", "--to", "aldersby-green"]),
    "receive": ("bridge.taken_over:bundle_to_visits", ["receive", "M.bundle.json", "--to", "broken"]),
    "audit": ("bridge.audited.visits:complete_people", ["audit", "run", "visits-2026.csv"]),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_of_our_own_quotes_nobody(desk: Desk, name: str) -> None:
    """A function deep inside fails with a client in its words: one line says where, and not what."""
    shutil.copy(ROOT / "demo_bundles/M26-0101.bundle.json", desk.home / "M.bundle.json")
    function, line = FAULTS[name]
    run = desk.run(*line, "--verbose", fault=function)
    clean(desk, run, (".",), (3,))
    assert "met a fault of its own and stopped (ValueError in bridge/" in run.err
    assert "Traceback" not in run.err


def test_records_with_things_in_the_wrong_columns(desk: Desk) -> None:
    """Dates, numbers and states of clients mixed up: what cannot be read is named by its place."""
    import csv

    with (desk.home / "visits-2026.csv").open(encoding="utf-8", newline="") as stream:
        headings, *rows = csv.reader(stream)
    at = {name: headings.index(name) for name in headings}
    for turn, (one, other) in enumerate(
        [("Surname", "Date of birth"), ("NHS number", "Phone"), ("First name", "NHS status")]
    ):
        mixed = [list(row) for row in rows]
        for row in mixed:
            row[at[one]], row[at[other]] = row[at[other]], row[at[one]]
        with (desk.home / f"visits-mixed-{turn}.csv").open("w", encoding="utf-8", newline="") as stream:
            csv.writer(stream).writerows([headings, *mixed])
        run = desk.run("check", f"visits-mixed-{turn}.csv", "--verbose", "--practice", ".")
        clean(desk, run, (), (1,))
