"""The usual form of each simple type as a regular expression, for the gate.

Whatever one of them takes as a whole, `bridge.check.primitives` has no remark about, provided it is no longer than
`MAX_TEXT`; rarities that are right (second 60, blanks inside of Base64) are refused. No look-around and no reference
back, so engines that run in linear time take them too.
"""

from __future__ import annotations

from functools import cache

from bridge.fhir.forms import ID, UUID

_YEAR = r"(?:[1-9][0-9]{3}|0[1-9][0-9]{2}|00[1-9][0-9]|000[1-9])"
_LEAP_YEAR = r"(?:[0-9]{2}(?:0[48]|[2468][048]|[13579][26])|(?:0[48]|[2468][048]|[13579][26])00)"
_MONTH = r"(?:0[1-9]|1[0-2])"
_MONTH_DAY = r"(?:(?:0[1-9]|1[0-2])-(?:0[1-9]|1[0-9]|2[0-8])|(?:0[13-9]|1[0-2])-(?:29|30)|(?:0[13578]|1[02])-31)"
_DAY = f"(?:{_YEAR}-{_MONTH_DAY}|{_LEAP_YEAR}-02-29)"
_CLOCK = r"(?:[01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9](?:\.[0-9]+)?"
_ZONE = r"(?:Z|[+-](?:(?:0[0-9]|1[0-3]):[0-5][0-9]|14:00))"
_DATE = f"{_DAY}|{_YEAR}(?:-{_MONTH})?"
_INSTANT = f"{_DAY}T{_CLOCK}{_ZONE}"
_NO_CONTROL = r"[^\x00-\x08\x0b\x0c\x0e-\x1f]"
_NO_BLANK = (
    r"[!-~\u00a1-\u167f\u1681-\u1fff\u200b-\u2027\u202a-\u202e\u2030-\u205e\u2060-\u2fff\u3001-\ud7ff\ue000-\U0010ffff]"
)
_TEXT = rf"[ \t\r\n]*{_NO_BLANK}{_NO_CONTROL}*"
_OID = r"urn:oid:[0-2](?:\.(?:0|[1-9][0-9]*))+"
_PLAIN = r"[A-Za-z0-9._~/?#@!$&'()*+,;=|\[\]-]|%[0-9A-Fa-f]{2}"
_RELATIVE = f"(?:{_PLAIN})+"
_SEARCH = rf"[A-Z][A-Za-z]+\?(?:{_PLAIN}|[:|])+"
_ABSOLUTE = (
    f"(?:https?|ftp|mailto|tel|mllp|data|urn:(?:ietf|iso|iso-astm|ihe|hl7|hl7-org|dicom|isbn|x-[a-z]+)):(?:{_PLAIN}|:)+"
)
_FOUR = r"[A-Za-z0-9+/]{4}"
_PADDED = r"(?:[A-Za-z0-9+/][AQgw]==|[A-Za-z0-9+/]{2}[AEIMQUYcgkosw048]=)"


@cache
def patterns() -> dict[str, str]:
    """For each simple type that is text: what the whole value has to match (without anchors)."""
    uri = f"{_ABSOLUTE}|{UUID}|{_OID}|{_RELATIVE}|{_SEARCH}"
    return {
        "base64Binary": f"(?:{_FOUR})+{_PADDED}?|{_PADDED}",
        "canonical": f"{_ABSOLUTE}|{UUID}|{_OID}",
        "code": r"[!-~]+(?: [!-~]+)*",
        "date": _DATE,
        "dateTime": f"{_DATE}|{_INSTANT}",
        "id": ID,
        "instant": _INSTANT,
        "markdown": _TEXT,
        "oid": _OID,
        "string": _TEXT,
        "time": _CLOCK,
        "uri": uri,
        "url": uri,
        "uuid": UUID,
    }
