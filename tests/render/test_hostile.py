"""Text that would break out of a page stays text, and what others wrote is made harmless without being lost."""

from __future__ import annotations

import json
import random
from typing import Any

import pytest
from lxml import html

from bridge.errors import InputError
from bridge.render.as_html import render
from bridge.render.xhtml import safe_html
from bridge.shapes import Json
from tests.referrals import raw as referral
from tests.render.pages import bundle_of
from tests.render.raw_visits import Maker
from tests.standards import standards_folder

XHTML = "http://www.w3.org/1999/xhtml"
NASTY = (
    "<script>alert(1)</script>",
    "\"><img src=x onerror='alert(1)'>",
    "</style><script>alert(1)</script>",
    "</title><svg onload=alert(1)>",
    "javascript:alert(1)",
    "{{ 7*7 }}{% raw %}",
    "<!-- ",
    "]]></p><iframe src=//example.org>",
    "&lt;b&gt; & < >",
)
ALLOWED = {
    "html", "head", "meta", "title", "style", "body", "a", "header", "main", "footer", "section", "div", "dl", "dt",
    "dd", "p", "span", "b", "h1", "h2", "h3", "h4", "h5", "h6", "ul", "ol", "li", "table", "caption", "thead", "tbody",
    "tfoot", "tr", "th", "td", "br", "hr", "i", "em", "strong", "u", "small", "sub", "sup", "pre", "code", "blockquote",
    "abbr", "q", "cite", "figure", "figcaption",
}  # fmt: skip
DRAWN = {"svg", "g", "path", "circle", "rect", "text"}


def everywhere(raw: Any, text: str) -> Any:
    """The record with the text in place of every word of its own."""
    if isinstance(raw, dict):
        return {k: everywhere(v, text) for k, v in raw.items()}
    if isinstance(raw, list):
        return [everywhere(v, text) for v in raw]
    return text if isinstance(raw, str) and raw.startswith("Q") else raw


def harmless(page: bytes) -> Any:
    root = html.document_fromstring(page.decode())
    drawn = {n for figure in root.iter("figure") for n in figure.iter() if n.tag in DRAWN}
    assert {n.tag for n in root.iter() if isinstance(n.tag, str) and n not in drawn} <= ALLOWED
    assert not any(name.startswith("on") or name in ("src", "style") for n in root.iter() for name in n.attrib)
    assert {n.get("href") for n in root.xpath("//*[@href]")} <= {"#content"}
    return root


@pytest.mark.parametrize("text", NASTY)
def test_words_of_a_record_stay_words(text: str) -> None:
    raw = everywhere(Maker(4).visit(), text)
    raw["clinic"] = {"name": text, "phone": text}
    raw["family_doctor"] = {"practice": text}
    root = harmless(render(bundle_of(raw)).content)
    shown = root.xpath("//section[@aria-labelledby='head-1']/p")[0].text_content()
    assert shown == text.strip()


def test_lines_of_a_record_stay_lines_in_the_markup_of_pages() -> None:
    """As html-validate wants it (void-style); `<br/>` that somebody wrote is words."""
    page = render(bundle_of(everywhere(Maker(4).visit(), "one\ntwo <br/>"))).content.decode()
    assert "<br/>" not in page
    assert "one<br>two &lt;br/&gt;" in page


@pytest.mark.parametrize("text", NASTY)
def test_words_of_a_foreign_bundle_stay_words(text: str) -> None:
    bundle = bundle_of(Maker(4).visit())
    harmless(render(_replaced(bundle, text)).content)


def _replaced(node: Any, text: str) -> Any:
    """The bundle with the text in place of every string but the types, references and URLs that hold it together."""
    if isinstance(node, dict):
        kept = ("resourceType", "fullUrl", "reference", "url", "system", "code", "id")
        return {k: v if k in kept else _replaced(v, text) for k, v in node.items()}
    if isinstance(node, list):
        return [_replaced(v, text) for v in node]
    return text if isinstance(node, str) else node


def foreign(div: str, **composition: Any) -> Json:
    section = {"title": "Plan", "text": {"status": "generated", "div": div}}
    resource = {"resourceType": "Composition", "title": "Letter", "section": [section], **composition}
    return {"resourceType": "Bundle", "type": "document", "entry": [{"fullUrl": "urn:x", "resource": resource}]}


