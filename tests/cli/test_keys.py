"""`visit-bridge keys`: keys are made once, shown by halves, and those of others are trusted only after comparing."""

from __future__ import annotations

import json
import os
import shutil
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import keyring
import pytest
from click.testing import CliRunner, Result
from keyring.backend import KeyringBackend

from bridge.cli import main
from bridge.errors import SettingsError
from bridge.parcel import known_here, known_keys, signing_key, spoken
from bridge.parcel.own import make_key
from bridge.practice.secrets import secret
from bridge.read.find import find_sources
from tests.parcel.parcels import key

FOLDER = Path("practice")


class Ring(KeyringBackend):
    """A keyring of one test; `open` says whether it lets anything in."""

    priority = 1  # type: ignore[assignment]
    open = True

    def __init__(self) -> None:
        super().__init__()
        self.kept: dict[tuple[str, str], str] = {}

    def get_password(self, service: str, username: str) -> str | None:
        return self.kept.get((service, username))

    def set_password(self, service: str, username: str, password: str) -> None:
        if not self.open:
            raise keyring.errors.KeyringLocked
        self.kept[service, username] = password


@pytest.fixture(autouse=True)
def ring() -> Iterator[Ring]:
    before, made = keyring.get_keyring(), Ring()
    keyring.set_keyring(made)
    yield made
    keyring.set_keyring(before)


