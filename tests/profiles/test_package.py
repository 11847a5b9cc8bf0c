"""Packages are read as far as they are what they say, and nothing hostile in them gets far."""

from __future__ import annotations

import gzip
import io
import json
import tarfile
import tracemalloc
from pathlib import Path
from typing import Any

import pytest

from bridge.profiles import files
from bridge.profiles.package import Package
from tests.profiles.packages import HERE, manifest, package, packed, profile
from tests.standards import standards_file

XML = b"""<?xml version="1.0"?>
<ValueSet xmlns="http://hl7.org/fhir"><url value="http://example.org/fhir/ValueSet/sides"/><status value="active"/>
</ValueSet>"""


def read(path: Path) -> tuple[list[tuple[str, str]], dict[str, str], Package]:
    """Files with the addresses found, rule codes with their messages."""
    one = Package(path)
    found = [(name, str(definition.get("url"))) for name, definition in one.definitions()]
    return found, {issue.rule: issue.message for issue in one.issues}, one


def test_a_tgz_in_the_layout_of_packages(tmp_path: Path) -> None:
    path = packed(
        tmp_path / "one.tgz",
        {
            "package/package.json": manifest(
                canonical="http://example.org/fhir", dependencies={"example.base": "2.0.0"}
            ),
            "package/StructureDefinition-a.json": profile("a"),
            "package/ValueSet-sides.xml": XML,
            "package/Patient-x.json": {"resourceType": "Patient"},
            "package/.index.json": {"files": []},
            "package/example/b.json": profile("b"),
            "package/other/c.json": profile("c"),
            "openapi/d.json": profile("d"),
        },
    )
    found, issues, one = read(path)
    assert found == [
        ("package/StructureDefinition-a.json", f"{HERE}a"),
        ("package/ValueSet-sides.xml", "http://example.org/fhir/ValueSet/sides"),
    ]
    assert issues == {}
    assert one.about == {
        "file": "one.tgz",
        "name": "example.hearing",
        "version": "1.0.0",
        "canonical": "http://example.org/fhir",
        "dependencies": {"example.base": "2.0.0"},
    }


def test_a_folder_an_unpacked_package_a_bundle_and_one_file(tmp_path: Path) -> None:
    (tmp_path / "sets").mkdir()
    (tmp_path / "sets" / "sides.xml").write_bytes(XML)
    (tmp_path / "a.json").write_text(json.dumps(profile("a")), encoding="utf-8")
    inner = {"resourceType": "Bundle", "entry": [{"resource": profile("c")}, {"resource": {"resourceType": "Basic"}}]}
    bundle = {"resourceType": "Bundle", "entry": [{"resource": profile("b")}, {"resource": inner}, {}, 7]}
    (tmp_path / "many.json").write_text(json.dumps(bundle), encoding="utf-8")
    names = [url.rpartition("/")[2] for _, url in read(tmp_path)[0]]
    assert names == ["a", "b", "c", "sides"]
    assert read(tmp_path / "a.json")[0] == [("a.json", f"{HERE}a")]
    unpacked = tmp_path / "unpacked"
    (unpacked / "package" / "example").mkdir(parents=True)
    (unpacked / "package" / "package.json").write_text(json.dumps(manifest()), encoding="utf-8")
    (unpacked / "package" / "a.json").write_text(json.dumps(profile("a")), encoding="utf-8")
    (unpacked / "package" / "example" / "b.json").write_text(json.dumps(profile("b")), encoding="utf-8")
    found, issues, one = read(unpacked)
    assert found == [("package/a.json", f"{HERE}a")]
    assert (issues, one.about["name"]) == ({}, "example.hearing")


def test_the_published_files_of_uk_core_as_they_are() -> None:
    found, issues, _ = read(standards_file("uk-core/codesystems"))
    assert (len(found), issues) == (41, {})


def test_what_is_wrong_is_told_all_at_once_and_the_rest_is_used(tmp_path: Path) -> None:
    wrong = {
        "package/package.json": manifest(fhirVersions=["5.0.0"]),
        "package/bad.json": b'{"resourceType": "StructureDefinition", ',
        "package/deep.json": b'{"resourceType": "ValueSet", "x": ' + b"[" * 5000 + b"]" * 5000 + b"}",
        "package/bad.xml": b"<ValueSet xmlns='http://hl7.org/fhir'><url",
        "package/good.json": profile("good"),
    }
    one = Package(packed(tmp_path / "p.tgz", wrong))
    assert [name for name, _ in one.definitions()] == ["package/good.json"]
    assert [(issue.rule, issue.where.file) for issue in one.issues] == [
        ("P153", "p.tgz/package/package.json"),
        ("P151", "p.tgz/package/bad.json"),
        ("P151", "p.tgz/package/deep.json"),
        ("P151", "p.tgz/package/bad.xml"),
    ]


