"""Reads a printed letter into what it says where: words and their places from `pdftotext -bbox`, columns by x."""

from __future__ import annotations

import re
import subprocess
from dataclasses import dataclass
from pathlib import Path

from lxml import html

from tests.letters.spoken import EARS, ROWS, Drawn, Part, Spoken

GROUP = re.compile(r"(Both ears|Right ear|Left ear)(, (?:before|after) the work)?:?(?= |$)")
STANDS = re.compile(r"(Right|Left) ear (before|after) the work$")
MARGIN, BESIDE = 48.2, 24.0
"""Left edge of headings in points; and how far from the left edge of text the lines beside an ear's name stand."""


@dataclass
class Word:
    page: int
    left: float
    right: float
    top: float
    bottom: float
    text: str


@dataclass
class Row:
    """Words on one base line, from left to right."""

    page: int
    top: float
    words: list[Word]

    def between(self, left: float, right: float) -> list[Word]:
        return [w for w in self.words if left <= w.left + 0.5 and w.left < right - 0.5]


def words_of(pdf: bytes, path: Path) -> list[Word]:
    path.write_bytes(pdf)
    made = subprocess.run(["pdftotext", "-bbox", str(path), "-"], check=True, capture_output=True, timeout=60)
    root = html.document_fromstring(made.stdout.decode())
    found: list[Word] = []
    for number, page in enumerate(root.iter("page")):
        for word in page.iter("word"):
            left, right, top, bottom = (float(word.get(k)) for k in ("xmin", "xmax", "ymin", "ymax"))
            sideways = bottom - top > 2 * (right - left) and len(word.text_content()) > 2
            if not sideways:
                found.append(Word(number, left, right, top, bottom, word.text_content()))
    return found


def rows_of(words: list[Word]) -> list[Row]:
    rows: list[Row] = []
    for word in sorted(words, key=lambda w: (w.page, w.bottom, w.left)):
        last = rows[-1] if rows else None
        if last and last.page == word.page and abs(last.words[0].bottom - word.bottom) < 2.5:
            last.words.append(word)
        else:
            rows.append(Row(word.page, word.top, [word]))
    for row in rows:
        row.words.sort(key=lambda w: w.left)
    return rows


def joined(words: list[Word]) -> str:
    """As a reader joins them: what ends on a hyphen goes on in the next line."""
    text = ""
    for word in words:
        text += word.text if not text or (text[-1] == "-" and text[-2:-1].strip()) else f" {word.text}"
    return text.strip()


def read_pdf(pdf: bytes, path: Path) -> Spoken:
    words = words_of(pdf, path)
    rows = _without_marks([r for r in rows_of(words) if not re.search(r"Page \d+ of \d+$", joined(r.words))])
    said = Spoken(everything=joined([w for row in rows for w in row.words]))
    body = _text_edge(rows)
    said.parts += _receiver(rows)
    part, block, above, edge = Part(""), list[Row](), None, body
    for row in rows:
        goes_on = above is not None and row.page == above.page and row.top - above.top < LEADING
        heading = _heading(row, body, goes_on)
        if narrow := _narrow(row):
            _fill(part, block, said, edge)
            (title, edge), above = narrow, None
            part, block = Part(title), [Row(row.page, row.top, row.between(edge - 1, 999))]
            continue
        if heading and goes_on and heading not in WIDE:
            part.title += f" {heading}"
            block.append(Row(row.page, row.top, row.between(body - 1, 999)))
        elif heading:
            _fill(part, block, said, edge)
            edge = body
            part, block = Part(heading), [Row(row.page, row.top, row.between(body - 1, 999))]
        else:
            block.append(row)
        above = row if heading and heading not in WIDE else None
    _fill(part, block, said, edge)
    return said


def _receiver(rows: list[Row]) -> list[Part]:
    """The middle one of the three columns in the head."""
    heads = [at for at, row in enumerate(rows) if joined(row.words) == "From To This letter"]
    if not heads:
        return []
    left, right = (rows[heads[0]].words[at].left for at in (1, 2))
    below = rows[heads[0] + 1 :]
    end = next((at for at, row in enumerate(below) if joined(row.words) == "Client"), 0)
    return [Part("To", joined([w for row in below[:end] for w in row.between(left - 0.5, right - 0.5)]))]


WIDE = ("The ears", "Hearing tests", "Codes", "Action for you", "Needs attention now")
NARROW = ("In brief", "Proposed for the record", "Codes")
LEADING = 10.4
"""Lines of one heading are nearer to each other than sections are."""


def _without_marks(rows: list[Row]) -> list[Row]:
    """Without what stands at the top of every page again, such as that it is a draft."""
    title = next(i for i, row in enumerate(rows) if row.words[0].bottom - row.words[0].top > 15)
    marks = [joined(row.words) for row in rows[:title]]
    kept, left = rows[: title + 1], list[str]()
    for before, row in zip(rows[title:], rows[title + 1 :], strict=False):
        left = list(marks) if row.page != before.page else left
        if left and joined(row.words) == left[0]:
            left.pop(0)
        else:
            kept.append(row)
    return kept


