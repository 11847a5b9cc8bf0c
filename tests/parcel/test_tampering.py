"""Every way to tamper with a parcel is refused with its own reason, in folder and zip, and nothing comes out."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from bridge.errors import InputError
from bridge.parcel import KnownKey, Opened, opened
from bridge.parcel.signature import sign
from tests.parcel.parcels import ABOUT, as_folder, as_zip, codes, key, open_zip, whole

Files = dict[str, bytes]
KNOWN = [KnownKey("Willow Ear Care", key().fingerprint)]
FORGER = key(1)


def _resigned(files: Files, signer: Any = FORGER) -> None:
    files["manifest.json.jws"] = sign(files["manifest.json"], signer)


def _listed(files: Files, change: Callable[[dict[str, Any]], None], signer: Any = FORGER) -> None:
    data = json.loads(files["manifest.json"])
    change(data)
    files["manifest.json"] = json.dumps(data).encode()
    _resigned(files, signer)


def file_changed(files: Files) -> None:
    files["letters/V-1.pdf"] += b" "


def file_changed_within(files: Files) -> None:
    files["images/V-1-right.png"] = bytes(reversed(files["images/V-1-right.png"]))


def files_swapped(files: Files) -> None:
    a, b = "visits/V-1.bundle.json", "visits/V-2.bundle.json"
    files[a], files[b] = files[b], files[a]


def file_emptied(files: Files) -> None:
    files["index.html"] = b""


def file_removed(files: Files) -> None:
    del files["visits/V-2.bundle.json"]


def file_renamed(files: Files) -> None:
    files["visits/V-3.bundle.json"] = files.pop("visits/V-2.bundle.json")


def file_added(files: Files) -> None:
    files["letters/V-2.pdf"] = b"%PDF"


def manifest_removed(files: Files) -> None:
    del files["manifest.json"]


def manifest_changed(files: Files) -> None:
    files["manifest.json"] = files["manifest.json"].replace(b"moves clinic", b"stays clinic")


def manifest_laid_out_anew(files: Files) -> None:
    files["manifest.json"] = json.dumps(json.loads(files["manifest.json"])).encode()


def manifest_of_another_parcel(files: Files) -> None:
    files["manifest.json"] = whole(about=replace(ABOUT, made="2025-01-01"))["manifest.json"]


def signature_of_another_parcel(files: Files) -> None:
    files["manifest.json.jws"] = whole(about=replace(ABOUT, made="2025-01-01"))["manifest.json.jws"]


def signature_removed(files: Files) -> None:
    del files["manifest.json.jws"]


def signature_emptied(files: Files) -> None:
    files["manifest.json.jws"] = b""


def signature_of_no_algorithm(files: Files) -> None:
    files["manifest.json.jws"] = b"eyJhbGciOiJub25lIn0.."


def made_anew_by_another(files: Files) -> None:
    files["letters/V-1.pdf"] = b"%PDF forged"
    files.update({n: c for n, c in whole(FORGER).items() if n.startswith("manifest")})
    _listed(files, lambda data: data["files"].clear())


def another_key(files: Files) -> None:
    _resigned(files)


def another_key_and_spelling(files: Files) -> None:
    _listed(files, lambda data: data["by"].update(clinic="  WILLOW  ear care"))


def another_key_and_what_nobody_sees(files: Files) -> None:
    _listed(files, lambda data: data["by"].update(clinic="Wil\u200blow Ear C\u00adare\u2060"))


def count_lowered(files: Files) -> None:
    _listed(files, lambda data: data["counts"].update(visits=1), key())


def count_removed(files: Files) -> None:
    _listed(files, lambda data: data["counts"].pop("images"), key())


def visit_left_out_by_the_signer(files: Files) -> None:
    del files["visits/V-2.bundle.json"]
    _listed(files, lambda data: data["files"].pop(), key())


def named_twice(files: Files) -> None:
    _listed(files, lambda data: data["files"].append(data["files"][0]), key())


def names_itself(files: Files) -> None:
    _listed(files, lambda data: data["files"][0].update(name="manifest.json"), key())


def names_what_lies_outside(files: Files) -> None:
    _listed(files, lambda data: data["files"][0].update(name="../../etc/passwd"), key())


def of_a_later_version(files: Files) -> None:
    _listed(files, lambda data: data.update(format_version=2), key())


def of_another_format(files: Files) -> None:
    _listed(files, lambda data: data.update(format="parcel"), key())


def no_list_of_files(files: Files) -> None:
    _listed(files, lambda data: data.update(files={"a": 1}), key())


def size_that_is_true(files: Files) -> None:
    _listed(files, lambda data: data["files"][0].update(size=True), key())


def size_beyond_numbers(files: Files) -> None:
    _listed(files, lambda data: data["files"][0].update(size=10**300), key())


def no_counts(files: Files) -> None:
    _listed(files, lambda data: data.pop("counts"), key())


def a_day_that_is_none(files: Files) -> None:
    _listed(files, lambda data: data.update(made="yesterday"), key())


def a_key_twice(files: Files) -> None:
    files["manifest.json"] = b'{"format": "x",' + files["manifest.json"].strip()[1:]
    _resigned(files, key())


def deep_json(files: Files) -> None:
    files["manifest.json"] = b'{"format":' + b"[" * 100_000
    _resigned(files, key())


def text_that_turns_writing(files: Files) -> None:
    _listed(files, lambda data: data["by"].update(clinic="Willow \u202eraC raE"), key())


def half_a_character(files: Files) -> None:
    _listed(files, lambda data: data.update(purpose="\ud800"), key())


def no_utf8(files: Files) -> None:
    files["manifest.json"] = b"\xff\xfe"
    _resigned(files, key())


def manifest_too_large(files: Files) -> None:
    files["manifest.json"] = b'"' + b"a" * (5 << 20) + b'"'


REFUSED: dict[Callable[[Files], None], set[str]] = {
    file_changed: {"X130"},
    file_changed_within: {"X130"},
    files_swapped: {"X130"},
    file_emptied: {"X130"},
    file_removed: {"X131"},
    file_renamed: {"X131", "X132"},
    file_added: {"X132"},
    manifest_removed: {"X131"},
    manifest_changed: {"X133"},
    manifest_laid_out_anew: {"X133"},
    manifest_of_another_parcel: {"X133"},
    signature_of_another_parcel: {"X133"},
    signature_removed: {"X134", "X137"},
    signature_emptied: {"X147"},
    signature_of_no_algorithm: {"X147"},
    made_anew_by_another: {"X132", "X137", "X146"},
    another_key: {"X137"},
    another_key_and_spelling: {"X137"},
    another_key_and_what_nobody_sees: {"X137"},
    count_lowered: {"X146"},
    count_removed: {"X146"},
    visit_left_out_by_the_signer: {"X146"},
    named_twice: {"X145"},
    names_itself: {"X145"},
    names_what_lies_outside: {"X145"},
    of_a_later_version: {"X145"},
    of_another_format: {"X145"},
    no_list_of_files: {"X145"},
    size_that_is_true: {"X145"},
    size_beyond_numbers: {"X145"},
    no_counts: {"X145"},
    a_day_that_is_none: {"X145"},
    a_key_twice: {"X145"},
    deep_json: {"X145"},
    text_that_turns_writing: {"X145"},
    half_a_character: {"X145"},
    no_utf8: {"X145"},
    manifest_too_large: {"X143"},
}


def _both(files: Files, folder: Path, **wishes: Any) -> list[Opened]:
    (folder / "as-zip").mkdir()
    return [
        opened(as_folder(files, folder / "as-folder"), **wishes),
        open_zip(as_zip(files), folder / "as-zip", **wishes),
    ]


def test_untouched_it_opens_and_says_who_signed(tmp_path: Path) -> None:
    for found in _both(whole(), tmp_path, known=KNOWN):
        assert (found.issues, len(found.pieces)) == ([], 5)
        assert found.signer is not None
        assert found.signer.name == "Willow Ear Care"


@pytest.mark.parametrize("tamper", REFUSED, ids=lambda tamper: tamper.__name__)
def test_refused_with_its_reason(tamper: Callable[[Files], None], tmp_path: Path) -> None:
    files = whole()
    tamper(files)
    for found in _both(files, tmp_path, known=KNOWN):
        assert codes(found) - {"X136"} == REFUSED[tamper]
        assert not found.ok
        assert found.pieces == {}


def test_every_byte_of_every_file_counts(tmp_path: Path) -> None:
    """One bit of every tenth byte of each file, and of the signature, of which the line end alone may differ."""
    files = whole()
    path = as_folder(files, tmp_path / "record")
    for name, content in files.items():
        for at in range(0, len(content.rstrip(b"\n")), 10):
            (path / name).write_bytes(content[:at] + bytes([content[at] ^ 2]) + content[at + 1 :])
            found = opened(path, known=KNOWN)
            assert not found.ok, (name, at)
            assert found.pieces == {}
        (path / name).write_bytes(content)
    assert opened(path, known=KNOWN).ok


def test_a_key_that_is_not_known_is_told_with_its_fingerprint_to_compare(tmp_path: Path) -> None:
    from bridge.parcel import spoken

    for found in _both(whole(FORGER, replace(ABOUT, clinic="Alder Hearing")), tmp_path, known=KNOWN):
        assert codes(found) == {"X136"}
        assert spoken(FORGER.fingerprint) in found.issues[0].message
        assert found.ok
        assert len(found.pieces) == 5


def test_a_known_key_under_another_name(tmp_path: Path) -> None:
    for found in _both(whole(about=replace(ABOUT, clinic="Willow North")), tmp_path, known=KNOWN):
        assert codes(found) == {"X148"}
        assert found.ok


def test_a_clinic_may_have_two_keys(tmp_path: Path) -> None:
    two = [*KNOWN, KnownKey("Willow Ear Care", FORGER.fingerprint)]
    for found in _both(whole(FORGER), tmp_path, known=two):
        assert found.issues == []


def test_unsigned_opens_only_when_asked_for_and_says_so(tmp_path: Path) -> None:
    files = whole()
    signature_removed(files)
    for found in _both(files, tmp_path, unsigned=True):
        assert codes(found) == {"X135"}
        assert len(found.pieces) == 5


def test_the_wish_for_unsigned_lets_nothing_else_through(tmp_path: Path) -> None:
    """Not a signature that is wrong, not an unsigned parcel in the name of a clinic that signs, not a changed file."""
    for number, (tamper, expected) in enumerate(
        [(manifest_changed, {"X133"}), (signature_emptied, {"X147"}), (signature_removed, {"X135", "X137"})]
    ):
        files = whole()
        tamper(files)
        (tmp_path / str(number)).mkdir()
        for found in _both(files, tmp_path / str(number), unsigned=True, known=KNOWN):
            assert codes(found) == expected
            assert found.pieces == {}
    files = whole()
    signature_removed(files)
    file_changed(files)
    (tmp_path / "more").mkdir()
    for found in _both(files, tmp_path / "more", unsigned=True):
        assert codes(found) == {"X135", "X130"}
        assert found.pieces == {}


def test_no_message_quotes_the_manifest(tmp_path: Path) -> None:
    person = "Marigold Sample-Person"
    files = whole()
    _listed(files, lambda data: data.update(client=person, purpose=person, made=person))
    for found in _both(files, tmp_path):
        assert person not in str(found.issues)


def test_what_is_no_parcel_is_an_input_error(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "note.txt").write_text("hello")
    for name in ("empty", "note.txt", "nowhere"):
        with pytest.raises(InputError):
            opened(tmp_path / name)
