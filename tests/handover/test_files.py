"""Pictures, kept files and the table of words: what is taken from beside the records, and what is refused."""

from __future__ import annotations

import csv
import io
import json
import os
from pathlib import Path
from typing import Any

import pytest

from bridge.handover import Made, Reader
from bridge.handover.images import MOST_BYTES
from bridge.visit import Visit
from tests.build.ips.some import CLIENT, visit
from tests.handover.some import coded, made_of, page_of, section

JPEG, PNG = b"\xff\xd8\xff\xe0" + b"0" * 60, b"\x89PNG\r\n\x1a\n" + b"1" * 60
"""Beginnings by ITU-T T.81 (SOI and the marker behind it) and RFC 2083, 3.1."""


def with_image(file: str, **more: Any) -> Visit:
    return visit(1, right={"images": [{"file": file, "stage": "before"}]}, **more)


def handed(folder: Path, file: str, **more: Any) -> Made:
    sheet = folder / "sheet.csv"
    sheet.touch()
    return made_of(with_image(file, **more), sources=(sheet,))


def names(made: Made) -> list[str]:
    return [p.name for p in made.pieces if p.name.startswith("images/")]


@pytest.mark.parametrize(
    ("file", "name"),
    [
        ("images/drum.jpg", "images/drum.jpg"),
        ("drum.JPG", "images/drum.jpg"),
        ("images\\drum.jpg", "images/drum.jpg"),
        ("deep/er/drum one.jpg", "images/deep_er_drum_one"),
    ],
)
def test_a_picture_beside_the_records_travels(tmp_path: Path, file: str, name: str) -> None:
    path = tmp_path.joinpath(*file.replace("\\", "/").split("/"))
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(JPEG)
    made = handed(tmp_path, file)
    (found,) = names(made)
    assert found.startswith(name.removesuffix(".jpg"))
    assert found.endswith(".jpg")
    piece = next(p for p in made.pieces if p.name == found)
    assert (piece.content, piece.media_type) == (JPEG, "image/jpeg"), "as it was, with its own metadata"
    assert found in section(page_of(made), "baseline")
    assert [i.rule for i in made.issues] == []


@pytest.mark.parametrize(
    "file",
    ["../drum.jpg", "/etc/hostname", "images/../../drum.jpg", "C:\\drum.jpg", "C:drum.jpg", "..\\drum.jpg", ".",
     "missing.jpg", "images", "sheet.csv", "~/drum.jpg", "link.jpg", "linked/drum.jpg", "pipe.jpg", "nul\u2028.jpg"],
)  # fmt: skip
def test_what_is_no_picture_beside_the_records_is_named_and_left(tmp_path: Path, file: str) -> None:
    (tmp_path / "drum.jpg").write_bytes(JPEG)
    inside = tmp_path / "records"
    (inside / "images").mkdir(parents=True)
    (inside / "link.jpg").symlink_to(tmp_path / "drum.jpg")
    (inside / "linked").symlink_to(tmp_path)
    os.mkfifo(inside / "pipe.jpg")
    made = handed(inside, file)
    assert names(made) == []
    (found,) = made.issues
    assert (found.rule, found.where.path, found.where.record) == ("D182", "right.images[0].file", "V1")
    assert "drum" not in found.message
    assert "not in this parcel" in section(page_of(made), "baseline")


def test_size_is_bounded(tmp_path: Path) -> None:
    with (tmp_path / "big.jpg").open("wb") as stream:
        stream.write(JPEG)
        stream.truncate(MOST_BYTES + 1)
    made = handed(tmp_path, "big.jpg")
    assert names(made) == []
    assert "larger than" in made.issues[0].message


def test_two_pictures_of_one_name_stay_two(tmp_path: Path) -> None:
    (tmp_path / "images").mkdir()
    for name, content in (("a.jpg", JPEG), ("images/a.jpg", JPEG + b"2"), ("images/A.png", PNG)):
        (tmp_path / name).write_bytes(content)
    pictures = [{"file": file} for file in ("a.jpg", "images/a.jpg", "a.jpg", "images/A.png")]
    (tmp_path / "sheet.csv").touch()
    made = made_of(visit(1, left={"images": pictures}), sources=(tmp_path / "sheet.csv",))
    found = names(made)
    assert found[0] == "images/a.jpg"
    assert found[2] == "images/A.png"
    assert len(found) == len(set(found)) == 3
    assert [next(p.content for p in made.pieces if p.name == n) for n in found] == [JPEG, JPEG + b"2", PNG]