@pytest.fixture(autouse=True)
def practice(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("VISIT_BRIDGE_PRACTICE", raising=False)
    FOLDER.mkdir()
    shutil.copy(Path(__file__).parents[2] / "mappings/demo/practice.yaml", FOLDER)


def run(*words: str, code: int = 0, answer: str = "") -> Result:
    result = CliRunner().invoke(main, ["keys", *words, "--practice", str(FOLDER)], input=answer)
    assert result.exit_code == code, result.output
    return result


def private_parts() -> list[str]:
    jwk = json.loads((FOLDER / "keys/signing-key").read_text())
    return [jwk["d"], (FOLDER / "keys/sealing-key").read_text().strip().partition("-1")[2]]


def test_keys_are_made_for_their_owner_alone_and_told_by_halves() -> None:
    shown = run("make").output
    made = signing_key(secret("signing-key", FOLDER) or "")
    assert spoken(made.fingerprint) in " ".join(shown.split())
    assert "age1" in shown
    assert "Keep a copy" in shown
    everything = shown + run("show").output + run("show", "--json").output + run("make", "--json").output
    run("show", "--to", "card.json")
    everything += Path("card.json").read_text()
    for private in private_parts():
        assert private not in everything
    if os.name == "posix":
        modes = {path.name: stat.S_IMODE(path.stat().st_mode) for path in (FOLDER / "keys").iterdir()}
        assert modes == {"signing-key": 0o600, "sealing-key": 0o600, ".gitignore": 0o600}
        assert stat.S_IMODE((FOLDER / "keys").stat().st_mode) == 0o700


def test_a_key_is_never_written_over() -> None:
    run("make")
    before = {path: path.read_bytes() for path in (FOLDER / "keys").iterdir()}
    assert "already" in run("make", "--pseudonyms").output
    assert {path: path.read_bytes() for path in before} == before
    assert len(secret("pseudonym-key", FOLDER) or "") == 64


@pytest.mark.skipif(os.name != "posix", reason="Windows has no such bits")
@pytest.mark.parametrize("path", ["keys", "keys/known.csv"])
def test_clinics_that_others_could_have_written_there_are_not_trusted(path: str) -> None:
    run("make")
    run("trust", "Alder Hearing", "--fingerprint", key(2).fingerprint)
    (FOLDER / "keys").chmod(0o755)
    (FOLDER / path).chmod(0o777)
    for words in (["show"], ["trust", "Brede Ears", "--fingerprint", key(3).fingerprint]):
        result = CliRunner().invoke(main, ["keys", *words, "--practice", str(FOLDER)])
        assert isinstance(result.exception, SettingsError) or result.exit_code == 3, result.output
    with pytest.raises(SettingsError, match="Others may write into"):
        known_keys(FOLDER)
    (FOLDER / "keys").chmod(0o700)
    (FOLDER / "keys/known.csv").chmod(0o600)
    assert [k.name for k in known_keys(FOLDER)] == ["Alder Hearing"]


@pytest.mark.skipif(os.name != "posix", reason="Windows has no such bits")
def test_no_key_is_made_beside_what_others_could_have_put_there() -> None:
    (FOLDER / "keys").mkdir()
    (FOLDER / "keys").chmod(0o777)
    assert make_key("signing-key", FOLDER, keyring=False)
    assert stat.S_IMODE((FOLDER / "keys").stat().st_mode) == 0o700
    (FOLDER / "keys").chmod(0o777)
    with pytest.raises(SettingsError):
        make_key("sealing-key", FOLDER, keyring=False)


def test_a_key_of_the_environment_or_the_keyring_is_not_made_again(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("VISIT_BRIDGE_SIGNING_KEY", json.dumps(dict(key().private)))
    assert not make_key("signing-key", FOLDER, keyring=False)
    assert not (FOLDER / "keys").exists()


def test_keys_may_be_kept_in_the_keyring(ring: Ring) -> None:
    run("make", "--keyring")
    assert not (FOLDER / "keys").exists()
    assert sorted(user.rpartition("/")[2] for _, user in ring.kept) == ["sealing-key", "signing-key"]
    assert "already" in run("make").output
    assert not (FOLDER / "keys").exists()


def test_a_keyring_that_is_locked_is_told(ring: Ring) -> None:
    ring.open = False
    with pytest.raises(SettingsError, match="keyring"):
        make_key("signing-key", FOLDER, keyring=True)


def test_a_key_that_cannot_be_written_whole_is_not_there(monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    (FOLDER / "keys").mkdir()
    (FOLDER / "keys/.gitignore").touch()
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(SettingsError, match="No space"):
        make_key("signing-key", FOLDER, keyring=False)
    assert [path.name for path in (FOLDER / "keys").iterdir()] == [".gitignore"]


def test_without_a_key_show_says_how_to_make_one() -> None:
    assert "keys make" in run("show", code=1).output
    assert json.loads(run("show", "--json", code=1).output) == {"fingerprint": None, "known": []}


def _card(**changes: Any) -> str:
    data = {"clinic": "Alder", "fingerprint": key().fingerprint, "signing_key": dict(key().public), **changes}
    Path("alder.json").write_text(json.dumps(data), encoding="utf-8")
    return "alder.json"


def test_a_card_of_one_clinic_is_trusted_by_another() -> None:
    run("make")
    run("show", "--to", "card.json")
    (FOLDER / "keys").rename("keys of Willow")
    theirs = json.loads(Path("card.json").read_text())
    answered = run("trust", "Willow", "--file", "card.json", answer="y\n").output
    assert spoken(theirs["fingerprint"]) in " ".join(answered.split())
    (known,) = known_keys(FOLDER)
    assert (known.name, known.fingerprint, known.recipient) == ("Willow", theirs["fingerprint"], theirs["sealing_key"])
    assert known.public == theirs["signing_key"]
    assert "already" in run("trust", "Willow", "--fingerprint", theirs["fingerprint"]).output
    assert "You trust: " in run("show", code=1).output


def test_the_own_key_is_not_trusted_as_that_of_another_clinic() -> None:
    run("make")
    run("show", "--to", "our-keys.json")
    ours = json.loads(Path("our-keys.json").read_text())
    mixed = _card(sealing_key=ours["sealing_key"])
    for words in (
        ["--file", "our-keys.json"],
        ["--file", "our-keys.json", "--fingerprint", ours["fingerprint"]],
        ["--fingerprint", spoken(ours["fingerprint"]).upper()],
        ["--file", mixed],
    ):
        told = " ".join(run("trust", "Willow", *words, code=3, answer="y\n").output.split())
        assert "That is your own key" in told
        assert "keys show --to" in told
        assert "Is it the one" not in told, "nobody is asked to compare it"
    assert known_keys(FOLDER) == []
    run("trust", "Alder", "--file", _card(), answer="y\n")


def test_a_no_changes_nothing() -> None:
    for answer in ("n\n", "\n"):
        run("trust", "Alder", "--file", _card(), code=1, answer=answer)
    assert known_keys(FOLDER) == []


def test_a_fingerprint_is_enough_to_know_a_signer() -> None:
    run("trust", "Alder", "--fingerprint", spoken(key().fingerprint).upper())
    (known,) = known_keys(FOLDER)
    assert (known.fingerprint, known.public, known.recipient) == (key().fingerprint, None, "")
    assert "already" in run("trust", "Alder", "--fingerprint", key().fingerprint).output


def test_a_file_of_another_key_than_was_told_is_refused() -> None:
    said = run("trust", "Alder", "--file", _card(), "--fingerprint", key(1).fingerprint, code=3).output
    assert "Do not trust" in said
    assert known_keys(FOLDER) == []


def test_another_key_in_a_known_name_needs_more_than_a_yes() -> None:
    run("trust", "Alder", "--fingerprint", key().fingerprint)
    run("trust", "ALDER ", "--fingerprint", key(1).fingerprint, code=3)
    assert [known.fingerprint for known in known_keys(FOLDER)] == [key().fingerprint]
    run("trust", "Alder", "--fingerprint", key(1).fingerprint, "--instead")
    assert [known.fingerprint for known in known_keys(FOLDER)] == [key(1).fingerprint]


@pytest.mark.parametrize(
    "changes",
    [
        {"fingerprint": key(1).fingerprint},
        {"signing_key": None},
        {"signing_key": {**key().private}},
        {"signing_key": {"kty": "oct", "k": "AAAA"}},
        {"sealing_key": "age1nothing"},
    ],
    ids=lambda changes: next(iter(changes)),
)
def test_a_card_that_is_none(changes: dict[str, Any]) -> None:
    run("trust", "Alder", "--file", _card(**changes), code=3, answer="y\n")
    assert known_keys(FOLDER) == []


@pytest.mark.parametrize("content", [b"", b"[]", b"\xff", b"{" * 5_000, b'"' + b"a" * 70_000 + b'"'], ids=len)
def test_a_file_that_is_no_card(content: bytes) -> None:
    Path("alder.json").write_bytes(content)
    run("trust", "Alder", "--file", "alder.json", code=3, answer="y\n")


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["Alder", "--fingerprint", "abc"], 2),
        ([" ", "--fingerprint", key().fingerprint], 2),
        (["Alder", "--file", "nowhere.json"], 3),
    ],
)
def test_what_is_no_key(words: list[str], code: int) -> None:
    run("trust", *words, code=code)
    assert known_keys(FOLDER) == []