@pytest.mark.parametrize(
    ("inner", "wanted"),
    [
        ("<p>Dry <b>ears</b></p>", "<div><p>Dry <b>ears</b></p></div>"),
        ("<script>alert(1)</script>x", "<div>x</div>"),
        ('<a href="javascript:alert(1)">here</a>', "<div>here</div>"),
        ('<p onclick="x()" style="color:red" class="c" id="i">a</p>', "<div><p>a</p></div>"),
        ('<img src="http://example.org/x.png" alt="a drum"/>', "<div>[picture: a drum]</div>"),
        ("<h1>Plan</h1>", "<div><p><b>Plan</b></p></div>"),
        ("a&nbsp;b &lt;i&gt;", "<div>a\u00a0b &lt;i&gt;</div>"),
        ("<x-y>kept</x-y>", "<div>kept</div>"),
        ("<table><tr><th>A</th></tr><tr><th>b</th><td colspan='2' rowspan='0'>c</td></tr></table>",
         '<div><table><tr><th scope="col">A</th></tr><tr><th scope="row">b</th><td colspan="2">c</td></tr>'
         "</table></div>"),
        ("<!-- hidden --><?php x ?>a", "<div>a</div>"),
    ],
)  # fmt: skip
def test_narratives_keep_their_words_and_lose_the_rest(inner: str, wanted: str) -> None:
    assert safe_html(f'<div xmlns="{XHTML}">{inner}</div>') == wanted


@pytest.mark.parametrize(
    "div",
    [
        "<div>not closed",
        "no markup < at all",
        '<!DOCTYPE d [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><div>&b;</div>',
        '<!DOCTYPE d SYSTEM "file:///etc/passwd"><div/>',
        "<div>" * 400 + "</div>" * 400,
        "",
        "\ud800",
    ],
)
def test_what_is_no_xhtml_is_shown_as_plain_text(div: str) -> None:
    root = harmless(render(foreign(div)).content)
    if "<div>not" in div:
        assert "<div>not closed" in root.find(".//pre").text


def test_a_foreign_document_is_told_by_its_narratives() -> None:
    inner = {"title": "Detail", "text": {"status": "generated", "div": f'<div xmlns="{XHTML}">deep</div>'}}
    bundle = foreign(f'<div xmlns="{XHTML}"><p>See the ear doctor.</p></div>', language="fr")
    bundle["entry"][0]["resource"]["section"][0]["section"] = [inner]
    root = harmless(render(bundle).content)
    assert [h.text_content() for h in root.xpath("//main//h2 | //main//h3")] == ["Plan", "Detail"]
    assert [d.get("lang") for d in root.xpath("//*[@class='received']")] == ["fr", "fr"]
    assert "Action for you" not in root.text_content()


@pytest.mark.parametrize("bundle", [{}, {"resourceType": "Patient"}, {"resourceType": 7}, []])
def test_what_is_no_bundle_is_refused_in_words(bundle: Any) -> None:
    with pytest.raises(InputError, match="not a FHIR bundle"):
        render(bundle)


def test_damaged_bundles_of_ours_still_give_a_page() -> None:
    """Values lost, doubled or of another shape anywhere: never a traceback, never a page that runs something."""
    rng = random.Random(7)
    bundles = [bundle_of(Maker(seed).visit()) for seed in range(8)]
    for turn in range(400):
        damaged = json.loads(json.dumps(bundles[turn % 8], default=str))
        for _ in range(rng.choice((1, 3, 30))):
            _damage(damaged, rng)
        if isinstance(damaged, dict) and damaged.get("resourceType") == "Bundle":
            harmless(render(damaged).content)


def _damage(node: Any, rng: random.Random) -> None:
    while isinstance(node, dict | list) and node:
        key: Any = rng.choice(list(node)) if isinstance(node, dict) else rng.randrange(len(node))
        if rng.random() < 0.15:
            node[key] = rng.choice((None, 7, True, "x", "<b>", [], {}, [None], {"coding": [{}]}, [[]], "2026-13-45"))
            return
        node = node[key]


def test_published_examples_give_pages() -> None:
    """Every bundle among the published R4 examples, whatever its type."""
    folder = standards_folder() / "fhir-r4-examples"
    files = sorted(folder.glob("Bundle-*.json")) if folder.is_dir() else []
    if not files:
        pytest.skip("the published R4 examples are not here; set VISIT_BRIDGE_STANDARDS")
    for path in files:
        bundle = json.loads(path.read_bytes())
        root = harmless(render(bundle).content)
        assert len(root.text_content()) > 200, path.name


BROKEN: tuple[Any, ...] = (
    None,
    "",
    7,
    [],
    {},
    [{}],
    [None],
    {"text": 3},
    [{"text": ["x"]}],
    "<script>x</script>",
    [["x"]],
)


@pytest.mark.parametrize("value", BROKEN, ids=repr)
def test_a_referral_that_is_broken_anywhere_still_makes_a_harmless_page(value: Any) -> None:
    whole = bundle_of(referral(), "referral")
    at = next(n for n, e in enumerate(whole["entry"]) if e["resource"].get("intent") == "order")
    for name in list(whole["entry"][at]["resource"]):
        if name != "resourceType":
            broken = json.loads(json.dumps(whole, default=str))
            broken["entry"][at]["resource"][name] = value
            harmless(render(broken).content)
