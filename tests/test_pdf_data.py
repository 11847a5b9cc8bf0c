"""Reading the bundle out of a PDF: letters as they were made and saved anew, and files made to do harm."""

from __future__ import annotations

import io
import random
import subprocess
import sys
import zlib
from functools import cache
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from bridge.errors import InputError
from bridge.pdf_data import MAX_PDF_BYTES, bundle_in_pdf
from bridge.render.as_pdf import page_as_pdf
from bridge.render.page import Page

BUNDLE = b'{"resourceType": "Bundle",\r\n "id": "a\\u00e9", "note": "' + "ß 中".encode() + b'"}\n'
DAMAGED = "The PDF is damaged or not made as PDF is."
FLATE = pikepdf.Name.FlateDecode


def letter(attachment: bytes | None = BUNDLE) -> bytes:
    page = Page("summary", "en", "Letter", "1", [], [], "Client", [], [], [], "Letter 1")
    return page_as_pdf(page, attachment)


def saved(pdf: pikepdf.Pdf, **options: Any) -> bytes:
    stream = io.BytesIO()
    pdf.save(stream, **options)
    return stream.getvalue()


def carrying(*attached: bytes, kind: str = "application/fhir+json", name: str = "bundle{}.json") -> pikepdf.Pdf:
    pdf = pikepdf.new()
    pdf.add_blank_page()
    for number, data in enumerate(attached):
        file = name.format(number)
        pdf.attachments[file] = pikepdf.AttachedFileSpec(pdf, data, filename=file, mime_type=kind)
    return pdf


def packed(data: bytes, *filters: pikepdf.Name) -> bytes:
    """A PDF whose attachment is these bytes, said to be filtered so."""
    pdf = carrying(BUNDLE)
    stream = pikepdf.Stream(pdf, b"x")
    stream.Type, stream.Subtype = pikepdf.Name.EmbeddedFile, pikepdf.Name("/application/fhir+json")
    stream.write(data, filter=filters[0] if len(filters) == 1 else pikepdf.Array(filters))
    pdf.attachments["bundle0.json"].obj.EF = pikepdf.Dictionary(F=stream, UF=stream)
    return saved(pdf, compress_streams=False, stream_decode_level=pikepdf.StreamDecodeLevel.none)


@cache
def bomb(layers: int = 1) -> bytes:
    """A thousand million blanks, packed so often."""
    if layers > 1:
        return zlib.compress(bomb(layers - 1))
    packing = zlib.compressobj(1)
    return b"".join(packing.compress(b" " * 1_000_000) for _ in range(1_000)) + packing.flush()


def reason(content: bytes) -> str:
    with pytest.raises(InputError) as refused:
        bundle_in_pdf(content)
    return refused.value.message


def test_a_letter_gives_its_bundle_byte_for_byte() -> None:
    assert bundle_in_pdf(letter()) == BUNDLE


@pytest.mark.parametrize(
    "options",
    [
        {"linearize": True},
        {"object_stream_mode": pikepdf.ObjectStreamMode.disable},
        {"qdf": True},
        {"encryption": pikepdf.Encryption(user="", owner="secret")},
    ],
    ids=["linearized", "without object streams", "as text", "owner password"],
)
def test_a_letter_saved_anew_by_others_keeps_it(options: dict[str, Any]) -> None:
    with pikepdf.open(io.BytesIO(letter())) as pdf:
        assert bundle_in_pdf(saved(pdf, **options)) == BUNDLE


def test_one_bundle_among_other_files_is_found() -> None:
    pdf = carrying(BUNDLE)
    pdf.attachments["photo.jpg"] = pikepdf.AttachedFileSpec(pdf, b"no", mime_type="image/jpeg")
    pdf.attachments["other.json"] = pikepdf.AttachedFileSpec(pdf, b"{}", mime_type="application/json")
    assert bundle_in_pdf(saved(pdf)) == BUNDLE
    assert bundle_in_pdf(saved(carrying(BUNDLE, kind="application/octet-stream"))) == BUNDLE


