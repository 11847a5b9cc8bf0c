"""A quick yes to the common narratives: a few linear regular expressions for a whole text, of which
`bridge.check.xhtml` would tell nothing. No means only that it has to be looked at with care."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache

from bridge.check.primitives import MAX_TEXT
from bridge.check.xhtml import NAMESPACE, markup

DEPTH = 12
"""Levels of elements inside of the div."""
_BLANKS = r"[ \t\r\n]*+"
_NEVER = r"\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff"
_SIGN = (
    r"&(?:amp|lt|gt|quot|apos|#(?:3[3-9]|[4-9][0-9]|[1-9][0-9]{2,3}|[1-4][0-9]{4})"
    r"|#x(?:[2-9a-fA-F][0-9a-fA-F]|[1-9a-fA-F][0-9a-fA-F]{2}|[1-9a-cA-C][0-9a-fA-F]{3}));"
)
_VALUES = {
    "style": r"(?!(?i:[^\"]*(?:script|binding|behavio)))[A-Za-z0-9 :;#%.,-]*+",
    "id": r"[A-Za-z0-9._-]++",
    "href": r"(?:(?:https?://|mailto:|tel:)(?:[A-Za-z0-9/._~#?=+@,:-]++|&amp;)*+|[A-Za-z0-9#._](?:[A-Za-z0-9/._~#?=+@,-]++|&amp;)*+)",
    "xmlns": re.escape(NAMESPACE),
    "src": r"(?:data:image/(?:png|jpeg|gif);base64,[A-Za-z0-9+/=]++|[A-Za-z0-9#_][A-Za-z0-9._/-]*+)",
}
_ANY = rf"(?:[^<>&\"{_NEVER}\t\n]++|{_SIGN})*+"
_PARAGRAPHS = re.compile(rf'<div xmlns="{re.escape(NAMESPACE)}">(?:<p>[^\s<>&{_NEVER}][^<>&{_NEVER}]*+</p>)++</div>')
"""The commonest of all: paragraphs of words."""
_SEEN = re.compile(r">\s*+[^<&\s]")
_IDS = re.compile(r'[ \n]id="([^"]*)"')
_OWN = ("a", "img", "table", "td", "th", "div")
"""Elements that are taken with their own attributes, all others with those that every element has."""


def plain_narratives(texts: Iterable[str]) -> bool:
    """Whether all these texts of `Narrative.div` are certainly right, without even a doubt."""
    for text in texts:
        if len(text) <= MAX_TEXT and _PARAGRAPHS.fullmatch(text):
            continue
        tags, nested, in_paragraph = _patterns()
        if (
            len(text) > MAX_TEXT
            or tags.fullmatch(text) is None
            or nested.fullmatch(text) is None
            or ("<img" not in text and _SEEN.search(text) is None)
            or ("<p" in text and in_paragraph.search(text) is not None)
            or (text.count('id="') > 1 and _twice(_IDS.findall(text)))
        ):
            return False
    return True


def _twice(ids: list[str]) -> bool:
    return len(set(ids)) < len(ids)


@cache
def _patterns() -> tuple[re.Pattern[str], re.Pattern[str], re.Pattern[str]]:
    """Every tag and word by itself; each tag closed in its order; a block inside of a paragraph."""
    known = markup()
    rest = [name for name in known.kinds if name not in _OWN]
    everywhere = frozenset.intersection(*known.attributes.values())
    own = [f"{name}{_attributes(name, known.attributes[name])}" for name in _OWN if name not in ("img", "div")]
    picture = _attributes("img", known.attributes["img"])
    opening = [
        f"(?:{'|'.join(rest)}){_attributes('rest', everywhere)}",
        *own,
        f"div{_attributes('div', everywhere)}",
        rf'img(?=[^<>]*[ \n]alt=")(?=[^<>]*[ \n]src="){picture}',
    ]
    closing = "|".join(known.kinds)
    tags = (
        rf'{_BLANKS}<div(?=[^<>]*[ \n]xmlns="){_attributes("root", everywhere | {"xmlns"})}{_BLANKS}>'
        rf"(?:[^<>&{_NEVER}]++|<(?:/(?:{closing})|(?:{'|'.join(opening)}){_BLANKS}/?+)>|{_SIGN})*+"
    )
    blocks = "|".join(name for name, kind in known.kinds.items() if kind in ("block", "root"))
    paragraph = rf"<p[ \t\r\n>](?:[^<]++|<(?!/p>|(?:{blocks})[ \t\r\n/>]))*+<(?!/)"
    return re.compile(tags), re.compile(_nested()), re.compile(paragraph)


def _attributes(owner: str, names: frozenset[str]) -> str:
    """Up to four attributes, none of them twice."""
    made = ""
    for number in reversed(range(4)):
        other = "".join(f"(?!(?P={owner}{n})=)" for n in range(number))
        made = rf"(?:[ \n]{other}{_attribute(f'{owner}{number}', names)}{made})?+"
    return made


def _attribute(group: str, names: frozenset[str]) -> str:
    """One attribute whose value is certainly harmless."""
    chosen = "|".join(sorted(names - {"cite", "longdesc", "usemap"}))
    special = "|".join(f'(?<={name}="){value}' for name, value in _VALUES.items() if name in names)
    not_special = "".join(f'(?<![ \\n]{name}=")' for name in _VALUES if name in names)
    return f'(?P<{group}>{chosen})="(?:{not_special}{_ANY}|{special})"'


def _nested() -> str:
    content = "[^<]*+"
    for level in reversed(range(DEPTH)):
        closed = rf"<(?P<e{level}>[a-z1-6]++)[^<>]*+>(?:(?<=/>)|{content}</(?P=e{level})>)"
        content = f"[^<]*+(?:{closed}[^<]*+)*+"
    return rf"{_BLANKS}<div [^<>]*+>(?<!/>){content}</div>{_BLANKS}"