def test_where_nobody_can_be_asked_the_fingerprint_has_to_be_said() -> None:
    _, told = run("trust", "Alder", "--file", _card(), code=2).output.split("[y/N]: ")
    assert "--fingerprint" in told
    assert told.startswith("\n"), "what is wrong begins a line of its own"
    assert known_keys(FOLDER) == []


def test_a_file_that_is_not_there_is_named_with_what_to_do() -> None:
    told = " ".join(run("trust", "Alder", "--file", "nowhere.json", code=3).output.split())
    assert "nowhere.json" in told
    assert "ask the clinic for its file again" in told


def test_a_file_of_a_clinic_by_another_name_is_told_before_anybody_says_yes() -> None:
    told = "The file is of “Alder Hearing”"
    other = run("trust", "Alder Haering", "--file", _card(clinic="Alder Hearing"), code=1, answer="n\n").output
    assert other.index(told) < other.index("Is it the one")
    assert (
        told not in run("trust", "alder hearing", "--file", _card(clinic="Alder Hearing"), code=1, answer="n\n").output
    )


def test_of_a_broken_key_no_new_one_is_promised_while_it_stays() -> None:
    run("make")
    (FOLDER / "keys/signing-key").write_text("junk\n")
    told = " ".join(run("make", code=3).output.split())
    assert "take this key out of the folder “keys”" in told


def test_trust_without_a_key_is_a_wrong_use() -> None:
    run("trust", "Alder", code=2)


@pytest.mark.parametrize(
    "text",
    [
        "name,fingerprint\n",
        f"name,fingerprint,signing_key,sealing_key\n,{key().fingerprint},,\n",
        "name,fingerprint,signing_key,sealing_key\nAlder,abc,,\n",
        f"name,fingerprint,signing_key,sealing_key\nAlder,{key().fingerprint}\n",
        f"name,fingerprint,signing_key,sealing_key\nAlder,{key().fingerprint},{{}},\n",
        "\0",
    ],
    ids=["columns", "no name", "no fingerprint", "short row", "no key", "binary"],
)
def test_a_list_with_a_fault_is_told_and_not_half_read(text: str) -> None:
    (FOLDER / "keys").mkdir()
    (FOLDER / "keys/known.csv").write_text(text)
    with pytest.raises(SettingsError):
        known_keys(FOLDER)


def test_the_own_key_is_known_under_the_own_name() -> None:
    run("make")
    run("trust", "Alder", "--fingerprint", key().fingerprint)
    own = signing_key(secret("signing-key", FOLDER) or "").fingerprint
    assert [(known.name, known.fingerprint) for known in known_here(FOLDER, "Our Clinic")] == [
        ("Alder", key().fingerprint),
        ("Our Clinic", own),
    ]


def test_the_folder_of_keys_is_no_folder_of_records() -> None:
    """`check .` in a practice folder reads the records in it, not the list of trusted clinics."""
    shutil.copy(Path(__file__).parents[2] / "mappings/demo/visits/M26-0110.yaml", FOLDER)
    run("make")
    run("trust", "Alder", "--fingerprint", key().fingerprint)
    assert [path.name for path in find_sources([FOLDER], documents=True).paths] == ["M26-0110.yaml"]


def test_a_place_that_cannot_be_written_is_told_by_its_name() -> None:
    run("make")
    said = run("show", "--to", "nowhere/card.json", code=3).output
    assert "nowhere/card.json cannot be written" in said
    assert ".part" not in said
