"""A report as one JSON document, for programs: every field of every issue, always present."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Any, TextIO

from bridge import __version__
from bridge.issues import Explained, Issue, Report, Severity, Where, rule_of
from bridge.report.caution import caution


def to_json(report: Report) -> dict[str, Any]:
    """The report as plain data. Issues stand in the order met; counts have all four severities."""
    counts = {level.name: sum(i.severity == level for i in report.issues) for level in reversed(Severity)}
    return {
        "tool": "visit-bridge",
        "version": __version__,
        "figures": dict(report.figures),
        "counts": counts,
        "records": [{"record": o.record, "state": o.state, "where": _where(o.where)} for o in report.outcomes],
        "left_alone": [{"why": one.why, "where": _where(one.where)} for one in report.left_alone],
        **({"files": [asdict(one) for one in report.files]} if report.files else {}),
        **({"explained": [_explained(one) for one in report.explained]} if report.explained else {}),
        "caution": caution(report),
        "issues": [_issue(found) for found in report.issues],
    }


def write_report(report: Report, stream: TextIO) -> None:
    # ASCII with escapes: it stays JSON on a console that cannot show every letter.
    json.dump(to_json(report), stream, indent=2)
    stream.write("\n")


def _issue(found: Issue) -> dict[str, Any]:
    page = rule_of(found.rule)
    return {
        "rule": found.rule,
        "severity": found.severity.name,
        "kind": found.kind,
        "trade": page.trade if page else False,
        "attention": found.attention,
        "message": found.message,
        "help": found.help,
        "cause": found.cause,
        "where": _where(found.where),
    }


def _explained(one: Explained) -> dict[str, Any]:
    held = [{"profile": profile, "element": element, "slice": sliced} for profile, element, sliced in one.held]
    row = {"row": one.row} if one.row else {}
    return {"file": one.file, **row, "path": one.path, "type": one.type, "held": held, "rules": list(one.rules)}


def _where(where: Where) -> dict[str, Any]:
    return {name: value for name, value in asdict(where).items() if name != "unseen"}
