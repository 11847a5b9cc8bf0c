"""The letter as PDF, looked into with pikepdf: what it carries, what it says of itself, what every page shows."""

from __future__ import annotations

import io
import json
import random
import re
import unicodedata
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any, ClassVar

import pikepdf
import pytest

from bridge.data import load_csv, table_path
from bridge.errors import BridgeError
from bridge.pdf_data import bundle_in_pdf
from bridge.render import as_pdf
from bridge.render.as_pdf import page_as_pdf, render
from bridge.render.page import (
    Block,
    Cell,
    Ears,
    Frame,
    Grid,
    Line,
    Lines,
    Page,
    Pairs,
    Part,
    Passage,
    Picture,
    Pictures,
    Row,
    Section,
    Step,
    Steps,
    Text,
)  # fmt: skip
from bridge.render.pdf import compiler
from bridge.render.pdf.characters import MISSING, Printable
from bridge.render.pdf.compiler import compiled
from bridge.render.pdf.passages import tree
from bridge.render.xhtml import safe_html
from tests.render.printed_characters import may_be_printed, prints
from tests.standards import ROOT

DEMO = ROOT / "demo_bundles"
SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 20"><circle cx="9" cy="9" r="5"/></svg>'


def page(*blocks: Block, **more: Any) -> Page:
    made = Page("summary", "en-GB", "Letter", "M1", [], [Part("From", ["The clinic"])], "Client", [("Name", "A B")],
                [Section("one", "One", list(blocks))], ["The end."], "A B · M1")  # fmt: skip
    for name, value in more.items():
        setattr(made, name, value)
    return made


def opened(content: bytes) -> pikepdf.Pdf:
    return pikepdf.open(io.BytesIO(content))


def demo(name: str) -> tuple[dict[str, Any], bytes]:
    content = (DEMO / name).read_bytes()
    return json.loads(content), content


def fonts(pdf: pikepdf.Pdf) -> set[str]:
    found = {str(o.BaseFont) for o in pdf.objects if isinstance(o, pikepdf.Dictionary) and "/BaseFont" in o}
    return {re.sub(r"^/[A-Z]{6}\+|-Identity-H$", "", name) for name in found}


def test_a_letter_carries_the_exported_bundle_and_says_what_it_is() -> None:
    bundle, content = demo("M26-0101.bundle.json")
    made = render(bundle, content)
    assert (made.name, made.media_type) == ("M26-0101.pdf", "application/pdf")
    assert bundle_in_pdf(made.content) == content
    with opened(made.content) as pdf:
        (specification,) = pdf.Root.AF
        assert specification.AFRelationship == pikepdf.Name.Source
        assert str(specification.UF) == "bundle.json"
        assert "FHIR" in str(specification.Desc)
        assert specification.EF.F.Subtype == pikepdf.Name("/application/fhir+json")


def test_the_variant_for_gateways_carries_nothing() -> None:
    bundle, _ = demo("M26-0101.bundle.json")
    with opened(render(bundle, None).content) as pdf:
        assert "/AF" not in pdf.Root
        assert not pdf.attachments


def test_it_claims_archive_and_accessibility_and_names_language_title_and_clinic() -> None:
    bundle, content = demo("M26-0101.bundle.json")
    with opened(render(bundle, content).content) as pdf, pdf.open_metadata() as told:
        assert (told["pdfaid:part"], told["pdfaid:conformance"], told["pdfuaid:part"]) == ("3", "A", "1")
        assert str(pdf.Root.Lang).startswith("en")
        assert pdf.Root.MarkInfo.Marked
        assert pdf.Root.ViewerPreferences.DisplayDocTitle
        assert told["dc:title"] == "Ear care outpatient letter"
        assert told["dc:creator"] == ["Millbrook Ear Care"]


def test_its_time_is_the_bundles_and_the_same_bundle_gives_the_same_bytes() -> None:
    bundle, content = demo("M26-0101.bundle.json")
    first = render(bundle, content).content
    assert render(json.loads(content), content).content == first
    said = datetime.fromisoformat(bundle["timestamp"])
    with opened(first) as pdf:
        told = re.fullmatch(r"D:(\d{14})([+-]\d\d|Z)'?(\d\d)?.*", str(pdf.docinfo.CreationDate))
        assert told is not None
        offset = "+0000" if told[2] == "Z" else f"{told[2]}{told[3]}"
        assert datetime.strptime(told[1] + offset, "%Y%m%d%H%M%S%z") == said


@pytest.mark.parametrize("said", [None, "", "yesterday", "2026", "0001-01-01T00:00:00Z", "9999-12-31T23:59:59-14:00"])
def test_a_bundle_without_a_time_that_can_be_read_has_no_clock_either(said: str | None) -> None:
    bundle, content = demo("M26-0101.bundle.json")
    bundle["timestamp"] = bundle["entry"][0]["resource"]["date"] = said
    with opened(render(bundle, content).content) as pdf:
        assert str(pdf.docinfo.CreationDate).startswith("D:19700101000000")