def test_the_same_bundle_twice_is_one_and_two_are_refused() -> None:
    assert bundle_in_pdf(saved(carrying(BUNDLE, BUNDLE))) == BUNDLE
    more = "This PDF carries more than one FHIR bundle."
    assert reason(saved(carrying(BUNDLE, BUNDLE + b" "))) == more
    assert reason(saved(carrying(BUNDLE, BUNDLE, BUNDLE, BUNDLE + b" "))) == more


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "This is no PDF."),
        (b"{}", "This is no PDF."),
        (b"%PDF-1.7\n" + b"a" * 100_000, DAMAGED),
        (letter()[:5_000], DAMAGED),
        (letter(None), "This PDF carries no data of a letter."),
        (saved(carrying(b"x", name="a.txt", kind="text/plain")), "What is attached to this PDF is no FHIR bundle."),
        (saved(carrying(b"hello")), "The data attached to the PDF are not readable JSON."),
        (saved(carrying(b"[" * 200_000)), "The data attached to the PDF are not readable JSON."),
        (saved(carrying(b"[1]")), "The data attached to the PDF are no FHIR resource."),
        (saved(carrying(BUNDLE), encryption=pikepdf.Encryption(user="a", owner="b")),
         "The PDF is protected by a password."),
        (packed(zlib.compress(BUNDLE)[:-3], FLATE), DAMAGED),
        (packed(zlib.compress(BUNDLE)[:-1] + b"!", FLATE), DAMAGED),
        (packed(b"xyz", pikepdf.Name.DCTDecode), DAMAGED),
    ],
    ids=range(13),
)  # fmt: skip
def test_what_gives_no_bundle_is_refused_in_words(content: bytes, said: str) -> None:
    assert reason(content) == said


def test_a_file_too_large_is_not_looked_at() -> None:
    assert reason(b"%PDF-" + b"0" * MAX_PDF_BYTES) == "The PDF is larger than 60 MB; no letter is."


def test_loops_among_the_names_end() -> None:
    pdf = carrying(BUNDLE)
    loop = pdf.make_indirect(pikepdf.Dictionary())
    loop.Kids = pikepdf.Array([loop, loop])
    pdf.Root.Names.EmbeddedFiles = loop
    del pdf.Root.AF
    assert reason(saved(pdf)) == "This PDF carries no data of a letter."


def test_bytes_that_were_changed_are_never_taken_for_the_bundle() -> None:
    whole = saved(carrying(BUNDLE * 1 + b" " * 3_000))
    expected = bundle_in_pdf(whole)
    chance = random.Random(7)
    told = 0
    for _ in range(400):
        content = bytearray(whole)
        for _ in range(chance.choice([1, 3, 30])):
            content[chance.randrange(len(content))] = chance.randrange(256)
        try:
            assert bundle_in_pdf(bytes(content)) == expected
        except InputError:
            told += 1
    assert told > 50


LIMITED = """
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, (900_000_000, 900_000_000))
resource.setrlimit(resource.RLIMIT_CPU, (20, 20))
from pathlib import Path
from bridge.errors import InputError
from bridge.pdf_data import bundle_in_pdf
for file in sys.argv[1:]:
    try:
        bundle_in_pdf(Path(file).read_bytes())
        print("read")
    except InputError as error:
        print(error.message)
"""


def in_object_stream(filter: bytes, data: bytes) -> bytes:
    """A PDF whose catalogue's parts stand in a packed object stream, which a reader unpacks before anything else."""
    content = b"%PDF-1.5\n"
    first = len(content)
    content += b"1 0 obj\n<</Type/Catalog/Pages 5 0 R/Names 6 0 R>>\nendobj\n"
    second = len(content)
    content += b"2 0 obj\n<</Type/ObjStm/N 1/First 6/Filter/%b/Length %d>>stream\n" % (filter, len(data))
    content += data + b"\nendstream\nendobj\n"
    start = len(content)
    rows = [(0, 0, 65535), (1, first, 0), (1, second, 0), (1, start, 0), (0, 0, 0), (2, 2, 0), (2, 2, 0)]
    table = b"".join(bytes([a]) + b.to_bytes(4, "big") + c.to_bytes(2, "big") for a, b, c in rows)
    content += b"3 0 obj\n<</Type/XRef/W[1 4 2]/Size 7/Root 1 0 R/Length %d>>stream\n" % len(table)
    return content + table + b"\nendstream\nendobj\nstartxref\n%d\n%%%%EOF\n" % start


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="memory is limited so on Linux alone")
def test_bombs_go_off_within_900_megabytes_and_20_seconds(tmp_path: Path) -> None:
    too_large = "The data in the PDF are larger than 50 MB."
    cases = [
        (packed(bomb(), FLATE), too_large),
        (packed(bomb(2), FLATE, FLATE), DAMAGED),
        (packed(bomb(3), FLATE, FLATE, FLATE), DAMAGED),
        (in_object_stream(b"FlateDecode", bomb()), DAMAGED),
        (b"%PDF-1.4\n1 0 obj\n" + b"[" * 2_000_000 + b"\nendobj\ntrailer<</Root 1 0 R>>\nstartxref\n9\n%%EOF", DAMAGED),
    ]
    files = [tmp_path / f"{number}.pdf" for number in range(len(cases))]
    for file, (content, _) in zip(files, cases, strict=True):
        file.write_bytes(content)
    done = subprocess.run(
        [sys.executable, "-c", LIMITED, *map(str, files)],
        cwd=Path(__file__).parents[1], capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.splitlines() == [said for _, said in cases]
