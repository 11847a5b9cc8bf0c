"""Makes the table of characters that the fonts of letters have, by asking the compiler about each one.

python -m tests.render.printed_characters > mappings/documents/printed-characters.csv
"""

from __future__ import annotations

import json
import sys
import unicodedata
from collections.abc import Iterator

from bridge.render.pdf.compiler import FONTS, UnprintableError, compiled

SOURCE = b"""#set document(title: "x")
#set text(font: json(bytes(sys.inputs.fonts)), lang: "en")
#sys.inputs.words"""
CHUNK = 64
LEFT_OUT = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
MARKS = [(0x300, 0x36F), (0x610, 0x6ED)]
"""Marks on letters that these fonts can set on any letter of their script; with others the compiler gives up."""
HEAD = """# Characters that the fonts of letters have. Origin: made by tests/render/printed_characters.py.
# Edition: fontpkg-atkinson-hyperlegible 1.6, typst 0.15. Owner: this project. Licence: Apache-2.0.
first,last"""


def prints(words: str) -> bool:
    try:
        compiled({"words": words, "fonts": json.dumps(FONTS)}, None, SOURCE)
    except UnprintableError:
        return False
    return True


def may_be_printed(point: int) -> bool:
    kind = unicodedata.category(chr(point))
    return kind not in LEFT_OUT and (kind[0] != "M" or any(a <= point <= b for a, b in MARKS))


def printed(points: list[int]) -> Iterator[int]:
    """Those of the points that print."""
    words = " ".join(("o" if unicodedata.combining(chr(p)) else "") + chr(p) for p in points)
    if prints(words):
        yield from points
    elif len(points) > 1:
        half = len(points) // 2
        yield from printed(points[:half])
        yield from printed(points[half:])


def spans(points: list[int]) -> Iterator[tuple[int, int]]:
    first = last = points[0]
    for point in points[1:]:
        if point != last + 1:
            yield first, last
            first = point
        last = point
    yield first, last


def main() -> None:
    asked = [p for p in range(0x20, 0x20000) if may_be_printed(p)]
    found = [p for i in range(0, len(asked), CHUNK) for p in printed(asked[i : i + CHUNK])]
    print(HEAD)
    for first, last in spans(sorted(found)):
        print(f"{first:04X},{last:04X}")
    print(f"{len(found)} characters", file=sys.stderr)


if __name__ == "__main__":
    main()
