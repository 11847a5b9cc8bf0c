"""`receive` of packages: nothing of a changed one, all of a whole one; and what nobody sends in good faith."""

from __future__ import annotations

import hashlib
import io
import json
import os
import zipfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from bridge.cli import main
from bridge.fhir.received import read_received
from bridge.parcel import (
    About,
    Piece,
    SigningKey,
    packed,
    public_sealing_key,
    sealed,
    signing_key,
    write_folder,
    zipped,
)
from bridge.parcel.keys import new_sealing_key, new_signing_key
from bridge.receive import bundle_to_visits

ROOT = Path(__file__).parents[2]
BUNDLES = ROOT / "demo_bundles"
NUMBERS = ("M26-0110", "M26-0128")
ABOUT = About("2026-11-26", "Willow Ear Care", "C-0001", "moves clinic")
WORDS = "correct horse of the clinic"
CAME = "came-with-C-0001-from-Willow_Ear_Care-" + hashlib.sha256(b"Willow Ear Care").hexdigest()[:8]
MOST_MEMORY = 400 * 1024 * 1024


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    for name in ("PRACTICE", "SEALING_KEY", "PASSPHRASE"):
        monkeypatch.delenv(f"VISIT_BRIDGE_{name}", raising=False)
    return tmp_path


@cache
def key() -> SigningKey:
    return signing_key(new_signing_key())


@cache
def pieces() -> tuple[Piece, ...]:
    found = [
        Piece(f"visits/{n}.bundle.json", "application/fhir+json", (BUNDLES / f"{n}.bundle.json").read_bytes(), "visit")
        for n in NUMBERS
    ]
    record = (BUNDLES / "summaries/C-1011.ips.bundle.json").read_bytes()
    return (
        *found,
        Piece("index.html", "text/html", b"<!doctype html><title>Record</title>", "where to begin"),
        Piece("letters/M26-0110.pdf", "application/pdf", b"%PDF-1.7 letter", "letter"),
        Piece("images/M26-0110-right.png", "image/png", bytes(range(256)), "right drum"),
        Piece("record/C-0001.ips.bundle.json", "application/fhir+json", record, "whole record"),
        Piece(
            "kept/M26-0001.kept.json", "application/json", b'{"resourceType": "Bundle", "type": "collection"}', "kept"
        ),
        Piece("words.csv", "text/csv", b"word,code\n", "words"),
    )


def whole(signer: SigningKey | None = None) -> list[Piece]:
    return packed(pieces(), ABOUT, signer or key())


def receive(*args: str | Path, given: bytes = b"") -> Result:
    return CliRunner().invoke(main, ["receive", *map(str, args)], input=given)


def told(*args: str | Path, given: bytes = b"") -> tuple[Result, dict[str, Any]]:
    result = receive(*args, "--json", given=given)
    return result, json.loads(result.stdout)


def written() -> list[str]:
    root = Path("received")
    return sorted(p.relative_to(root).as_posix() for p in root.rglob("*") if p.is_file()) if root.exists() else []


ALL = [
    "M26-0001.kept.json",
    "M26-0110.yaml",
    "M26-0128.yaml",
    *(f"{CAME}/{name}" for name in ("images/M26-0110-right.png", "index.html", "letters/M26-0110.pdf")),
    f"{CAME}/record/C-0001.ips.bundle.json",
    f"{CAME}/words.csv",
    f"{CAME}/visits.json",
]


def as_folder() -> Path:
    write_folder(whole(), Path("parcel"))
    return Path("parcel")


def as_zip() -> Path:
    Path("parcel.zip").write_bytes(zipped(whole()))
    return Path("parcel.zip")


def in_a_folder() -> Path:
    Path("inbox").mkdir()
    write_folder(whole(), Path("inbox/parcel"))
    return Path("inbox")


@pytest.mark.parametrize("make", [as_folder, as_zip, in_a_folder], ids=lambda f: f.__name__)
def test_a_whole_package_gives_its_visits_and_all_that_came_along(make: Callable[[], Path]) -> None:
    result, report = told(make())
    assert [i["rule"] for i in report["issues"] if i["severity"] == "error"] == [], result.output
    assert written() == sorted(ALL)
    assert report["figures"]["parcels opened"] == 1
    for piece in pieces():
        if not piece.name.startswith(("visits/", "kept/")):
            assert Path("received", CAME, piece.name).read_bytes() == piece.content
    made = [Path("received"), *Path("received").rglob("*")]
    assert {oct(p.stat().st_mode & 0o077) for p in made} == {"0o0"}


