"""Random simple values of every type of R4, the rare but right ones among them.

Source: the data types page of R4: its patterns and its words. Nothing of the project is imported.
"""

from __future__ import annotations

import base64
from calendar import monthrange
from collections.abc import Callable
from decimal import Decimal
from random import Random
from typing import Any
from uuid import UUID

TEXTS = (
    "a",
    "left ear",
    " led by blanks",
    "ends with blanks  ",
    "line\nline",
    "tab\there",
    "Ärger, žluť, 耳, אוזן",
    "👂🏽",
    "e\u0301",
    "\u200fright to left",
    "a\u00a0b",
    "<b>no markup</b>",
    '"quoted"',
    "back\\slash",
    "x" * 3000,
    "0",
    "null",
    "true",
    "2026-13-45",
)
ZONES = ("Z", "+00:00", "-00:00", "+14:00", "-12:00", "+05:45", "+01:00")
UNITS = ("mm", "kg", "Cel", "mm[Hg]", "10*3/uL", "/min", "%", "{score}", "1", "mg/dL", "dB")


def _day(choose: Random) -> tuple[int, int, int]:
    year = choose.choice((1, 999, 1900, 2000, 2023, 2024, 9999, choose.randint(1850, 2100)))
    month = choose.randint(1, 12)
    return year, month, choose.choice((1, monthrange(year, month)[1]))


def date(choose: Random) -> str:
    year, month, day = _day(choose)
    return choose.choice((f"{year:04}", f"{year:04}-{month:02}", f"{year:04}-{month:02}-{day:02}"))


def time(choose: Random) -> str:
    text = f"{choose.randint(0, 23):02}:{choose.randint(0, 59):02}:{choose.randint(0, 59):02}"
    return text + choose.choice(("", "", ".0", ".5", ".123", ".1234567", ".000000001"))


def instant(choose: Random) -> str:
    if not choose.randrange(40):
        return choose.choice(("2016-12-31T23:59:60Z", "2017-01-01T00:59:60+01:00", "2015-06-30T23:59:60.5Z"))
    year, month, day = _day(choose)
    return f"{year:04}-{month:02}-{day:02}T{time(choose)}{choose.choice(ZONES)}"


def date_time(choose: Random) -> str:
    return choose.choice((date, instant))(choose)


def uuid(choose: Random) -> str:
    return f"urn:uuid:{UUID(int=choose.getrandbits(128))}"


def oid(choose: Random) -> str:
    return "urn:oid:" + choose.choice(
        ("2.16.840.1.113883.6.1", "1.0", "0.1.2", "2.25.329800735698586629295641978511506172918")
    )


def uri(choose: Random) -> str:
    return choose.choice(
        (
            "https://example.org/a",
            "http://example.org",
            "HTTP://EXAMPLE.ORG/ä?b=c&d=%20#e",
            "urn:isbn:0451450523",
            "mailto:a@b.example",
            "tel:+44-20-0000",
            "urn:ietf:bcp:47",
            "ldap://[2001:db8::7]/c=GB?objectClass?one",
            uuid(choose),
            oid(choose),
            uuid(choose).upper().replace("URN:UUID:", "urn:uuid:"),
        )
    )


def address(choose: Random) -> str:
    """A uri that can name a system or an extension."""
    return choose.choice(("https://example.org/system", "http://example.org/x/ä", "urn:oid:1.2.3", uuid(choose)))


def canonical(choose: Random) -> str:
    return choose.choice(("https://example.org/fhir/ValueSet/a", uuid(choose))) + choose.choice(
        ("", "|1.0", "|2026#a", "|1.2.3-b")
    )


def code(choose: Random) -> str:
    return choose.choice(("a", "left ear", "A-1.b_c", "25577004", "é", "a b c", "<", "-"))


def id(choose: Random) -> str:
    return choose.choice(("a", "1", "A.b-C", "." * 3, "-", "x" * 64, str(UUID(int=choose.getrandbits(128)))))


def binary(choose: Random) -> str:
    data = base64.b64encode(choose.randbytes(choose.randint(1, 200))).decode()
    return data if choose.randrange(5) else "\n".join(data[i : i + 76] for i in range(0, len(data), 76))