@pytest.mark.parametrize(
    ("sharing", "told"), [({"status": "given"}, ["D163", "D183"]), ({"status": "not asked"}, ["D163", "D183"])]
)
def test_pictures_go_only_with_their_consent(tmp_path: Path, sharing: dict[str, str], told: list[str]) -> None:
    (tmp_path / "drum.jpg").write_bytes(JPEG)
    made = handed(tmp_path, "drum.jpg", sharing=sharing)
    assert ([i.rule for i in made.issues], names(made)) == (told, [])
    (tmp_path / "sheet.csv").touch()
    own = made_of(with_image("drum.jpg", sharing=sharing), reader="client", sources=(tmp_path / "sheet.csv",))
    assert names(own) == ["images/drum.jpg"]


def test_what_another_clinic_was_allowed_allows_us_no_pictures(tmp_path: Path) -> None:
    (tmp_path / "drum.jpg").write_bytes(JPEG)
    made = handed(tmp_path, "drum.jpg", clinic={"name": "Another clinic"})
    assert ([i.rule for i in made.issues], names(made)) == (["D163", "D183"], [])


@pytest.mark.parametrize(("sharing", "goes"), [({"status": "given", "scope": ["whole record"]}, True), (None, False)])
def test_pictures_of_an_earlier_clinic_go_only_with_that_consent_too(
    tmp_path: Path, sharing: dict[str, Any] | None, goes: bool
) -> None:
    """Whatever they are called; with what came along else."""
    came = tmp_path / "came-with-C-1"
    film = b"\0\0\0\x20ftypiso5" + b"2" * 60
    for place, content in (("images/drum.jpg", JPEG), ("earlier/x/drum", PNG), ("letters/V1.pdf", b"%PDF"),
                           ("images/film", film), ("images/Unknown.TIFF", b"another format")):  # fmt: skip
        (came / place).parent.mkdir(parents=True, exist_ok=True)
        (came / place).write_bytes(content)
    (came / "visits.json").write_bytes(b'{"visits": ["V1"]}')
    (tmp_path / "V1.yaml").touch()
    made = kept(tmp_path, of_file("V1.yaml", sharing=sharing))
    found = {p.name for p in made.pieces if p.name.startswith("earlier/")}
    images = {f"earlier/came-with-C-1/images/{name}" for name in ("drum.jpg", "film", "Unknown.TIFF")}
    pictures = {"earlier/x/drum", *images}
    assert found == {"earlier/came-with-C-1/letters/V1.pdf", *(pictures if goes else ())}
    assert [i.message for i in made.issues if i.rule == "D183"] == (
        [] if goes else ["4 pictures that came along are not handed over: no consent given to us names pictures or the "
                         "whole record."]
    )  # fmt: skip


def of_file(name: str, number: str = "V1", **more: Any) -> tuple[str, Visit]:
    return name, visit(1, **more).model_copy(update={"number": number})


def kept(folder: Path, *read: tuple[str, Visit], reader: Reader = "clinic") -> Made:
    """A hand-over of visits that were read from files."""
    from bridge.handover import Around, OneClient, contents
    from bridge.issues import Where
    from bridge.pipeline import Conversion
    from tests.handover.some import DAY, converter

    by = converter()
    one = OneClient(by, "C-1", reader)
    for name, one_visit in read:
        one.take(Conversion("ready", Where(name), one_visit))
    record, _ = one.record()
    assert record is not None
    return contents(record, one, by, [folder / name for name, _ in read], Around(DAY))


def travelling(made: Made) -> dict[str, bytes]:
    return {p.name: p.content for p in made.pieces if p.name.startswith(("kept/", "earlier/"))}


def test_what_an_earlier_clinic_sent_travels_on(tmp_path: Path) -> None:
    content = b'{"resourceType": "Bundle", "type": "collection"}'
    (tmp_path / "V1.kept.json").write_bytes(content)
    (tmp_path / "V1.account.json").write_bytes(b"[]")
    (tmp_path / "V1.draft.yaml").touch()
    (tmp_path / "laboratory.kept.json").write_bytes(b"{}")
    made = kept(tmp_path, of_file("V1.draft.yaml"))
    assert travelling(made) == {
        "kept/V1.kept.json": content, "kept/V1.account.json": b"[]", "kept/laboratory.kept.json": b"{}",
    }  # fmt: skip
    assert (made.counts["kept"], made.issues) == (3, [])