def _text_edge(rows: list[Row]) -> float:
    """Where the text beside headings begins."""
    for title in ("Who wrote this", "Who refers"):
        for row in rows:
            count = len(title.split())
            if joined(row.words[:count]) == title and len(row.words) > count and abs(row.words[0].left - MARGIN) < 1:
                return row.words[count].left
    raise AssertionError("no text beside a heading")


def _narrow(row: Row) -> tuple[str, float] | None:
    """A heading with a column of its own width, and where its text begins."""
    for title in NARROW:
        count = len(title.split())
        if joined(row.words[:count]) == title and len(row.words) > count and abs(row.words[0].left - MARGIN) < 1:
            return title, row.words[count].left
    return None


def _heading(row: Row, body: float, goes_on: bool) -> str:
    first = row.words[0]
    alone = joined(row.words)
    if alone in WIDE:
        return alone
    beside = row.between(body - 1, 999)
    name = joined(row.between(MARGIN - 1, body - 1))
    is_one = abs(first.left - MARGIN) < 0.6 and first.bottom - first.top > 10.5 and not name.startswith("•")
    is_one = is_one and not name.endswith(".") and not GROUP.match(name)
    return name if is_one and (not beside or goes_on or abs(beside[0].left - body) < 0.4) else ""


def _fill(part: Part, block: list[Row], said: Spoken, body: float) -> None:
    block = [row for row in block if row.words]
    part.text = joined([w for row in block for w in row.words])
    said.parts.append(part)
    if part.title == "The ears":
        _fill_ears(block, said)
    elif part.title == "Codes":
        _fill_codes(block, said)
    elif part.title == "Action for you":
        said.steps += [
            step for step in re.split(r"(?:^|(?<= ))\d{1,2}\. |Already done by the clinic:", part.text) if step
        ]
    else:
        _fill_groups(part, block, body)


def _fill_groups(part: Part, block: list[Row], body: float) -> None:
    """Lines under the name of an ear stand beside it until something stands under the name."""
    open_group, page = 0.0, 0
    for row in block:
        text, left = joined(row.words), row.words[0].left
        edge = MARGIN if (left < body - 1 and not left > MARGIN + BESIDE) or open_group == MARGIN else body
        named = GROUP.match(text) if abs(left - edge) < 0.6 else None
        if named and named[1] and (named[2] or len(row.words) < 3 or row.words[2].left - row.words[1].right > 4):
            part.groups.append((named[0].rstrip(":"), text[named.end() :].strip()))
            open_group = edge
        elif open_group and (left > open_group + BESIDE or row.page != page):
            open_group = open_group if left > open_group + BESIDE else MARGIN
            title, told = part.groups[-1]
            part.groups[-1] = (title, joined_texts(told, text))
        else:
            open_group = 0.0
        page = row.page


def joined_texts(one: str, two: str) -> str:
    return (f"{one}{two}" if one[-1:] == "-" and one[-2:-1].strip() else f"{one} {two}").strip()


def _fill_ears(block: list[Row], said: Spoken) -> None:
    lefts: list[float] = []
    name, cells = "", dict[tuple[str, str], list[Word]]()
    rest: list[Row] = []
    title = ""
    for row in block:
        text = joined(row.words)
        if rest or row.words[0].left < MARGIN + 1:
            rest.append(row)
            continue
        if text == "Right ear Left ear":
            lefts = [row.words[0].left, row.words[2].left]
            continue
        if not lefts:
            rest.append(row)
            continue
        title = joined(row.between(0, lefts[0] - 1))
        name = next((key for words, key in ROWS.items() if title and words.startswith(title)), name)
        for ear, (left, right) in zip(EARS, ((lefts[0], lefts[1]), (lefts[1], 999.0)), strict=True):
            cells.setdefault((name, ear), []).extend(row.between(left - 0.5, right - 0.5))
    said.ears = {key: joined(words) for key, words in cells.items()}
    _fill_drawn(rest, said)


def _fill_drawn(rows: list[Row], said: Spoken) -> None:
    columns: list[tuple[float, Drawn]] = []
    for row in rows:
        text = joined(row.words)
        if text.startswith("Seen facing the client"):
            columns = []
        starts = [i for i, w in enumerate(row.words) if w.text in ("Right", "Left") and _is_title(row.words[i:])]
        if starts and starts[0] == 0:
            columns = []
            for at, upto in zip(starts, [*starts[1:], None], strict=True):
                made = Drawn(joined(row.words[at:upto]), "")
                columns.append((row.words[at].left, made))
                said.drawn.append(made)
            continue
        for number, (left, made) in enumerate(columns):
            right = columns[number + 1][0] if number + 1 < len(columns) else 999.0
            made.text = joined_texts(made.text, joined(row.between(left - 0.5, right - 0.5)))


def _is_title(words: list[Word]) -> bool:
    return STANDS.match(joined(words[:5])) is not None


def _fill_codes(block: list[Row], said: Spoken) -> None:
    left = 0.0
    for row in block:
        text = joined(row.words)
        if text.startswith("Fact Ear Code system"):
            left = row.words[1].left
            continue
        ear = [w for w in row.words if abs(w.left - left) < 0.6]
        if left and ear:
            said.codes.append((ear[0].text, text))
        elif left and said.codes and row.words[0].left < MARGIN + 1:
            left = 0.0
        elif left and said.codes:
            was, told = said.codes[-1]
            said.codes[-1] = (was, joined_texts(told, text))