def text(choose: Random) -> str:
    return choose.choice(TEXTS)


def decimal(choose: Random) -> Decimal | int:
    return choose.choice(
        (
            0,
            1,
            -1,
            120,
            Decimal("0.0"),
            Decimal("1.50"),
            Decimal("-0.000001"),
            Decimal("1E-22"),
            Decimal("1.5e+3"),
            Decimal("999999999999999999"),
            Decimal("3.14159265358979323"),
        )
    )


def whole(least: int) -> Callable[[Random], int]:
    return lambda choose: choose.choice((least, max(least, 0), 1, 7, 2**31 - 1))


SIMPLE: dict[str, Callable[[Random], Any]] = {
    "base64Binary": binary,
    "boolean": lambda choose: choose.random() < 0.5,
    "canonical": canonical,
    "code": code,
    "date": date,
    "dateTime": date_time,
    "decimal": decimal,
    "id": id,
    "instant": instant,
    "integer": whole(-(2**31)),
    "markdown": text,
    "oid": oid,
    "positiveInt": whole(1),
    "string": text,
    "time": time,
    "unsignedInt": whole(0),
    "uri": uri,
    "url": uri,
    "uuid": uuid,
}
OPEN = {
    "http://hl7.org/fhir/ValueSet/mimetypes": (
        "text/plain",
        "application/pdf",
        "text/plain; charset=utf-8",
        "application/fhir+json",
        "image/svg+xml",
        "application/vnd.oasis.opendocument.text",
        'multipart/form-data; boundary="a b"',
    ),
    "http://hl7.org/fhir/ValueSet/ucum-units": UNITS,
    "http://loinc.org/vs/LL379-9": ("LA6576-8", "LA6577-6"),
}
LANGUAGES = ("en", "en-GB", "cs", "zh-Hant-TW", "sl-rozaj-biske", "de-CH-1996", "x-own", "es-419", "sgn-BE-FR")


def narrative(choose: Random) -> str:
    """A `div` from what the narrative page allows."""
    parts = [_block(choose, 0) for _ in range(choose.randint(1, 4))]
    more = choose.choice(
        ("", ' class="a"', ' lang="en" xml:lang="en"', ' id="d1"', " dir='rtl'", ' style="color: red"')
    )
    words = choose.choice(("plain", "plain &amp; simple"))
    return f'<div xmlns="http://www.w3.org/1999/xhtml"{more}>{words}{"".join(parts)}</div>'


def _inline(choose: Random) -> str:
    word = choose.choice(("ear", "&lt;2 mm", "&#8805; 3", "耳", "&amp;", "&#x2265;", "a<br/>b", "&quot;"))
    wrap = choose.choice(
        (
            "{}",
            "<b>{}</b>",
            "<i>{}</i>",
            "<span title='a'>{}</span>",
            '<a href="#d1">{}</a>',
            "<em><strong>{}</strong></em>",
            "<code>{}</code>",
            '<a href="https://example.org">{}</a>',
            "<sub>{}</sub>",
            "<q>{}</q>",
            "<small>{}</small>",
            "<tt>{}</tt>",
        )
    )
    return wrap.format(word)


def _block(choose: Random, depth: int) -> str:
    deeper = _block(choose, depth + 1) if depth < 3 else "<p>end</p>"
    return choose.choice(
        (
            f"<p>{_inline(choose)}</p>",
            f"<ul><li>{deeper}</li><li>{_inline(choose)}</li></ul>",
            f"<ol><li>{deeper}</li></ol>",
            "<table border='1'><caption>c</caption><thead><tr><th>h</th></tr></thead><tbody><tr>"
            f"<td colspan='1'>{deeper}</td></tr></tbody></table>",
            f"<blockquote>{deeper}</blockquote>",
            "<pre>  a\n  b</pre>",
            "<hr/>",
            f"<h2>{_inline(choose)}</h2>",
            f"<div>{deeper}</div>",
            "<dl><dt>a</dt><dd>b</dd></dl>",
            "<!-- a word aside --><p>text</p>",
            '<p><img src="https://example.org/a.png" alt="a"/></p>',
        )
    )