def test_the_date_of_the_composition_stands_in_for_the_bundles() -> None:
    bundle, content = demo("M26-0101.bundle.json")
    del bundle["timestamp"]
    bundle["entry"][0]["resource"]["date"] = "2026-03-04"
    with opened(render(bundle, content).content) as pdf:
        assert str(pdf.docinfo.CreationDate).startswith("D:20260304")


def test_only_fonts_that_come_with_packages_are_used_and_all_are_embedded() -> None:
    with opened(page_as_pdf(page(Text("Łódź Ω Ж א ب ☐")), None)) as pdf:
        assert fonts(pdf)
        for name in fonts(pdf):
            assert name.startswith(("AtkinsonHyperlegible", "LibertinusSerif", "DejaVuSansMono", "NewCM")), name
        described = [
            o for o in pdf.objects if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/FontDescriptor"
        ]
        assert described
        assert all({"/FontFile2", "/FontFile3"} & set(o.keys()) for o in described)


@pytest.mark.parametrize(("paper", "size"), [("A4", (595, 842)), ("Letter", (612, 792))])
def test_both_papers(paper: Any, size: tuple[int, int]) -> None:
    with opened(page_as_pdf(page(), None, paper=paper)) as pdf:
        assert tuple(round(float(x)) for x in pdf.pages[0].mediabox[2:]) == size


def test_large_type_is_one_and_a_half_times_as_large() -> None:
    sizes = []
    for large in (False, True):
        with opened(page_as_pdf(page(Text("words"), large=large), None)) as pdf:
            shown = b"".join(bytes(c.read_bytes()) for c in _contents(pdf.pages[0]))
            sizes.append(max(float(s) for s in re.findall(rb"/f\d+ ([\d.]+) Tf", shown)))
    assert sizes[1] == pytest.approx(1.5 * sizes[0], rel=0.01)


def _contents(sheet: Any) -> list[Any]:
    found = sheet.Contents
    return list(found) if isinstance(found, pikepdf.Array) else [found]


def test_what_cannot_be_printed_is_boxed_and_said() -> None:
    counted = Printable()
    assert counted.fit("Zoë \u4e2d\u6587 Łukasz\u202e\u200f\ufeff") == f"Zoë {MISSING}{MISSING} Łukasz"
    assert counted.missing == 2
    assert counted.fit("a\tb\r\nc\u2028d\x07") == f"a b\nc\nd{MISSING}"
    data: list[dict[str, Any]] = []

    def caught(inputs: dict[str, str], made: Any) -> bytes:
        data.append(json.loads(inputs["letter"]))
        return b""

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(as_pdf, "compiled", caught)
        page_as_pdf(page(Text("\u4e2d")), None)
        page_as_pdf(page(Text("\u4e2d\u6587")), b"{}")
        page_as_pdf(page(Text("none")), b"{}")
    assert [d["missing"] for d in data] == [
        f"1 character could not be printed and stands as {MISSING}. Ask the clinic how it is written.",
        f"2 characters could not be printed and stand as {MISSING}. "
        "The data attached to this file have them as they were written.",
        "",
    ]


def test_the_table_of_characters_is_what_the_compiler_prints() -> None:
    spans = [(int(row["first"], 16), int(row["last"], 16))
             for row in load_csv(table_path("documents", "printed-characters.csv"))]  # fmt: skip
    ends = [chr(point) for span in spans for point in span]
    assert [end for end in ends if not prints(("o" if unicodedata.combining(end) else "") + end)] == []
    chance = random.Random(3)
    inside = {point for first, last in spans for point in range(first, last + 1)}
    outside = [p for p in chance.sample(range(0x100, 0x20000), 1_500) if p not in inside and may_be_printed(p)][:60]
    assert [p for p in outside if prints(chr(p))] == []


def test_characters_that_fail_only_together_still_give_a_letter() -> None:
    """A mark on a letter of another font is refused by the compiler, though either prints alone."""
    words = "\u2be6\u0360\U0001d7ac\u06f5"
    assert Printable().fit(words) == words
    assert not prints(words)
    assert page_as_pdf(page(Text(words)), None)


def test_a_failure_says_nothing_of_the_words() -> None:
    with pytest.raises(BridgeError) as failed:
        compiled({"words": "Secret Name"}, None, b"#panic(sys.inputs.words)")
    assert "Secret" not in str(failed.value)
    assert failed.value.__cause__ is None


def test_a_fault_inside_the_compiler_is_answered_with_the_surest_characters(monkeypatch: pytest.MonkeyPatch) -> None:
    """Some characters that no font has make it give up altogether, with an exception that is no Exception."""

    class PanicException(BaseException):
        pass

    class Compiler:
        letters: ClassVar[list[str]] = []

        def compile(self, *_: Any, sys_inputs: dict[str, str], **__: Any) -> bytes:
            self.letters.append(sys_inputs["letter"])
            if "\u0416" in self.letters[-1]:
                raise PanicException("Secret Name")
            return b"%PDF"

    monkeypatch.setattr(compiler, "_compiler", Compiler)
    assert page_as_pdf(page(Text("\u0416 and \u00e9")), None) == b"%PDF"
    assert f"{MISSING} and \u00e9" in Compiler.letters[1]


