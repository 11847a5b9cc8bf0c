"""Packages are compiled once, and a cache that cannot be used, or is damaged, changes nothing but the time."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from bridge.profiles import cache
from bridge.profiles.library import open_library
from bridge.profiles.making import Making
from tests.profiles.packages import CORE, HERE, least, package, profile
from tests.standards import ROOT


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("VISIT_BRIDGE_CACHE", str(tmp_path / "cache"))
    return tmp_path / "cache" / "packages"


@pytest.fixture
def taken(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Files whose definitions were compiled."""
    found: list[str] = []
    take = Making.take

    def counted(self: Making, file: str, definition: dict[str, object]) -> None:
        found.append(file)
        take(self, file, definition)

    monkeypatch.setattr(Making, "take", counted)
    return found


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return package(tmp_path / "p.tgz", profile("a"), profile("b", f"{HERE}a"), dependencies={"example.base": "1"})


def opened(path: Path) -> None:
    """Opens it, and sees that it is right."""
    library = open_library([path])
    assert least(library.profile(f"{HERE}b"), "birthDate") == 1
    assert [issue.rule for issue in library.issues] == ["P154"]


def test_a_package_is_compiled_once(kept: Path, path: Path, taken: list[str]) -> None:
    opened(path)
    opened(path)
    assert len(taken) == 2
    assert len(list(kept.iterdir())) == 1
    moved = path.rename(path.parent / "elsewhere").rename(path)
    os.utime(moved, (1, 1))
    opened(moved)
    assert len(taken) == 2


def test_other_contents_are_compiled_anew(kept: Path, path: Path, taken: list[str]) -> None:
    opened(path)
    package(path, profile("a", f"{CORE}Patient", {"id": "Patient.name", "path": "Patient.name", "min": 1}))
    assert least(open_library([path]).profile(f"{HERE}a"), "name") == 1
    assert len(taken) == 3


def test_a_folder_is_known_by_what_is_in_it(kept: Path, tmp_path: Path, taken: list[str]) -> None:
    folder = tmp_path / "folder"
    folder.mkdir()
    for name in ("a", "b"):
        (folder / f"{name}.json").write_text(json.dumps(profile(name)), encoding="utf-8")
    open_library([folder])
    open_library([folder])
    assert len(taken) == 2
    (folder / "b.json").rename(folder / "c.json")
    open_library([folder])
    assert len(taken) == 4
    (folder / "c.json").write_text(json.dumps(profile("d")), encoding="utf-8")
    assert open_library([folder]).profile(f"{HERE}d") is not None
    assert len(taken) == 6


def test_another_compiler_compiles_anew(
    kept: Path, path: Path, taken: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    opened(path)
    monkeypatch.setattr(cache, "stamp", lambda: "another")
    opened(path)
    assert len(taken) == 4


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such permissions")
def test_nobody_else_can_read_it(kept: Path, path: Path) -> None:
    opened(path)
    assert kept.stat().st_mode & 0o077 == 0
    assert [file.stat().st_mode & 0o777 for file in kept.iterdir()] == [0o600]


@pytest.mark.parametrize("harm", ["cut", "empty", "other", "blob", "folder"])
def test_a_damaged_file_is_made_anew(kept: Path, path: Path, taken: list[str], harm: str) -> None:
    opened(path)
    (file,) = kept.iterdir()
    content = file.read_bytes()
    first = content.index(b"\n") + 1
    harmed = {
        "cut": content[:-5],
        "empty": b"",
        "other": b"{}\n",
        "blob": content[:first] + b"\0" * (len(content) - first),
    }
    if harm == "folder":
        file.unlink()
        file.mkdir()
    else:
        file.write_bytes(harmed[harm])
    opened(path)
    assert len(taken) == 4
    if harm != "folder":
        assert file.read_bytes() == content
        opened(path)
        assert len(taken) == 4


def test_a_cache_that_cannot_be_used(tmp_path: Path, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("no folder", encoding="utf-8")
    monkeypatch.setenv("VISIT_BRIDGE_CACHE", str(tmp_path / "file"))
    opened(path)
    monkeypatch.delenv("VISIT_BRIDGE_CACHE")
    monkeypatch.delenv("XDG_CACHE_HOME", raising=False)

    def nobody() -> Path:
        raise RuntimeError("nobody's home is known")

    monkeypatch.setattr(cache, "cache_folder", nobody)
    opened(path)


def test_old_files_are_thrown_away_and_others_left_alone(kept: Path, path: Path) -> None:
    kept.mkdir(parents=True)
    for name, days in (("old.jsonl", 100), ("new.jsonl", 10), ("old.txt", 100), (".x.part", 100)):
        (kept / name).write_text("x", encoding="utf-8")
        os.utime(kept / name, (time.time() - days * 86_400,) * 2)
    opened(path)
    assert {file.name for file in kept.iterdir() if len(file.name) < 20} == {"new.jsonl", "old.txt"}


def test_what_could_not_be_read_whole_is_not_kept(kept: Path, tmp_path: Path) -> None:
    for name in ("missing.tgz", "text.tgz"):
        if name == "text.tgz":
            (tmp_path / name).write_text("x", encoding="utf-8")
        library = open_library([tmp_path / name])
        assert [issue.rule for issue in library.issues] == ["P150"]
    assert not kept.exists()


def test_several_processes_at_once(kept: Path, path: Path) -> None:
    code = (
        "import sys; from pathlib import Path; from bridge.profiles.library import open_library\n"
        f"print(open_library([Path(sys.argv[1])]).profile('{HERE}b')['name'])"
    )
    line = [sys.executable, "-c", code, str(path)]
    running = [subprocess.Popen(line, stdout=subprocess.PIPE, text=True, cwd=ROOT) for _ in range(3)]
    assert [process.communicate()[0].strip() for process in running] == ["b"] * 3
    assert len(list(kept.iterdir())) == 1


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such pipes")
def test_a_pipe_is_not_waited_for(kept: Path, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.tgz")
    code = (
        "import sys; from pathlib import Path; from bridge.profiles.cache import content_hash\n"
        "print(content_hash(Path(sys.argv[1])))"
    )
    line = [sys.executable, "-c", code, str(tmp_path / "pipe.tgz")]
    assert len(subprocess.run(line, capture_output=True, text=True, cwd=ROOT, timeout=60).stdout.strip()) == 64


def test_another_table_is_another_stamp(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cache, "mappings_root", lambda: tmp_path)
    stamps = []
    for name, content in (("a", b"1"), ("a", b"2"), ("b", b"2"), ("b", b"22")):
        for folder in ("standard", "profiles"):
            (tmp_path / folder).mkdir(exist_ok=True)
            for old in (tmp_path / folder).iterdir():
                old.unlink()
        (tmp_path / "profiles" / name).write_bytes(content)
        stamps.append(cache.stamp.__wrapped__())
    assert len({*stamps}) == 4
    assert cache.stamp.__wrapped__() == stamps[-1]