def test_no_file_of_a_parcel_stands_among_the_visit_files_under_a_name_of_its_own_choice() -> None:
    """What stands beside visit files is read as a record by `check` and `convert`, which nobody looked at here."""
    forged = [Piece(f"kept/{n}", "application/json", b"{}", "kept") for n in ("X-1.json", "received.csv", "x.xml")]
    harmful = [Piece(n, "application/json", b"{}", "page") for n in ("kept/X-1.yaml", "kept/run.bat", "a.svg", "setup")]
    write_folder(packed([*pieces(), *forged, *harmful], ABOUT, key()), Path("parcel"))
    result, report = told("parcel")
    assert written() == sorted([*ALL, *(f"{CAME}/{piece.name}" for piece in forged)]), result.output
    assert [i["message"] for i in report["issues"] if i["rule"] == "X185"] == [
        "4 files of this parcel are of no kind that a record holds."
    ]


def test_a_parcel_without_its_manifest_and_signature_is_not_taken_for_loose_documents() -> None:
    folder = as_folder()
    for name in ("manifest.json", "manifest.json.jws"):
        (folder / name).unlink()
    result, report = told(folder)
    assert [i["rule"] for i in report["issues"]] == ["X131"], result.output
    assert written() == []


def test_the_visits_are_those_that_were_sent() -> None:
    from tests.cli.test_receive import visit_in

    receive(as_zip())
    for number in NUMBERS:
        (sent,), _ = bundle_to_visits(read_received((BUNDLES / f"{number}.bundle.json").read_bytes())[0])
        assert visit_in(Path(f"received/{number}.yaml")) == sent.model_copy(update={"source_sha256": None})


def test_a_sealed_package_for_our_key(monkeypatch: pytest.MonkeyPatch) -> None:
    identity = new_sealing_key()
    Path("p.zip.age").write_bytes(sealed(whole(), recipients=[public_sealing_key(identity)]))
    result, report = told("p.zip.age")
    assert (result.exit_code, [i["rule"] for i in report["issues"] if i["severity"] == "error"]) == (1, ["X138"])
    assert written() == []
    monkeypatch.setenv("VISIT_BRIDGE_SEALING_KEY", new_sealing_key())
    assert receive("p.zip.age").exit_code == 1
    assert written() == []
    monkeypatch.setenv("VISIT_BRIDGE_SEALING_KEY", identity)
    assert receive("p.zip.age").exit_code == 0
    assert written() == sorted(ALL)


def test_a_package_sealed_with_a_passphrase(monkeypatch: pytest.MonkeyPatch) -> None:
    Path("p.zip.age").write_bytes(sealed(whole(), passphrase=WORDS))
    for wrong in ("", "another horse of the clinic"):
        monkeypatch.setenv("VISIT_BRIDGE_PASSPHRASE", wrong)
        result, report = told("p.zip.age")
        assert (result.exit_code, {i["rule"] for i in report["issues"]} >= {"X139"}) == (1, True)
        assert "VISIT_BRIDGE_PASSPHRASE" in result.output
    assert written() == []
    monkeypatch.setenv("VISIT_BRIDGE_PASSPHRASE", WORDS)
    assert receive("p.zip.age").exit_code == 0
    assert written() == sorted(ALL)


def test_a_package_on_standard_input() -> None:
    result = receive("-", given=zipped(whole()))
    assert result.exit_code == 0, result.output
    assert "M26-0110.yaml" in written()


def test_without_a_signature_only_on_request() -> None:
    Path("p.zip").write_bytes(zipped(packed(pieces(), ABOUT)))
    result, report = told("p.zip")
    assert ("X134" in {i["rule"] for i in report["issues"]}, result.exit_code, written()) == (True, 1, [])
    result, report = told("p.zip", "--unsigned")
    assert ("X135" in {i["rule"] for i in report["issues"]}, result.exit_code) == (True, 0)
    assert written() == sorted(ALL)


TAMPERED: dict[str, tuple[str, Callable[[dict[str, bytes]], object]]] = {
    "a visit": ("X130", lambda f: f.update({"visits/M26-0110.bundle.json": f["visits/M26-0128.bundle.json"]})),
    "an image": ("X130", lambda f: f.update({"images/M26-0110-right.png": b"other"})),
    "a file less": ("X131", lambda f: f.pop("words.csv")),
    "a file more": ("X132", lambda f: f.update({"visits/M26-0999.bundle.json": f["visits/M26-0128.bundle.json"]})),
    "the manifest": ("X133", lambda f: f.update({"manifest.json": f["manifest.json"].replace(b"Willow", b"Poplar")})),
    "no manifest": ("X131", lambda f: f.pop("manifest.json")),
    "no signature": ("X134", lambda f: f.pop("manifest.json.jws")),
}


@pytest.mark.parametrize("form", ["zip", "folder", "folder in a folder"])
@pytest.mark.parametrize("what", TAMPERED)
def test_of_a_package_that_was_changed_nothing_is_taken(what: str, form: str) -> None:
    rule, change = TAMPERED[what]
    files = {piece.name: piece.content for piece in whole()}
    change(files)
    source = Path("p.zip")
    if form == "zip":
        source.write_bytes(_zip(files))
    else:
        source = Path("inbox/parcel")
        for name, content in files.items():
            (source / name).parent.mkdir(parents=True, exist_ok=True)
            (source / name).write_bytes(content)
        source = source.parent if form == "folder in a folder" else source
    result, report = told(source)
    errors = {i["rule"] for i in report["issues"] if i["severity"] == "error"}
    assert (rule in errors, result.exit_code, written()) == (True, 1, []), (errors, report["figures"])


