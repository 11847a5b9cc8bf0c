"""Judges drawings from outside: what a record says of each ear against where the marks lie and what the words say.

Imports nothing of the project and reads none of its tables. Rules it goes by:
- as one faces the client: a right ear opens to the left edge of its drawing, a left ear to the right edge;
- looking into an ear, hours turn clockwise; front is 3 in a right ear and 9 in a left one (left = 12 - right);
- the thirds of the canal are parted by two dashed lines, and whatever is said to lie in one lies there;
- four answers are four different things, and what is absent or past is never drawn.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import Any
from xml.etree import ElementTree

Raw = dict[str, Any]
SVG = "{http://www.w3.org/2000/svg}"
FRONT = {"right": 3, "left": 9}
WAX = "#e6bd7b"
STARTS = {
    "plain": "Plain, looked normal: ",
    "hatched": "Hatched, could not be seen: ",
    "outlined": "Outlined, not examined: ",
    "dotted": "Dotted, not recorded: ",
}
NAMES = {"wax": "wax", "canal": "ear canal", "drum": "eardrum"}
FIELDS = ("contents", "canal", "drum", "outer_ear", "mastoid_cavity")
STRETCH = {
    "outer": (0, 1 / 3), "superficial": (0, 0.25), "middle": (1 / 3, 2 / 3), "inner": (2 / 3, 1), "deep": (0.55, 1),
    "at-drum": (0.8, 1), "whole": (0, 1),
}  # fmt: skip


def hour_of(ear: str, word: str) -> list[float]:
    """Hours of a wall or a part of the drum, by its name."""
    front = FRONT[ear]
    back = 12 - front
    name = word.split("-", 1)[1]
    if name.startswith(("antero", "postero")):
        right_side = (front if name.startswith("antero") else back) == 3
        return [(1.5 if right_side else 10.5) if name.endswith("superior") else (4.5 if right_side else 7.5)]
    whole = {"anterior": front, "posterior": back, "superior": 12, "inferior": 6, "flaccida": 12}
    if name == "all":
        return [0, 3, 6, 9]
    return [whole[name]] if name in whole else []


def apart(one: float, other: float) -> float:
    gap = abs(one - other) % 12
    return min(gap, 12 - gap)


class Sheet:
    """What a drawing shows, read from its elements."""

    def __init__(self, svg: str) -> None:
        self.root = ElementTree.fromstring(svg)  # noqa: S314 - made by the tests
        self.width = float(self.root.get("viewBox", "").split()[2])
        self.texts = [(float(t.get("x", 0)), float(t.get("y", 0)), t.text or "") for t in self.root.iter(f"{SVG}text")]
        ring = max(self.root.iter(f"{SVG}circle"), key=lambda c: float(c.get("r", 0)))
        self.hub, self.ring = (float(ring.get("cx", 0)), float(ring.get("cy", 0))), float(ring.get("r", 0))
        self.badge = next(t for t in self.root.iter(f"{SVG}text") if t.get("font-weight") == "bold")
        parting = next(p for p in self.root.iter(f"{SVG}path") if p.get("stroke-dasharray") == "1 1")
        found = re.findall(r"M([\d.]+) ([\d.]+)V([\d.]+)", parting.get("d", ""))
        self.outer, self.inner = (float(x) for x, _, _ in found)
        self.axis = sum(float(a) + float(b) for _, a, b in found) / 4

    def along(self, x: float) -> float:
        """Share of the canal's length, by the lines that part its thirds."""
        return 1 / 3 + (x - self.outer) / (self.inner - self.outer) / 3

    def hour(self, x: float, y: float) -> float:
        return math.degrees(math.atan2(x - self.hub[0], self.hub[1] - y)) / 30 % 12

    def far(self, x: float, y: float) -> float:
        return math.hypot(x - self.hub[0], y - self.hub[1])

    def marks(self, number: int) -> Iterator[tuple[float, float, bool]]:
        """Place of each mark of that number, and whether it is dashed."""
        for mark in self.root.iter():
            if mark.get("data-n") == str(number):
                dashed = "stroke-dasharray" in mark.attrib
                if mark.tag == f"{SVG}circle":
                    yield float(mark.get("cx", 0)), float(mark.get("cy", 0)), dashed
                elif mark.tag == f"{SVG}path":
                    x, y, reach = re.findall(r"-?[\d.]+", mark.get("d", ""))[:3]
                    yield float(x) + float(reach) / 2, self.axis, dashed
                else:
                    x, y = re.findall(r"-?[\d.]+", mark.get("transform", ""))[:2]
                    yield float(x), float(y), dashed

    def wax(self) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
        """Stretches of wax: along the canal, and from hour to hour of the ring."""
        bands, sectors = [], []
        for shape in self.root.iter(f"{SVG}path"):
            data = shape.get("d", "")
            if shape.get("fill") != WAX or "data-mark" in shape.attrib or not data.startswith("M"):
                continue
            if "A" in data:
                x1, y1, x2, y2 = re.match(r"M([\d.]+) ([\d.]+)A\S+ \S+ \d \d \d ([\d.]+) ([\d.]+)", data).groups()  # type: ignore[union-attr]
                sectors.append((self.hour(float(x1), float(y1)), self.hour(float(x2), float(y2))))
            elif self.in_canal(data):
                xs = self.in_canal(data)
                bands.append((min(map(self.along, xs)), max(map(self.along, xs))))
        return bands, sectors

    @staticmethod
    def in_canal(data: str) -> list[float]:
        """The x of each corner of a shape made of relative lines; empty for a small mark."""
        start, _, rest = data.partition("l")
        numbers = [float(n) for n in re.findall(r"-?\d*\.\d+|-?\d+", rest)]
        x = float(re.findall(r"[\d.]+", start)[0])
        corners = [x]
        for step in numbers[::2]:
            corners.append(corners[-1] + step)
        return corners if len(numbers) > 4 else []


