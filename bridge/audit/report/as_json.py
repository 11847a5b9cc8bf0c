"""An audit as one JSON document, for programs: `mappings/schemas/audit.schema.json` says its shape."""

from __future__ import annotations

from typing import Any

from bridge import __version__
from bridge.audit.measures import band
from bridge.audit.report.chosen import changes, is_small
from bridge.audit.report.words import MEASURES, OF_GROUPS
from bridge.audit.shapes import Agreement, Audited, Group, PatternFound, Rate, TermUse
from bridge.issues import Issue


def to_json(audited: Audited, *, show_small: bool = False) -> dict[str, Any]:
    """Plain data, every key always there. Groups of fewer than five records have no rates unless asked for."""
    return {
        "tool": "visit-bridge",
        "version": __version__,
        "records": audited.records,
        "first_month": audited.first_month,
        "last_month": audited.last_month,
        "rates": {one.key: rate_json(one.rate(audited)) for one in MEASURES},
        "consistency": audited.consistency,
        "entropy": audited.entropy,
        "changes": [
            {"rate": one.measure.key, "month": one.month, "now": rate_json(one.now), "from": one.first,
             "until": one.until, "before": rate_json(one.before), "better": one.better}
            for one in changes(audited.months)
        ],
        "patterns": [_pattern(one) for one in audited.patterns],
        "agreement": [_agreement(one) for one in audited.agreement],
        "practitioners": [_group(one, show_small) for one in audited.practitioners],
        "months": [_group(one, show_small) for one in audited.months],
        "terms": [_term(one) for one in audited.terms],
        "suggestions": [
            {"kind": one.kind, "words": [{"text": t, "count": n} for t, n in one.words], "why": one.why}
            for one in audited.suggestions
        ],
        "worst": [
            {"record": one.number, "where": _where(one.where), "issues": [issue_json(found) for found in one.issues]}
            for one in audited.worst
        ],
        "left_out": {"known": audited.left_out.known, "earlier": audited.left_out.earlier},
        "issues": [issue_json(one) for one in audited.issues],
    }  # fmt: skip


def rate_json(rate: Rate) -> dict[str, Any]:
    return {"count": rate.count, "of": rate.of, "share": rate.share}


def _group(group: Group, show_small: bool) -> dict[str, Any]:
    hidden = is_small(group) and not show_small
    rates = {one.key: None if hidden else rate_json(one.rate(group)) for one in OF_GROUPS}
    return {"name": group.name, "records": None if hidden else group.records, "few": is_small(group), "rates": rates}


def _term(term: TermUse) -> dict[str, Any]:
    codes = [{"system": c.system, "code": c.code, "display": c.display, "count": c.count} for c in term.codes]
    kept = {"kind": term.kind, "text": term.text, "about": term.about, "count": term.count}
    return {**kept, "consistency": term.consistency, "entropy": term.entropy, "codes": codes}


def _agreement(told: Agreement) -> dict[str, Any]:
    kept = {"coders": list(told.coders), "things": told.things, "percent": told.percent}
    return {**kept, "kappa": told.kappa, "band": band(told.kappa), "alpha": told.alpha}


def _pattern(found: PatternFound) -> dict[str, Any]:
    return {
        "pattern": found.pattern,
        "title": found.title,
        "severity": found.severity.name,
        "rules": list(found.rules),
        "records": rate_json(found.records),
        "do": found.do,
        "not_shown": found.not_shown,
        "evidence": [issue_json(one) for one in found.evidence],
    }


def issue_json(found: Issue) -> dict[str, Any]:
    kept = {"rule": found.rule, "severity": found.severity.name, "message": found.message, "help": found.help}
    return {**kept, "where": _where(found.where)}


def _where(where: Any) -> dict[str, Any]:
    names = ("file", "sheet", "row", "column", "heading", "path", "record")
    return {name: getattr(where, name) for name in names}