def test_links_devices_and_ways_out_are_never_followed(tmp_path: Path) -> None:
    (tmp_path / "secret.json").write_text(json.dumps(profile("secret")), encoding="utf-8")
    extra = []
    for name, kind in (("package/a.json", tarfile.SYMTYPE), ("package/b.json", tarfile.LNKTYPE)):
        extra.append(tarfile.TarInfo(name))
        extra[-1].type, extra[-1].linkname = kind, str(tmp_path / "secret.json")
    for name, kind in (("package/c.json", tarfile.CHRTYPE), ("package/d.json", tarfile.FIFOTYPE)):
        extra.append(tarfile.TarInfo(name))
        extra[-1].type = kind
    contents = {"package/package.json": manifest(), "package/ok.json": profile("ok")}
    ways_out = {"package/../../e.json": profile("e"), "/package/f.json": profile("f")}
    found, issues, _ = read(packed(tmp_path / "p.tgz", contents | ways_out, extra))
    assert [name for name, _ in found] == ["package/ok.json"]
    assert issues == {"P157": "p.tgz has 6 entries that are no plain files in it."}
    assert {path.name for path in tmp_path.iterdir()} == {"p.tgz", "secret.json"}
    folder = tmp_path / "folder"
    folder.mkdir()
    (folder / "ok.json").write_text(json.dumps(profile("ok")), encoding="utf-8")
    (folder / "a.json").symlink_to(tmp_path / "secret.json")
    (folder / "up").symlink_to(tmp_path)
    found, issues, _ = read(folder)
    assert [name for name, _ in found] == ["ok.json"]
    assert issues == {"P157": "folder has 2 entries that are no plain files in it."}


def test_what_swells_is_given_up_before_it_fills_the_memory(tmp_path: Path) -> None:
    path = tmp_path / "bomb.tgz"
    with gzip.open(path, "wb") as stream, tarfile.open(fileobj=stream, mode="w|") as tar:
        for number in range(8):
            member = tarfile.TarInfo(f"package/{number}.json")
            member.size = 20_000_000
            tar.addfile(member, io.BytesIO(b" " * member.size))
    tracemalloc.start()
    found, issues, _ = read(path)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert found == []
    assert "150-fold" in issues["P156"]
    assert most < 100_000_000


def test_a_long_head_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "head.tgz"
    head = tarfile.TarInfo("package/x")
    head.type, head.size = tarfile.XHDTYPE, 5_000_000
    with gzip.open(path, "wb") as stream:
        stream.write(head.tobuf(tarfile.USTAR_FORMAT) + b"9" * 5_000_000)
    assert "a head of more than" in read(path)[1]["P156"]


def heads(type: bytes, *contents: bytes) -> bytes:
    """Heads of a tar file that stand before what they describe."""
    found = b""
    for content in contents:
        head = tarfile.TarInfo("x")
        head.type, head.size = type, len(content)
        found += head.tobuf(tarfile.USTAR_FORMAT) + content + b"\0" * (-len(content) % tarfile.BLOCKSIZE)
    return found


ENTRY = heads(tarfile.REGTYPE, b"{}")


@pytest.mark.parametrize("type", [tarfile.XHDTYPE, tarfile.XGLTYPE, tarfile.GNUTYPE_LONGNAME, tarfile.GNUTYPE_LONGLINK])
def test_heads_of_heads_end(tmp_path: Path, type: bytes) -> None:
    path = tmp_path / "chain.tgz"
    path.write_bytes(gzip.compress(heads(type, *[b"6 a=b\n"] * 5_000) + ENTRY))
    assert "more than 5 heads" in read(path)[1]["P156"]
    path.write_bytes(gzip.compress(heads(type, *[b"6 a=b\n"] * 4) + ENTRY + bytes(1024)))
    assert "P156" not in read(path)[1]