def faults(raw: Raw, pictures: list[Any]) -> list[str]:
    """All that is wrong; empty where the drawings say what the record says."""
    stages = [s for s in ("before", "after") if any(s in raw.get(e, {}) for e in ("right", "left"))]
    wanted = [(ear, stage) for stage in stages for ear in ("right", "left")]
    if len(pictures) != len(wanted):
        return [f"{len(pictures)} drawings instead of {len(wanted)}"]
    found = []
    for (ear, stage), picture in zip(wanted, pictures, strict=True):
        found += [f"{ear} {stage}: {fault}" for fault in _picture(raw, ear, stage, picture)]
    return found


def _picture(raw: Raw, ear: str, stage: str, picture: Any) -> Iterator[str]:
    other = "left" if ear == "right" else "right"
    look = raw.get(ear, {}).get(stage, {})
    sheet = Sheet(picture.svg)
    words = " ".join([picture.alt, picture.title, *picture.legend])
    if picture.ear != ear or picture.title != f"{ear.title()} ear {stage} the work":
        yield "title or ear"
    if f"{other} ear" in words.lower():
        yield "the other ear is named"
    if sheet.badge.text != ear[0].upper() or (float(sheet.badge.get("x", 0)) < sheet.width / 2) != (ear == "right"):
        yield "badge"
    if (sheet.hub[0] > sheet.width / 2) != (ear == "right") or (sheet.outer < sheet.inner) != (ear == "right"):
        yield "mirror"
    places = {t: x - sheet.hub[0] for x, y, t in sheet.texts if t in ("F", "B")}
    if not (places["F"] > 0 > places["B"] if ear == "right" else places["B"] > 0 > places["F"]):
        yield "front and back"
    tokens, mine = set(re.findall(r"Q\d+Z", picture.alt)), set(_tokens(look))
    if tokens != mine:
        yield f"words: {sorted(tokens ^ mine)[:4]}"
    if not set(re.findall(r"Q\d+Z", " ".join(picture.legend))) <= mine:
        yield "legend has words of another look"
    yield from _answers(look, picture, sheet)
    yield from _wax(ear, look.get("wax", {}), sheet)
    for field in FIELDS:
        for finding in look.get(field, {}).get("findings", ()):
            yield from _finding(ear, field, finding, picture, sheet)


