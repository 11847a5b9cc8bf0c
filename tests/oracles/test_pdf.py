"""Letters as PDF before judges that are not ours: veraPDF (Maven Central), qpdf and poppler's tools (Debian).

`tests/oracles/maven/install` fetches veraPDF, version 1.26.2; Java is needed. Each judge is first asked about a file
with a known fault.
"""

from __future__ import annotations

import json
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from bridge.render.as_pdf import page_as_pdf, render
from bridge.render.letter import page_of
from bridge.render.page import Grid, Line, Lines, Page, Section, Text
from tests.oracles.test_outside import unable
from tests.render.printed import close, expected, read_aloud, run, tool
from tests.render.test_as_pdf import HOSTILE, everything, page
from tests.standards import ROOT

MAVEN = Path(__file__).parent / "maven"
DEMO = sorted(p for p in (ROOT / "demo_bundles").rglob("*.bundle.json") if "transactions" not in p.parts)
FOREIGN = ROOT / "tests/cases"
PLAIN_WORDS = "The quick brown fox"


def verdicts(files: list[Path]) -> list[str]:
    """What veraPDF says against the files: file, flavour and broken clauses."""
    if not (MAVEN / "lib").is_dir():
        unable("veraPDF is not installed; run tests/oracles/maven/install")
    line = [tool("java"), "-cp", f"{MAVEN}/lib/*", str(MAVEN / "Check.java"), "3a,ua1", *map(str, files)]
    done = subprocess.run(line, capture_output=True, text=True, check=True)
    rows = [row.split("\t") for row in done.stdout.splitlines()]
    assert len(rows) == 2 * len(files)
    return [f"{Path(row[0]).name} {row[1]}: {row[3]}" for row in rows if row[2] != "true"]


def bundle_of(path: Path) -> tuple[dict[str, Any], bytes]:
    content = path.read_bytes()
    return json.loads(content), content


def foreign() -> dict[str, Any]:
    """A document of somebody else, with narratives of all kinds."""
    table = (
        "<table><caption>C</caption><thead><tr><th>A</th><th>B</th></tr></thead>"
        "<tbody><tr><th>1</th><td>2</td></tr></tbody></table>"
    )
    texts = [
        f"<p>Text <b>bold</b><br/>next</p><ul><li>a</li><li>b<ol><li>c</li></ol></li></ul>{table}",
        "<pre>x\n y</pre><hr/>",
    ]
    sections = [{"title": f"Heading {n}", "text": {"status": "additional", "div": f'<div xmlns="http://www.w3.org/1999/xhtml">{t}</div>'}}
                for n, t in enumerate(texts)]  # fmt: skip
    composition = {"resourceType": "Composition", "status": "final", "title": "A letter of others", "language": "de-DE",
                   "date": "2026-01-02", "section": sections}  # fmt: skip
    return {
        "resourceType": "Bundle",
        "type": "document",
        "timestamp": "2026-01-02T03:04:05Z",
        "entry": [{"resource": composition}],
    }


