"""Generated allergies, medicines, drops, cautions and earlier events, every optional field among them."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from hypothesis import strategies as st

from bridge.build import build_document
from bridge.fhir.write_json import dumps
from bridge.visit import Visit

SCT = "http://snomed.info/sct"
OWN = "urn:oid:2.25.315634712590341250083437118789586142799"
DOUBTS = ("suspected", "absent", "past")
CODED = {  # kind: (verified coding, own coding), as the term maps give them
    "caution": ({"system": SCT, "code": "73211009"}, {"system": OWN, "code": "caution-diabetes"}),
    "disorder": ({"system": SCT, "code": "60442001"}, {"system": OWN, "code": "perforated-drum"}),
    "surgery": ({"system": SCT, "code": "50445001"}, {"system": OWN, "code": "past-mastoidectomy"}),
    "product": ({"system": SCT, "code": "391737006"}, {"system": OWN, "code": "product-almond-oil"}),
    "allergy": ({"system": SCT, "code": "111088007"}, {"system": OWN, "code": "allergy-latex"}),
}
WHENS = (
    "2010",
    "2010-05",
    "2010-05-03",
    "2026-10-20T09:30+01:00",
    "2026-10-20T09:30:00+01:00",
    "2026-10-20T09:30:05.5Z",
)
STRENGTHS = ("5%", "5 %", "0.50%", "50 mg/mL", "2 to 5%", "double", "05%", "10mg", "1 000 units", "0.5")

letters = "abcdefgzABZ019 .,;:()&<>'\"/%+-?éµ°"
words = st.text(letters, min_size=1, max_size=25).map(str.strip).filter(bool)
remarks = st.text(letters + "\n", min_size=1, max_size=40).map(str.strip).filter(bool)
when = st.sampled_from(WHENS)
maybe_words, maybe_remark, maybe_when = (st.none() | s for s in (words, remarks, when))


def asserted_terms(kind: str) -> st.SearchStrategy[dict[str, Any]]:
    """Terms that may be doubted: coded ones as the coding leaves them, uncoded ones, and words nobody could read."""
    outer, own = CODED[kind]
    coded = st.builds(
        lambda text, said: {"text": text, "assertion": said, "codings": [own] if said in DOUBTS else [outer, own]},
        words,
        st.sampled_from(("present", *DOUBTS)),
    )
    bare = st.builds(
        lambda text, said: {"text": text, "assertion": said}, words, st.sampled_from((None, "present", *DOUBTS))
    )
    return coded | bare


def plain_terms(kind: str) -> st.SearchStrategy[dict[str, Any]]:
    """Terms of fields whose words need no doubt, but may be given one by hand."""
    said = st.sampled_from((None, None, *DOUBTS))
    return st.builds(
        lambda text, codings, said: {"text": text, "codings": codings, "assertion": said},
        words,
        st.sampled_from(([], list(CODED[kind]))),
        said,
    )


def records(**fields: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries(fields).map(lambda found: {k: v for k, v in found.items() if v is not None})


products = records(
    name=plain_terms("product"),
    strength=maybe_words | st.sampled_from(STRENGTHS),
    dose=maybe_words,
    when=st.sampled_from((None, "used before", "used in clinic", "supplied", "advised")),
    start=maybe_when,
    batch=maybe_words,
    expiry=maybe_when,
    note=maybe_remark,
)
cautions = records(
    term=asserted_terms("caution"), ear=st.sampled_from((None, "right", "left")), since=maybe_when, note=maybe_remark
)


def in_order(event: dict[str, Any]) -> dict[str, Any]:
    """What ends before it starts is the record's mistake, and another test's."""
    found = sorted((event[k] for k in ("date", "ended") if k in event), key=WHENS.index)
    return {**event, **dict(zip([k for k in ("date", "ended") if k in event], found, strict=True))}


events = records(
    term=asserted_terms("disorder") | asserted_terms("surgery"), date=maybe_when, ended=maybe_when, note=maybe_remark
).map(in_order)
allergies = records(term=plain_terms("allergy"), reaction=maybe_words, note=maybe_remark)
works = records(method=st.just({"text": "microsuction"}), products=st.lists(products, max_size=3), note=maybe_remark)
impressions = records(
    term=asserted_terms("disorder").map(lambda t: {**t, "assertion": t["assertion"] or "present"}), note=maybe_remark
)
ears = records(
    history=st.lists(events, max_size=3),
    work=st.lists(works, max_size=2),
    impressions=st.lists(impressions, max_size=2),
    note=st.just("seen"),
)


def some(items: st.SearchStrategy[Any], *answers: str) -> st.SearchStrategy[Any]:
    return st.none() | st.sampled_from(answers) | st.lists(items, min_size=1, max_size=3)


def visit(**fields: Any) -> Visit:
    """A visit of an invented client with these fields."""
    base = {
        "number": "2026-014",
        "client": {"number": "C7", "legal_name": {"family": "Ash", "given": ["Ida"]}},
        "start": "2026-11-03T10:15+00:00",
        "end": "2026-11-03T10:40+00:00",
        "practitioners": [{"key": "JM", "name": {"family": "Moss"}}],
    }
    return Visit.model_validate({**base, **{k: v for k, v in fields.items() if v is not None}})


visits = st.builds(
    visit,
    allergies=some(allergies, "none known", "not asked"),
    medicines=some(products, "none", "not asked"),
    softeners=st.lists(products, max_size=2),
    cautions=st.lists(cautions, max_size=3),
    right=st.none() | ears,
    left=st.none() | ears,
)


def document(of: Visit) -> dict[str, Any]:
    """The document bundle as a receiver reads it from its bytes."""
    built = build_document(of, UUID(int=5), ZoneInfo("Europe/London"))
    read: dict[str, Any] = json.loads(dumps(built), parse_float=Decimal)
    return read


def resources(bundle: dict[str, Any], type: str) -> list[dict[str, Any]]:
    return [e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == type]
