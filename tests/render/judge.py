"""Judges a page against the raw record: reads only rendered text and raw data, and nothing of the project."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from lxml import html

EARS = {"right": "Right ear", "left": "Left ear"}
PART_NAMES = {
    "wax": "Wax", "canal": "Ear canal", "drum": "Eardrum", "outer_ear": "Outer ear", "mastoid_cavity": "Mastoid cavity",
    "contents": "Other contents of the canal", "view": "The ear",
}  # fmt: skip
ANSWER_WORDS = {"normal": "looked normal", "not seen": "could not be seen", "not examined": "not examined"}
DOUBT_WORDS = {"suspected": "suspect", "absent": "not present", "past": "in the past"}
TOKEN = re.compile(r"Q\d{3}Z")


def faults(raw: dict[str, Any], page: bytes, kind: str = "summary") -> list[str]:
    """What is wrong with the page, in words; empty where it says what the record says, ear by ear.

    A referral's box asks something of its receiver; what is asked of the family doctor has a section of its own there.
    """
    root = html.document_fromstring(page.decode())
    return [
        *_sides(raw, root),
        *_cells(raw, root),
        *_doubts(raw, root),
        *(_asks(raw, root) if kind == "summary" else _asked_of_others(raw, root)),
    ]


def _tokens(value: Any) -> set[str]:
    if isinstance(value, dict):
        return set().union(*map(_tokens, value.values())) if value else set()
    if isinstance(value, list):
        return set().union(*map(_tokens, value)) if value else set()
    return set(TOKEN.findall(value)) if isinstance(value, str) else set()


def _text(node: Any) -> str:
    return " ".join(node.text_content().split())


def _side_text(root: Any, ear: str) -> str:
    """All that the page says of one ear: its column, its groups under the other headings, its rows of codes, its
    drawings, and the clauses in brief that name it. What is said of both ears is said of each."""
    column = [_text(td) for td in root.xpath("//td") if f"ear-{ear}" in td.get("headers", "").split()]
    names = (EARS[ear], "Both ears")
    groups = [_text(dl) for dl in root.xpath("//dl[dt]") if _text(dl[0]).partition(",")[0] in names]
    codes = [_row(tr, ear) for tr in root.xpath(f"{CODES}//tbody/tr") if _text(tr[1]) in (ear.title(), "Both")]
    asked = [_text(li) for li in root.xpath("//ol/li") if EARS[ear] in _text(li)]
    return " | ".join([*column, *groups, *codes, *asked, *_drawn(root, ear), *_brief(root, ear)])


CODES = "//section[h2='Codes']"


def _row(tr: Any, ear: str) -> str:
    """A row of codes without the words that it keeps for the other ear."""
    other = {"right": "Left", "left": "Right"}[ear]
    return re.sub(rf"\b{other}: [^;]*", "", _text(tr)) if _text(tr[1]) == "Both" else _text(tr)


def _drawn(root: Any, ear: str) -> list[str]:
    figures = [f for f in root.iter("figure") if _text(f.find("figcaption/b")).startswith(EARS[ear])]
    return [_text(f) + " " + " ".join(f.xpath(".//@aria-label")) for f in figures]


def _brief(root: Any, ear: str) -> list[str]:
    clauses = re.split(r"[.;] ", " ".join(_text(s) for s in root.xpath("//section[h2='In brief']/div")))
    return [c for c in clauses if re.search(rf"\b({ear} ear|both ears|either ear|neither ear)\b", c)]


def _sides(raw: dict[str, Any], root: Any) -> Iterator[str]:
    said = {ear: set(TOKEN.findall(_side_text(root, ear))) for ear in EARS}
    of_ear = {ear: _tokens(raw.get(ear, {})) for ear in EARS}
    for kind, words in (("cautions", "term"), ("requests", "action")):
        for row in raw.get(kind, ()):
            if "ear" in row:
                of_ear[row["ear"]] |= _tokens({words: row[words]})
    common = {k: v for k, v in raw.items() if k not in EARS}
    for ear, other in (("right", "left"), ("left", "right")):
        for token in sorted(of_ear[ear] - said[ear]):
            yield f"{token} of the {ear} ear is not said of it"
        for token in sorted(of_ear[ear] & said[other]):
            yield f"{token} of the {ear} ear is said of the {other} one"
    everything = set(TOKEN.findall(_text(root)))
    for token in sorted(_tokens(common) - everything):
        yield f"{token} is nowhere"


def _cell(root: Any, ear: str, row: str) -> Any:
    found = [td for td in root.xpath("//td") if set(td.get("headers", "").split()) == {f"ear-{ear}", f"row-{row}"}]
    assert len(found) == 1, (ear, row, len(found))
    return found[0]


def _items(cell: Any) -> list[tuple[set[str], str]]:
    """Each line with the subjects that it is about."""
    return [(_listed(text.partition(":")[0]), text) for text in map(_text, cell.xpath(".//li"))]


def _listed(words: str) -> set[str]:
    """`Ear canal and eardrum, before the work` is about `ear canal` and `eardrum`."""
    about = re.sub(r", (before|after|before and after) the work$", "", words)
    return {part.lower() for part in re.split(r", | and ", about)}


MAIN_PARTS = {"wax": "wax", "canal": "ear canal", "drum": "eardrum"}


def _cells(raw: dict[str, Any], root: Any) -> Iterator[str]:
    for ear in EARS:
        record = raw.get(ear, {})
        limits = _items(_cell(root, ear, "limits"))
        if not record and not _only(root, ear, ("before", "done", "after", "limits"), "Not recorded", raw):
            yield f"the {ear} ear has no record but does not say so"
        for stage in ("before", "after"):
            cell = _cell(root, ear, stage)
            seen = record.get(stage)
            if seen is None:
                told = "Not recorded"
                if "note" in record and not set(record) & {"before", "after", "work", "hearing_change"}:
                    told += " in fields of its own; see the clinic’s own words"
                    told = (
                        f"In the clinic’s own words. {' '.join(record['note'].split())}" if stage == "before" else told
                    )
                if _text(cell).rstrip(".") != told.rstrip("."):
                    yield f"{ear} {stage} was not recorded but reads: {_text(cell)}"
                continue
            yield from _silences(seen, _text(cell), f"{ear} {stage}")
            yield from _answers(seen, _items(cell), limits, f"{ear} {stage}", stage)
        if not _tokens(record.get("work", [])) <= set(TOKEN.findall(_text(_cell(root, ear, "done")))):
            yield f"the work on the {ear} ear is not in its cell"


def _only(root: Any, ear: str, rows: tuple[str, ...], words: str, raw: dict[str, Any]) -> bool:
    elsewhere = any(row.get("ear") == ear for kind in ("cautions", "requests") for row in raw.get(kind, ()))
    return all(_text(_cell(root, ear, row)) == words for row in rows[: 1 if elsewhere else 4])


STAGE = {stage: f", {stage} the work:" for stage in ("before", "after")}
BOTH = ", before and after the work:"
Items = list[tuple[set[str], str]]


def _answers(seen: dict[str, Any], here: Items, limits: Items, place: str, stage: str) -> Iterator[str]:
    for part, name in PART_NAMES.items():
        mine = [text for about, text in here if name.lower() in about]
        limited = [text for about, text in limits if name.lower() in about and (STAGE[stage] in text or BOTH in text)]
        value = seen.get(part)
        answer = value.get("answer") if value else None
        if value and value.get("achieved") == "none":
            answer = "not seen"
        wanted = ANSWER_WORDS.get(answer or "")
        for other in set(ANSWER_WORDS.values()) - {wanted}:
            if any(other in i for i in (*mine, *limited)):
                yield f"{place} {part} is said to be “{other}”, recorded is {answer}"
        if answer == "normal" and not any("looked normal" in i for i in mine):
            yield f"{place} {part} is not said to be normal"
        if answer in ("not seen", "not examined"):
            if not any(wanted in i and _tokens(value) <= set(TOKEN.findall(i)) for i in limited):
                yield f"{place} {part} is not said to be {answer} with its reason"
            if mine:
                yield f"{place} {part} is told as seen: {mine}"
        if value is None and (mine or limited):
            yield f"{place} {part} was not recorded but is told: {mine} {limited}"


def _silences(seen: dict[str, Any], text: str, place: str) -> Iterator[str]:
    """Wax, canal and drum of a stage with facts: what is not recorded is named in one line, and nothing else is."""
    missing = [words for part, words in MAIN_PARTS.items() if not seen.get(part)]
    line = re.search(r"Not recorded: ([^.]*)\.", text)
    if text == "Not recorded":
        yield f"{place} was recorded but reads as if not"
    elif line and re.split(", | and ", line[1]) != missing:
        yield f"{place} should name as not recorded {missing}: {line[1]}"
    elif missing and not line and not _unseen(seen) and not text.startswith("No finding"):
        yield f"{place} does not say that {missing} are not recorded"


def _unseen(seen: dict[str, Any]) -> bool:
    """Whether the look itself came to nothing, which is said instead."""
    view = seen.get("view") or {}
    return view.get("achieved") == "none" or view.get("answer") in ("not seen", "not examined")


def _doubts(raw: dict[str, Any], root: Any) -> Iterator[str]:
    """Each word that is doubted, denied or past is so in the very clause that holds it; a plain one is not."""
    lines = [_text(n) for n in root.xpath("//li | //dd | //main//p[not(ancestor::*[@class='alert'])]")]
    for term, known_from_before in _terms(raw, False):
        assertion = term["assertion"]
        for line in (i for i in lines if term["text"] in i):
            about = next(clause for clause in re.split(r"; |(?<=\w)\. ", line) if term["text"] in clause)
            said_by_heading = known_from_before and assertion == "past"
            if assertion != "present" and not said_by_heading and DOUBT_WORDS[assertion] not in about.lower():
                yield f"{term['text']} is {assertion} but reads: {line}"
            if assertion == "present" and any(w in about.lower() for w in DOUBT_WORDS.values()):
                yield f"{term['text']} is present but reads: {line}"
            if known_from_before and "nown from before" not in line:
                yield f"{term['text']} is from before but reads: {line}"


def _terms(value: Any, before: bool) -> Iterator[tuple[dict[str, Any], bool]]:
    if isinstance(value, dict):
        if "assertion" in value:
            yield value, before
        for key, inner in value.items():
            yield from _terms(inner, before or key == "history")
    elif isinstance(value, list):
        for inner in value:
            yield from _terms(inner, before)


def _asks(raw: dict[str, Any], root: Any) -> Iterator[str]:
    box = _text(root.xpath("//section[@class='box']")[0])
    if "requests" in raw:
        if any(r["action"] not in box for r in raw["requests"]) or "By 1 December 2026" not in box:
            yield f"the requests are not in the box: {box}"
    elif raw["no_request"] and "None. Nothing is asked of the family doctor." not in box:
        yield f"nothing is asked, but the box reads: {box}"
    elif not raw["no_request"] and ("No request to the family doctor is recorded" not in box or "None" in box):
        yield f"no request is recorded, but the box reads: {box}"


def _asked_of_others(raw: dict[str, Any], root: Any) -> Iterator[str]:
    heads = root.xpath("//section[h2='Asked of the family doctor']")
    told = _text(heads[0]) if heads else ""
    if any(r["action"] not in told for r in raw.get("requests", ())):
        yield f"the requests are not told: {told}"
    elif "requests" not in raw and ("Nothing is asked" in told) != raw["no_request"]:
        yield f"what is asked of the family doctor reads: {told}"