def test_a_parcel_brings_no_record_past_the_check() -> None:
    """Only documents that were checked become visit files, and what came along is no record."""
    sly = b"number: X\nstart: 2026-01-01\nclient: {legal_name: {family: Ash}}\n"
    names = ("kept/sly.yaml", "kept/M26-0110.yaml", "images/sly.yaml", "sly.csv", "kept/M26-0110.json")
    Path("p.zip").write_bytes(
        zipped(packed((*pieces(), *(Piece(n, "text/plain", sly, "sly") for n in names)), ABOUT, key()))
    )
    receive("p.zip")
    root = Path("received")
    found = {p.relative_to(root).parts[0] for p in root.rglob("*") if p.is_file() and p.read_bytes() == sly}
    assert found <= {CAME}
    checked = CliRunner().invoke(main, ["check", "received", "--practice", str(ROOT / "mappings/demo"), "--json"])
    report = json.loads(checked.stdout)
    assert report["figures"]["visits"] == len(NUMBERS)
    assert "R154" not in {i["rule"] for i in report["issues"]}


def _zip(files: dict[str, bytes]) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return made.getvalue()


def _bomb() -> bytes:
    return _zip({"manifest.json": b"{}", "visits/a.bundle.json": b"\0" * (300 * 1024 * 1024)})


def _many() -> bytes:
    return _zip({"manifest.json": b"{}", **{f"images/{n}.png": b"" for n in range(10_000)}})


def _tricks() -> bytes:
    return _zip({"manifest.json": b"{}", "../../out.yaml": b"x"})


@pytest.mark.parametrize("make", [_bomb, _many, _tricks], ids=lambda f: f.__name__)
def test_archives_made_to_harm_are_refused_before_they_are_unpacked(make: Callable[[], bytes], tmp_path: Path) -> None:
    import tracemalloc

    Path("p.zip").write_bytes(make())
    tracemalloc.start()
    result, report = told("p.zip")
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert {i["rule"] for i in report["issues"] if i["severity"] == "error"} & {"X142", "X143", "X144"}
    assert (result.exit_code, written()) == (1, [])
    assert peak < MOST_MEMORY
    assert sorted(p.name for p in tmp_path.iterdir()) == ["p.zip"]
    assert not (tmp_path.parent / "out.yaml").exists()


def test_a_link_in_a_package_is_not_followed(tmp_path: Path) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("not for others")
    parcel = as_folder()
    (parcel / "words.csv").unlink()
    os.symlink(secret, parcel / "words.csv")
    result, report = told(parcel)
    assert ([i["rule"] for i in report["issues"] if i["severity"] == "error"] != [], result.exit_code) == (True, 1)
    assert written() == []


def test_a_folder_that_leads_into_itself_ends(tmp_path: Path) -> None:
    inbox = in_a_folder()
    os.symlink(inbox.resolve(), inbox / "again", target_is_directory=True)
    os.symlink(tmp_path / "nowhere", inbox / "gone.zip")
    assert receive(inbox).exit_code == 0
    assert written() == sorted(ALL)


HOSTILE = {
    "entities.xml": b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa">' + b"".join(
        f'<!ENTITY {chr(98 + n)} "{f"&{chr(97 + n)};" * 10}">'.encode() for n in range(12)
    ) + b']><Bundle xmlns="http://hl7.org/fhir"><id value="&m;"/></Bundle>',
    "outside.xml": b'<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]><Bundle xmlns="http://hl7.org/fhir">&a;</Bundle>',
    "deep.json": b'{"resourceType":"Bundle","type":"collection","entry":' + b"[" * 100_000 + b"]" * 100_000 + b"}",
    "deep.xml": b'<Bundle xmlns="http://hl7.org/fhir">' + b"<entry>" * 50_000 + b"</entry>" * 50_000 + b"</Bundle>",
    "lines.ndjson": b'{"resourceType":"Patient"}\n{"resourceType":\n',
    "number.json": b'{"resourceType":"Bundle","type":"collection","total":' + b"9" * 100_000 + b"}",
}  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_documents_made_to_harm_are_refused(name: str) -> None:
    Path(name).write_bytes(HOSTILE[name])
    result = receive(name)
    assert result.exit_code in (1, 2, 3), result.output
    assert "fault of its own" not in result.output
    assert not [n for n in written() if n.endswith(".yaml")]
    assert "root:" not in result.output


def test_ten_thousand_files_are_looked_at_one_by_one() -> None:
    Path("inbox").mkdir()
    for number in range(10_000):
        Path(f"inbox/{number}.json").write_bytes(b"{}")
    result, report = told("inbox")
    assert result.exit_code == 1
    assert written() == []
    assert len(report["issues"]) >= 1