def test_what_a_head_says_of_all_entries_is_not_gone_through_at_each(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    known: list[int] = []
    took = tarfile.TarInfo.fromtarfile.__func__  # type: ignore[attr-defined]

    def noted(cls: type[tarfile.TarInfo], tar: tarfile.TarFile) -> tarfile.TarInfo:
        known.append(len(tar.pax_headers))
        return took(cls, tar)  # type: ignore[no-any-return]

    monkeypatch.setattr(tarfile.TarInfo, "fromtarfile", classmethod(noted))
    path = tmp_path / "all.tgz"
    said = b"".join(b"7 %02x=b\n" % number for number in range(256))
    path.write_bytes(gzip.compress(heads(tarfile.XGLTYPE, said) + ENTRY * 20 + bytes(1024)))
    read(path)
    assert len(known) > 20
    assert max(known) == 256
    assert sum(known) == 256


def test_heads_all_in_all_are_bounded(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "heads.tgz"
    path.write_bytes(gzip.compress((heads(tarfile.XHDTYPE, b"6 a=b\n") + ENTRY) * 30 + bytes(1024)))
    assert "P156" not in read(path)[1]
    monkeypatch.setattr(files, "MOST_IN_HEADS", 20_000)
    assert "of heads" in read(path)[1]["P156"]


def test_an_entry_that_claims_to_be_endless_ends(tmp_path: Path) -> None:
    path = tmp_path / "endless.tgz"
    head = tarfile.TarInfo("package/example/x.json")
    head.size = 2**70
    with gzip.open(path, "wb") as stream:
        stream.write(head.tobuf(tarfile.GNU_FORMAT) + b"{}")
    assert "no whole tar file" in read(path)[1]["P150"]


@pytest.mark.parametrize(
    ("limit", "value", "told"),
    [("MOST_FILES", 3, "more than 3 files"), ("MOST_BYTES", 9_000, "more than 0 MB"), ("MAX_BYTES", 100, "larger")],
)
def test_counts_and_sizes_are_bounded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, limit: str, value: int, told: str
) -> None:
    path = package(tmp_path / "p.tgz", *(profile(str(number)) for number in range(40)))
    assert len(read(path)[0]) == 40
    monkeypatch.setattr(files, limit, value)
    found, issues, _ = read(path)
    assert len(found) < 10
    assert told in issues["P156"]


NO_PACKAGES: dict[str, bytes] = {
    "text.tgz": b"This is not packed at all.",
    "empty.tgz": b"",
    "gzip.tgz": gzip.compress(b"packed, but no tar file" * 100),
    "nothing.tgz": gzip.compress(b"\0" * 10240),
    "patient.json": b'{"resourceType": "Patient"}',
    "list.json": b"[]",
    "zip.json": b"PK\3\4" + bytes(range(256)),
}


@pytest.mark.parametrize("name", [*NO_PACKAGES, "missing.tgz", "missing", "folder"])
def test_no_package_is_told_in_plain_words(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    if name in NO_PACKAGES:
        path.write_bytes(NO_PACKAGES[name])
    elif name == "folder":
        path.mkdir()
    found, issues, _ = read(path)
    assert found == []
    assert name in issues["P150"]


def test_a_file_cut_off_gives_what_came_before(tmp_path: Path) -> None:
    whole = package(tmp_path / "whole.tgz", *(profile(str(number), title=str(number) * 999) for number in range(300)))
    cut: Any = tmp_path / "cut.tgz"
    cut.write_bytes(whole.read_bytes()[:-2000])
    found, issues, _ = read(cut)
    assert 0 < len(found) <= 300
    assert "no whole tar file" in issues["P150"]


def test_a_package_without_its_manifest_is_used(tmp_path: Path) -> None:
    found, issues, _ = read(packed(tmp_path / "p.tgz", {"package/a.json": profile("a")}))
    assert len(found) == 1
    assert list(issues) == ["P151"]


@pytest.mark.parametrize("said", [["5.0.0"], ["3.0.2", "5.0.0"], "5.0.0", [{}], [None]])
def test_a_package_for_another_version_of_fhir_is_told(tmp_path: Path, said: Any) -> None:
    assert list(read(package(tmp_path / "p.tgz", profile("a"), fhirVersions=said))[1]) == ["P153"]


@pytest.mark.parametrize("said", [["4.0.1"], ["4.0.0"], ["4.0.1", "4.3.0"], "4.0.1", [], {}, None, 4])
def test_a_package_for_r4_or_that_does_not_say(tmp_path: Path, said: Any) -> None:
    assert read(package(tmp_path / "p.tgz", profile("a"), fhirVersions=said))[1] == {}
