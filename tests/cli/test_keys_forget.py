"""`visit-bridge keys forget`: what is taken out of the list of trusted keys, and what a parcel gets afterwards."""

from __future__ import annotations

import os
import stat
from collections.abc import Sequence
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from bridge.cli import main
from bridge.parcel import spoken
from bridge.parcel.known import KnownKey, as_csv, known_keys
from tests.parcel.parcels import ABOUT, as_zip, codes, key, open_zip, whole

FOLDER = Path("practice")
ALDER, BREDE, ALDERS_SECOND = (
    KnownKey("Alder Hearing", key(1).fingerprint, key(1).public, "age1alder"),
    KnownKey("Brede Ears", key(2).fingerprint),
    KnownKey("ALDER  Hearing", key(3).fingerprint),
)


@pytest.fixture(autouse=True)
def practice(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (FOLDER / "keys").mkdir(parents=True, mode=0o700)
    (FOLDER / "practice.yaml").touch()


def trusts(keys: Sequence[KnownKey]) -> None:
    (FOLDER / "keys/known.csv").write_bytes(as_csv(keys))


def forget(*words: str, code: int = 0, answer: str = "") -> str:
    result: Result = CliRunner().invoke(main, ["keys", "forget", *words, "--practice", str(FOLDER)], input=answer)
    assert result.exit_code == code, result.output
    return " ".join(result.output.split())


@pytest.mark.parametrize(("words", "answer"), [(["--yes"], ""), ([], "y\n")])
def test_one_key_is_taken_out_and_the_others_stay_as_they_were(words: list[str], answer: str) -> None:
    trusts([ALDER, BREDE])
    told = forget(" brede EARS", *words, answer=answer)
    assert known_keys(FOLDER) == [ALDER]
    assert spoken(BREDE.fingerprint) in told
    assert "no longer trusted" in told
    assert "not looked at again" in told
    assert "still trust" not in told
    assert [path.name for path in (FOLDER / "keys").iterdir()] == ["known.csv"]
    if os.name == "posix":
        assert stat.S_IMODE((FOLDER / "keys/known.csv").stat().st_mode) == 0o600


def test_the_last_key_can_be_taken_out() -> None:
    trusts([ALDER])
    forget("Alder Hearing", "--yes")
    assert known_keys(FOLDER) == []


@pytest.mark.parametrize(("answer", "code"), [("n\n", 1), ("\n", 1), ("", 2)])
def test_without_a_yes_nothing_is_changed(answer: str, code: int) -> None:
    trusts([ALDER, BREDE])
    before = (FOLDER / "keys/known.csv").read_bytes()
    told = forget("Alder Hearing", code=code, answer=answer)
    assert "othing was changed" in told
    assert ("--yes" in told) == (code == 2)
    assert (FOLDER / "keys/known.csv").read_bytes() == before


def test_a_name_that_is_not_known_is_told_with_those_that_are() -> None:
    trusts([ALDER, BREDE, ALDERS_SECOND])
    for name in ("Alder", " "):
        told = forget(name, "--yes", code=2)
        assert "“Alder Hearing”, “Brede Ears”" in told
    trusts([KnownKey(f"Clinic {number}", key(1).fingerprint) for number in range(23)])
    told = forget("Alder", "--yes", code=2)
    assert "“Clinic 19” and 3 more" in told
    assert "Clinic 20" not in told
    (FOLDER / "keys/known.csv").unlink()
    assert "none at all" in forget("Alder", "--yes", code=2)
    assert not (FOLDER / "keys/known.csv").exists()


def test_of_several_keys_of_one_name_the_fingerprint_chooses() -> None:
    trusts([ALDER, BREDE, ALDERS_SECOND])
    told = forget("Alder Hearing", "--yes", code=2)
    assert spoken(ALDER.fingerprint) in told
    assert spoken(ALDERS_SECOND.fingerprint) in told
    assert spoken(BREDE.fingerprint) not in told
    assert "--fingerprint" in told
    wrong = forget("Alder Hearing", "--fingerprint", BREDE.fingerprint, "--yes", code=2)
    assert spoken(ALDER.fingerprint) in wrong
    forget("Alder Hearing", "--fingerprint", "abc", "--yes", code=2)
    assert known_keys(FOLDER) == [ALDER, BREDE, ALDERS_SECOND]
    told = forget("Alder Hearing", "--fingerprint", spoken(ALDERS_SECOND.fingerprint).upper(), "--yes")
    assert "refused (X137)" in told
    assert "X136" not in told
    assert known_keys(FOLDER) == [ALDER, BREDE]


def test_a_fingerprint_that_the_only_key_of_a_name_does_not_have_takes_nothing_out() -> None:
    trusts([ALDER])
    forget("Alder Hearing", "--fingerprint", BREDE.fingerprint, "--yes", code=2)
    assert known_keys(FOLDER) == [ALDER]


def test_one_key_in_two_rows_of_a_name_is_taken_out_of_both() -> None:
    trusts([ALDER, KnownKey("alder hearing", ALDER.fingerprint), BREDE])
    forget("Alder Hearing", "--yes")
    assert known_keys(FOLDER) == [BREDE]


def test_the_same_key_under_another_name_is_told_as_still_trusted() -> None:
    branch = KnownKey("Alder Branch", ALDER.fingerprint)
    trusts([ALDER, branch, BREDE])
    told = forget("Alder Hearing", "--yes")
    assert 'visit-bridge keys forget "Alder Branch"' in told
    assert "X136" not in told, "the key is still known"
    assert known_keys(FOLDER) == [branch, BREDE]


def test_a_list_that_cannot_be_written_stays_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    trusts([ALDER, BREDE])
    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        told = forget("Alder Hearing", "--yes", code=3)
    assert "No space" in told
    assert "no longer trusted" not in told
    assert known_keys(FOLDER) == [ALDER, BREDE]
    assert [path.name for path in (FOLDER / "keys").iterdir()] == ["known.csv"]


@pytest.mark.skipif(os.name != "posix", reason="Windows has no such bits")
def test_a_list_that_others_may_write_into_is_not_written_on() -> None:
    trusts([ALDER, BREDE])
    before = (FOLDER / "keys/known.csv").read_bytes()
    (FOLDER / "keys").chmod(0o777)
    assert "Others may write" in forget("Alder Hearing", "--yes", code=3)
    assert (FOLDER / "keys/known.csv").read_bytes() == before


def test_a_parcel_gets_afterwards_what_was_said_of_it() -> None:
    """X136 (a warning) while no key of the clinic is trusted, X137 (nothing is opened) once a new one is."""
    parcel = as_zip(whole(key(1)))
    trusts([KnownKey(ABOUT.clinic, key(1).fingerprint), BREDE])
    Path("inbox").mkdir()
    assert codes(open_zip(parcel, Path("inbox"), known=known_keys(FOLDER))) == set()
    assert "warning (X136)" in forget(ABOUT.clinic, "--yes")
    after = open_zip(parcel, Path("inbox"), known=known_keys(FOLDER))
    assert codes(after) == {"X136"}
    assert after.pieces
    trusts([KnownKey(ABOUT.clinic, key(1).fingerprint), KnownKey("Alder Branch", key(1).fingerprint)])
    assert "Alder Branch" in forget(ABOUT.clinic, "--yes")
    assert codes(open_zip(parcel, Path("inbox"), known=known_keys(FOLDER))) == {"X148"}
    trusts([KnownKey(ABOUT.clinic, key(3).fingerprint), BREDE])
    refused = open_zip(parcel, Path("inbox"), known=known_keys(FOLDER))
    assert codes(refused) == {"X137"}
    assert not refused.pieces