def test_what_may_be_of_another_client_stays(tmp_path: Path) -> None:
    """The folder holds a visit file that was not named: its kept file is its own, and of others nobody knows."""
    for name in ("V1.yaml", "V9.yaml", "V9.kept.json", "V1.kept.json", "laboratory.kept.json"):
        (tmp_path / name).write_bytes(b"{}")
    made = kept(tmp_path, of_file("V1.yaml"))
    assert [*travelling(made)] == ["kept/V1.kept.json"]
    assert [i.rule for i in made.issues] == ["D188"]
    (tmp_path / "laboratory.kept.json").unlink()
    assert kept(tmp_path, of_file("V1.yaml")).issues == []


def test_what_came_along_travels_on_and_its_pictures_are_found(tmp_path: Path) -> None:
    came = tmp_path / "came-with-C-1"
    for name, content in (("images/drum.jpg", JPEG), ("letters/V1.pdf", b"%PDF"), ("index.html", b"<p>"),
                          ("earlier/came-with-7/letters/V0.pdf", b"%PDF0")):  # fmt: skip
        (came / name).parent.mkdir(parents=True, exist_ok=True)
        (came / name).write_bytes(content)
    (came / "visits.json").write_bytes(b'{"visits": ["V1", "V0"]}')
    (tmp_path / "came-with-C-2").mkdir()
    (tmp_path / "came-with-C-2/index.html").write_bytes(b"another")
    (tmp_path / "came-with-C-2/visits.json").write_bytes(b'{"visits": ["V7"]}')
    (came / "link.pdf").symlink_to(tmp_path / "came-with-C-2/index.html")
    pictured = of_file("V1.yaml", right={"images": [{"file": "images/drum.jpg"}]})
    made = kept(tmp_path, pictured)
    assert travelling(made) == {
        "earlier/came-with-C-1/images/drum.jpg": JPEG,
        "earlier/came-with-C-1/index.html": b"<p>",
        "earlier/came-with-C-1/letters/V1.pdf": b"%PDF",
        "earlier/came-with-7/letters/V0.pdf": b"%PDF0",
    }
    assert names(made) == ["images/drum.jpg"]
    assert [i.rule for i in made.issues] == ["D188"], "a link is not followed"


@pytest.mark.parametrize("said", [None, b"", b"[]", b'{"visits": "V1"}', b'{"visits": []}', b"{" * 9999])
def test_what_came_along_with_nobody_knows_which_visits_stays(said: bytes | None, tmp_path: Path) -> None:
    came = tmp_path / "came-with-C-1"
    came.mkdir()
    (came / "index.html").write_bytes(b"whose?")
    if said is not None:
        (came / "visits.json").write_bytes(said)
    made = kept(tmp_path, of_file("V1.yaml"))
    assert travelling(made) == {}
    assert [i.rule for i in made.issues] == ["D188"]


def test_two_people_with_one_number_at_two_clinics_stay_apart(tmp_path: Path) -> None:
    for clinic, number, picture in (("a", "V1", JPEG), ("b", "V2", JPEG + b"another")):
        came = tmp_path / f"came-with-C-1-from-{clinic}"
        (came / "images").mkdir(parents=True)
        (came / "images/drum.jpg").write_bytes(picture)
        (came / "visits.json").write_text(json.dumps({"visits": [number]}), "utf-8")
    (tmp_path / "images").mkdir()
    (tmp_path / "images/drum.jpg").write_bytes(JPEG + b"our own")
    made = kept(tmp_path, of_file("V1.yaml", right={"images": [{"file": "images/drum.jpg"}]}))
    assert travelling(made) == {"earlier/came-with-C-1-from-a/images/drum.jpg": JPEG}
    assert [p.content for p in made.pieces if p.name == "images/drum.jpg"] == [JPEG]