@pytest.fixture(scope="module")
def letters(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Every demo letter, and every way to make one, some of each."""
    folder = tmp_path_factory.mktemp("letters")
    made: list[Path] = []

    def keep(name: str, content: bytes) -> None:
        made.append(folder / f"{name}.pdf")
        made[-1].write_bytes(content)

    for path in DEMO:
        bundle, content = bundle_of(path)
        keep(path.name, render(bundle, content).content)
    for path in DEMO[::6]:
        bundle, content = bundle_of(path)
        keep(f"{path.name} US", render(bundle, content, paper="Letter").content)
        keep(f"{path.name} bare", render(bundle, None).content)
        keep(f"{path.name} large", render(bundle, content, large=True).content)
        if ".ips." not in path.name:  # of one visit only
            keep(f"{path.name} client", render(bundle, content, reader="client").content)
            own = render(bundle, content, reader="client", large=True, paper="Letter")
            keep(f"{path.name} client large", own.content)
        draft = json.loads(content)
        draft["entry"][0]["resource"]["status"] = "preliminary"
        keep(f"{path.name} draft", render(draft, content).content)
    keep("foreign", render(foreign(), json.dumps(foreign()).encode()).content)
    keep("odd", page_as_pdf(everything(iter(HOSTILE * 40), 5), b"{}", draft=True))
    keep("characters", page_as_pdf(page(Text("Łukasz Ωμέγα Жанна שלום سلام \u4e2d ☐ ✓ → ♀")), b"{}"))
    return made


def test_the_judge_of_archives_sees_a_fault(tmp_path: Path) -> None:
    pdf = pikepdf.new()
    pdf.add_blank_page()
    pdf.save(tmp_path / "bad.pdf")
    (tmp_path / "none.pdf").write_bytes(b"%PDF-1.7")
    found = verdicts([tmp_path / "bad.pdf", tmp_path / "none.pdf"])
    assert [re.sub(r": .*", "", line) for line in found] == ["bad.pdf 3a", "bad.pdf ua1", "none.pdf 3a", "none.pdf ua1"]


def test_letters_are_pdf_a_3a_and_pdf_ua_1(letters: list[Path]) -> None:
    assert verdicts(letters) == []


def test_the_attachment_is_the_exported_bundle_for_other_tools_too(tmp_path: Path) -> None:
    for path in DEMO[::8]:
        bundle, content = bundle_of(path)
        file = tmp_path / "letter.pdf"
        file.write_bytes(render(bundle, content).content)
        run("pdfdetach", "-save", "1", "-o", tmp_path / "out.json", file)
        assert (tmp_path / "out.json").read_bytes() == content
        (key,) = re.findall(r"^(\S+) ->", run("qpdf", "--list-attachments", file), re.MULTILINE)
        done = subprocess.run([tool("qpdf"), f"--show-attachment={key}", str(file)], capture_output=True, check=True)
        assert done.stdout == content


def test_qpdf_finds_nothing_wrong(letters: list[Path]) -> None:
    for file in letters[::4]:
        assert "No syntax or stream encoding errors found" in run("qpdf", "--check", file)


@pytest.mark.parametrize("path", DEMO, ids=lambda p: p.name.removesuffix(".bundle.json"))
def test_a_letter_is_read_aloud_in_the_order_of_its_page(path: Path, tmp_path: Path) -> None:
    bundle, _ = bundle_of(path)
    made = page_of(bundle)
    file = tmp_path / "letter.pdf"
    file.write_bytes(page_as_pdf(made, None))
    assert read_aloud(file) == expected(made)


def test_the_judge_of_order_sees_a_change(tmp_path: Path) -> None:
    two = page(Text("first"), Text("second"))
    file = tmp_path / "letter.pdf"
    file.write_bytes(page_as_pdf(two, None))
    assert read_aloud(file) == expected(two)
    assert read_aloud(file) != expected(page(Text("second"), Text("first")))


def test_words_of_a_hostile_record_come_out_as_themselves(tmp_path: Path) -> None:
    plain = [words for words in HOSTILE if words.isprintable() and words.isascii()]
    made = page(*(Text(f"{words} {words}") for words in plain))
    file = tmp_path / "letter.pdf"
    file.write_bytes(page_as_pdf(made, None))
    assert read_aloud(file) == expected(made)


def boxes(file: Path) -> Iterator[tuple[int, float, float, float, float, str]]:
    """Every word with its sheet and its place."""
    sheets = run("pdftotext", "-bbox", file, "-").split("<page ")[1:]
    for number, sheet in enumerate(sheets):
        for found in re.finditer(
            r'xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">(.*?)</word>', sheet
        ):
            yield number, *map(float, found.groups()[:4]), found[5]  # type: ignore[misc]


LONG = [
    "x" * 400,
    "Donaudampfschifffahrtsgesellschaft" * 6,
    "a-b." * 100,
    "https://example.org/" + "p/q?r=" * 60,
    "W" * 400,
]


@pytest.mark.parametrize("large", [False, True])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_nothing_leaves_the_sheet_however_long_a_word_is(paper: Any, large: bool, tmp_path: Path) -> None:
    made = everything(iter(LONG * 80), 3)
    made.large = large
    file = tmp_path / "letter.pdf"
    file.write_bytes(page_as_pdf(made, None, paper=paper))
    width, height = (595, 842) if paper == "A4" else (612, 792)
    found = list(boxes(file))
    assert len(found) > 500
    outside = [f for f in found if f[1] < 40 or f[3] > width - 38 or f[2] < 20 or f[4] > height - 12]
    assert [(f[0], *map(round, f[1:5]), f[5][:20]) for f in outside] == []


def test_every_page_tells_marks_letter_and_number_of_pages(tmp_path: Path) -> None:
    made: Page = page(*(Text(PLAIN_WORDS) for _ in range(300)), marks=["Corrected: a mark", "Draft: another mark"])
    made.sections = [Section(f"s{n}", f"Part {n}", made.sections[0].blocks[n * 30 : n * 30 + 30]) for n in range(10)]
    file = tmp_path / "letter.pdf"
    file.write_bytes(page_as_pdf(made, None, draft=True))
    sheets = run("pdftotext", "-layout", file, "-").split("\f")[:-1]
    assert len(sheets) > 2
    for number, sheet in enumerate(sheets, 1):
        for words in ("Corrected: a mark", "Draft: another mark", made.running, f"Page {number} of {len(sheets)}"):
            assert sheet.count(words) == 1, (number, words)
        upright = run("pdftotext", "-raw", "-f", str(number), "-l", str(number), file, "-")
        assert close(upright).count("DRAFT") == 8
    assert close("".join(sheets)).count(close(PLAIN_WORDS)) == 300


def test_no_heading_stands_alone_at_the_foot_of_a_page(tmp_path: Path) -> None:
    """Whatever stands beside or under a heading begins on its page: words, several lines of them, frames, tables."""
    two, many = "Under the heading. " + "More words of it. " * 5, "More words of it. " * 24
    under: list[tuple[str, Section]] = [
        ("Under the heading.", Section("two", "A heading", [Text(two)])),
        ("Under the frame.", Section("three", "Another heading", [Text("Under the frame.")], frame="box")),
        (
            "Under the title.",
            Section("four", "Third heading", [Lines([Line("", "Under the title."), Line("", many)], "Ear")]),
        ),
        ("Fact", Section("five", "Fourth heading", [Grid(["Fact", "Code"], [["Wax", "1"]] * 6)])),
    ]
    for words, section in under:
        pages = set()
        for blank in range(54, 78):
            made = page(*(Text(PLAIN_WORDS) for _ in range(blank)))
            made.sections.append(section)
            file = tmp_path / "letter.pdf"
            file.write_bytes(page_as_pdf(made, None))
            sheets = run("pdftotext", "-layout", file, "-").split("\f")
            (number,) = [n for n, sheet in enumerate(sheets) if section.title in sheet]
            assert words in sheets[number], blank
            pages.add(number)
        assert pages == {0, 1}