def _tokens(value: Any) -> Iterator[str]:
    """Every coded word; words without a code are never repeated."""
    if isinstance(value, dict):
        if "codings" in value:
            yield value["text"]
        for inner in value.values():
            yield from _tokens(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _tokens(inner)


def _answers(look: Raw, picture: Any, sheet: Sheet) -> Iterator[str]:
    view = look.get("view", {})
    whole = "outlined" if view.get("answer") else "hatched" if view.get("achieved") == "none" else "dotted"
    by_answer = {"normal": "plain", "not seen": "hatched", "not examined": "outlined"}
    wanted: dict[str, set[str]] = {pattern: set() for pattern in STARTS}
    shown = {}
    for part in NAMES:
        said = look.get(part, {})
        pattern = by_answer.get(said.get("answer", "")) or ("described" if said else whole)
        shown[part] = pattern
        if pattern in wanted:
            wanted[pattern].add(NAMES[part])
    for pattern, start in STARTS.items():
        lines = [line[len(start) : -1] for line in picture.legend if line.startswith(start)]
        things = {re.sub(r" \(.*?\)", "", t) for line in lines for t in line.split(", ")}
        things = set(NAMES.values()) if things == {"ear"} and pattern == whole else things
        if things != wanted[pattern]:
            yield f"{pattern}: {sorted(things)} instead of {sorted(wanted[pattern])}"
    label = " ".join(t for x, y, t in sheet.texts if sheet.far(x, y) < 7 and t.isalpha())
    if label != {"hatched": "not seen", "outlined": "not examined", "dotted": "not recorded"}.get(shown["drum"], ""):
        yield f"drum is labelled {label!r}"


def _wax(ear: str, wax: Raw, sheet: Sheet) -> Iterator[str]:
    bands, sectors = sheet.wax()
    place = wax.get("place", {})
    empty = not wax.get("amount") or wax.get("percent") == 0
    empty = empty or ("percent" not in wax and wax["amount"]["codings"][0]["code"] == "wax-none")
    if empty:
        if bands or sectors:
            yield "wax is drawn where none is recorded"
        return
    if not bands:
        yield "wax is not drawn"
    if "third" in place:
        first, last = STRETCH[_code(place["third"]).split("-", 1)[1]]
        if any(low < first - 0.03 or high > last + 0.03 for low, high in bands):
            yield f"wax lies at {bands} instead of {first, last}"
    elif "depth" in place and any(
        not low - 0.1 <= min(place["depth"]["value"] / 25, 1) <= high + 0.1 for low, high in bands
    ):
        yield "depth of wax"
    hours = []
    if "clock_from" in place:
        first = place["clock_from"]
        last = place.get("clock_to") or first
        hours = [((first - 0.6) % 12, (last + 0.6) % 12) if first == last else (first % 12, last % 12)]
    for wall in place.get("walls", ()):
        middle = hour_of(ear, _code(wall))
        hours = [((m - 1.5) % 12, (m + 1.5) % 12) for m in middle] if len(middle) == 1 else [(0, 11.99)]
    if len(sectors) != len(hours):
        yield "wax in the ring"
    elif any(apart(a, c) > 0.15 or apart(b, d) > 0.15 for (a, b), (c, d) in zip(sectors, hours, strict=True)):
        yield f"wax from hour to hour {sectors} instead of {hours}"


def _finding(ear: str, field: str, finding: Raw, picture: Any, sheet: Sheet) -> Iterator[str]:
    term, place = finding["term"], finding.get("place", {})
    assertion = term.get("assertion")
    if not term.get("codings"):
        if not any(line.startswith("Not drawn:") for line in picture.legend):
            yield "a finding in words alone is not listed"
        return
    lines = [line for line in picture.legend if term["text"] in line]
    if len(lines) != 1:
        yield f"{term['text']} stands in {len(lines)} lines"
        return
    numbered = re.match(r"(\d+) ", lines[0])
    if not numbered:
        if not lines[0].startswith("Not drawn:"):
            yield "neither numbered nor said not to be drawn"
        return
    if assertion not in ("present", "suspected"):
        yield f"{assertion} is drawn"
    number = int(numbered[1])
    labels = [t for _, _, t in sheet.texts if t.rstrip("?") == str(number) and not (t == "12" and number != 12)]
    if number != 12 and (not labels or any(t.endswith("?") != (assertion == "suspected") for t in labels)):
        yield f"numbers {labels} of what is {assertion}"
    yield from _where(ear, field, place, list(sheet.marks(number)), assertion == "suspected", sheet)


def _where(
    ear: str, field: str, place: Raw, marks: list[tuple[float, float, bool]], doubt: bool, sheet: Sheet
) -> Iterator[str]:
    if field == "mastoid_cavity":
        return
    if field == "outer_ear":
        place = {k: v for k, v in place.items() if k not in ("third", "depth")}
    if not marks:
        yield "a number without a mark"
    if any(dashed != doubt for _, _, dashed in marks):
        yield "dashes"
    loose = [m for m in marks if m[1] > 36]
    face = [m for m in marks if m not in loose and sheet.far(m[0], m[1]) < sheet.ring]
    canal = [m for m in marks if m not in loose and m not in face]
    hours: list[float] = []
    if "clock_from" in place:
        first = place["clock_from"]
        hours = [first + ((place.get("clock_to", first) - first) % 12) / 2]
    for word in (*place.get("walls", ()), *place.get("parts", ())):
        hours += hour_of(ear, _code(word))
    if loose and (hours or "third" in place or "depth" in place):
        yield "a recorded place is not used"
    for x, y, _ in face:
        clear = sheet.far(x, y) > 3
        if hours and clear and min(apart(sheet.hour(x, y), hour) for hour in hours) > 1.35:
            yield f"stands at hour {sheet.hour(x, y):.1f} instead of {hours}"
    if hours and not face:
        yield "is missing on the clock face"
    for x, y, _ in canal:
        along = sheet.along(x)
        if "third" in place:
            first_third, last_third = STRETCH[_code(place["third"]).split("-", 1)[1]]
            if not first_third - 0.03 <= along <= last_third + 0.03:
                yield f"stands at {along:.2f} of the canal instead of {first_third, last_third}"
        elif "depth" in place and abs(along - min(place["depth"]["value"] / 25, 1)) > 0.15:
            yield "depth"
        walls = {_code(w) for w in place.get("walls", ())}
        if (walls == {"wall-superior"} and y > sheet.axis) or (walls == {"wall-inferior"} and y < sheet.axis - 0.1):
            yield "roof and floor"
    if field != "drum" and ("third" in place or "depth" in place) and not canal:
        yield "is missing in the canal"


def _code(term: Raw) -> str:
    return str(term["codings"][0]["code"])
