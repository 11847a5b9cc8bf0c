"""Reads the HTML of a letter into what it says where."""

from __future__ import annotations

from typing import Any

from lxml import html

from tests.letters.spoken import EARS, ROWS, Drawn, Part, Spoken


def _text(node: Any) -> str:
    """Text with a blank at every element that starts a line."""
    found: list[str] = []

    def walk(n: Any) -> None:
        if not isinstance(n.tag, str) or n.tag in ("svg", "style"):
            return
        if n.tag in ("li", "p", "dd", "dt", "td", "th", "br", "h2", "h3", "figcaption", "ul"):
            found.append(" ")
        found.append(n.text or "")
        for child in n:
            walk(child)
            found.append(child.tail or "")

    walk(node)
    return " ".join("".join(found).split())


def read_html(page: bytes) -> Spoken:
    root = html.document_fromstring(page.decode())
    body = root.find("body")
    said = Spoken(everything=_text(body))
    for section in body.iter("section"):
        heading = next((h for h in section if h.tag in ("h2", "h3", "h4")), None)
        if heading is None:
            continue
        groups = [(_text(dl[0]), " ".join(_text(n) for n in dl[1:])) for dl in section.xpath(".//dl[dt and dd]")]
        said.parts.append(Part(_text(heading), " ".join(_text(n) for n in section if n is not heading), groups))
    for row in body.xpath("//table[@class='ears']/tbody/tr"):
        name = ROWS[_text(row[0])]
        for ear, cell in zip(EARS, row[1:], strict=True):
            assert f"ear-{ear}" in cell.get("headers").split()
            said.ears[name, ear] = _text(cell)
    for figure in body.iter("figure"):
        caption = figure.find("figcaption")
        title = _text(caption.find("b")) if caption is not None and caption.find("b") is not None else ""
        alternative = " ".join(figure.xpath(".//@aria-label"))
        said.drawn.append(Drawn(title, _text(figure), " ".join(alternative.split())))
    said.steps = [_text(li) for li in body.xpath("//ol/li")]
    for row in body.xpath("//section[h2='Codes']//tbody/tr"):
        said.codes.append((_text(row[1]), _text(row)))
    return said