HOSTILE = [
    "#panic()", "$x^2$", "@ref <label>", "\\", "\\u{41}", '"', "`raw`", "```", "*b* _i_", "= head", "- item", "+ item",
    "/ term: x", "//", "/* */", "#sys.inputs", '#read("/etc/passwd")', '#import "@preview/x:1.0.0"', "[x]", "{x}", "~",
    "---", "...", "'\"", "<br>", "&amp;", "]]>", "\x00", "\x1b[31m", "\ud800", "\U0010ffff", "a" * 400, "1.", "%s",
    "{0}",
]  # fmt: skip


def everything(words: Iterator[str], sections: int) -> Page:
    """A page of all kinds of blocks whose words come from the iterator."""
    w = words.__next__
    lines = [
        Lines([Line(w(), w()), Line("", w())], w()),
        Lines([Line(w(), w())]),
        Lines([Line("", w()), Line(w(), "")]),
    ]
    blocks: list[Block] = [
        Text(w(), "strong"), Text(w(), "quiet"), Text(w(), "caution"), *lines, Pairs([(w(), w()), (w(), w())]),
        Steps([Step(w(), [w(), w()]), Step(w())]),
        Ears((w(), w()), [Row("a", w(), [Cell("right", [Text(w()), *lines]), Cell("left", [])])]),
        Pictures([Picture(SVG, w() or "x", w(), [w(), w()])] * 3, w()),
        Grid([w(), w(), w()], [[w(), w(), w()]] * 2, w()),
        Passage(safe_html(f"<div><p>{w()}</p><table><tr><td>x</td></tr></table></div>"), w()),
    ]  # fmt: skip
    frames: list[Frame] = ["", "box", "alert"]
    made = [Section(f"s{n}", w(), blocks, n % 7 + 1, frames[n % 3]) for n in range(sections)]
    return Page(w(), w(), w(), w(), [w(), w()], [Part(w(), [w(), w()], [(w(), w())])], w(), [(w(), w())] * 3, made,
                [w(), w()], w(), introduction=w())  # fmt: skip


@pytest.mark.parametrize("seed", range(6))
def test_no_words_break_a_letter(seed: int) -> None:
    chance = random.Random(seed)

    def words() -> Iterator[str]:
        while True:
            yield " ".join(chance.choice(HOSTILE) for _ in range(chance.randint(0, 3)))

    content = page_as_pdf(everything(words(), 4), b"{}", draft=True)
    with opened(content) as pdf:
        assert len(pdf.pages) >= 1


@pytest.mark.parametrize(
    "html",
    [
        "<table></table>",
        "<table><tr></tr></table>",
        "<table><tr><td rowspan='9' colspan='9'>a</td></tr></table>",
        "<table><tr><th rowspan='2'>a</th><th>b</th></tr><tr><td>c</td></tr></table>",
        "<table><tr><td colspan='3'>a</td></tr><tr><td rowspan='2'>b</td><td>c</td></tr><tr><td colspan='2'>d</td></tr>"
        "</table>",
        "<table><tr>" + "<td>x</td>" * 40 + "</tr></table>",
        "<ul></ul>",
        "<ul>x<li><ul><li>y</li></ul></li></ul>",
        "<dl><dd>a</dd></dl>",
        "<div>" * 60 + "deep" + "</div>" * 60,
        "<b>" * 200 + "deep" + "</b>" * 200,
        "<p><p>a</p></p>",
        "<hr/><br/><pre>a\n  b</pre>",
        "<table><caption>c</caption><tr><td><table><tr><td><ul><li>in</li></ul></td></tr></table></td></tr></table>",
        "<sub>a</sub><sup>b</sup><q>c</q>",
        "",
    ],
    ids=range(16),
)
def test_odd_passages_are_set(html: str) -> None:
    assert page_as_pdf(page(Passage(safe_html(f"<div>{html}</div>"), "x-odd!")), None)


def test_cells_of_others_keep_their_place_under_their_heading() -> None:
    html = (
        "<table><tr><th rowspan='2'>a</th><th>b</th><th>c</th></tr><tr><td>1</td><td rowspan='2'>2</td></tr>"
        "<tr><td>3</td><td>4</td></tr></table>"
    )
    (found,) = [n for n in tree(html, str) if isinstance(n, dict)]
    cells = {
        "".join(map(str, c["parts"])): (c["x"], c["y"], c["across"], c["down"]) for c in [*found["top"], *found["rows"]]
    }
    assert cells == {"a": (0, 0, 1, 2), "b": (1, 0, 1, 1), "c": (2, 0, 1, 1), "1": (1, 1, 1, 1), "2": (2, 1, 1, 2),
                     "3": (0, 2, 1, 1), "4": (1, 2, 1, 1)}  # fmt: skip
    assert found["top"] == []


def test_a_page_without_head_or_sections_is_set() -> None:
    assert page_as_pdf(page(head=[], client=[], sections=[], closing=[]), None, made=datetime(2026, 1, 2, tzinfo=UTC))