def test_no_files_of_an_earlier_clinic_in_the_clients_copy(tmp_path: Path) -> None:
    (tmp_path / "V1.kept.json").write_bytes(b'{"name": "the mother"}')
    (tmp_path / "V1.yaml").touch()
    made = kept(tmp_path, of_file("V1.yaml"), reader="client")
    assert travelling(made) == {}
    assert [i.rule for i in made.issues] == ["D187"]
    assert "1 file that an earlier clinic sent" in section(page_of(made), "left")


@pytest.mark.parametrize("content", [b"{", b"", b"\xff\xfe"])
def test_a_kept_file_that_cannot_be_read_is_told(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "V1.kept.json").write_bytes(content)
    made = kept(tmp_path, of_file("V1.yaml"))
    assert [i.rule for i in made.issues] == ["D188"]
    assert made.counts["kept"] == 0


def test_what_stands_beside_a_file_of_several_clients_may_be_theirs(tmp_path: Path) -> None:
    (tmp_path / "all.yaml").touch()
    (tmp_path / "all.kept.json").write_bytes(b"{}")
    other = {**CLIENT, "number": "C-2", "legal_name": {"family": "Reed"}, "birth_date": "1961-07-21"}
    made = kept(tmp_path, of_file("all.yaml"), of_file("all.yaml", "V2", client=other))
    assert made.counts["kept"] == 0
    linked = tmp_path / "V1.kept.json"
    linked.symlink_to(tmp_path / "all.kept.json")
    made = kept(tmp_path, of_file("V1.yaml"))
    assert ([i.rule for i in made.issues], made.counts["kept"]) == (["D188"], 0)


def test_the_table_of_words() -> None:
    made = made_of(
        coded(visit(1, reasons=["=1+1", "blocked"], right={"before": {"wax": "+++"}}, left={"before": {"wax": "+++"}}))
    )
    table = next(p.content for p in made.pieces if p.name == "words.csv").decode()
    rows = list(csv.reader(io.StringIO(table)))
    assert rows[0] == ["local word", "field", "assertion", "system", "system version", "code", "display", "times"]
    assert all(len(row) == 8 and not row[0].startswith(("=", "+", "-", "@")) for row in rows[1:])
    assert ["'=1+1", "reasons", "", "", "", "", "", "1"] in rows
    wax = [row for row in rows if row[0] == "'+++"]
    assert {row[1] for row in wax} == {"right.before.wax.amount", "left.before.wax.amount"}
    assert any(row[5] == "wax-heavy" and row[4] for row in wax), "our own system has the version of the tool"


ASH = {"resourceType": "Patient", "name": [{"family": "Ash", "given": ["Rowan"]}], "birthDate": "1950-02-03",
       "identifier": [{"system": "https://fhir.nhs.uk/Id/nhs-number", "value": "9990000018"}]}  # fmt: skip
REED = {"resourceType": "Patient", "name": [{"family": "Reed"}], "birthDate": "1961-07-21"}
UNNAMED = {"resourceType": "Patient", "birthDate": "1950-02-03"}


@pytest.mark.parametrize(
    ("name", "patients", "travels"),
    [
        ("V1", [ASH], True),
        ("V1", [UNNAMED], True),
        ("V1", [REED], False),
        ("V1", [ASH, REED], False),
        ("laboratory", [ASH], True),
        ("laboratory", [UNNAMED], False),
        ("laboratory", [REED], False),
        ("laboratory", [], True),
    ],
)
def test_a_kept_file_in_which_another_client_stands_stays(
    tmp_path: Path, name: str, patients: list[Any], travels: bool
) -> None:
    """One bundle may be about two clients; whoever named its file cannot make it this client's."""
    (tmp_path / "V1.yaml").touch()
    content = json.dumps({"resourceType": "Bundle", "entry": [{"resource": patient} for patient in patients]})
    (tmp_path / f"{name}.kept.json").write_text(content)
    (tmp_path / f"{name}.account.json").write_text("{}")
    client = {"legal_name": {"family": "Ash", "given": ["Rowan"]}, "birth_date": "1950-02-03", "number": "C-1"}
    made = kept(tmp_path, of_file("V1.yaml", client=client))
    both = [f"kept/{name}.account.json", f"kept/{name}.kept.json"]
    assert (sorted(travelling(made)), [i.rule for i in made.issues]) == ((both, []) if travels else ([], ["D188"]))
