"""A small folder of rules that is right, for tests of what is wrong."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import yaml

CASES = Path(__file__).parents[2] / "cases" / "clinical-refused"
GROUPS = "groups:\n  holes: [drum-perforation, drum-perforation-attic]\n"
QUESTIONS = """\
questions:
  dry:
    asks: whether the {ear} ear is to be kept dry
    terms: {in: [ear.before.drum.findings], mean: [holes]}
  aspirated:
    asks: whether suction was used
    recorded: [item.suction]
  far:
    asks: whether it is far
    recorded: [item.places]
"""
RULE: dict[str, Any] = {
    "code": "C201",
    "title": "A good rule",
    "severity": "warning",
    "each": "ear",
    "when": ["dry"],
    "if": ["dry"],
    "message": "The {ear} ear has {dry}.",
    "what": "A drum with a hole.",
    "do": "Look again.",
    "sources": [{"id": "common-practice"}],
    "status": "common practice",
    "reviewed": date(2026, 11, 26),
}


def cases(name: str) -> list[dict[str, Any]]:
    from bridge.rule_file import read_rule_file

    found: list[dict[str, Any]] = read_rule_file(CASES / f"{name}.yaml")
    return found


def written(rules: list[Any]) -> str:
    """One key on each line, whatever its value."""
    lines = ["rules:"]
    for rule in rules:
        for number, (key, value) in enumerate(rule.items()):
            told = yaml.safe_dump(value, default_flow_style=True, width=10_000).removesuffix("\n...\n").strip()
            lines.append(f"  {'-' if not number else ' '} {key}: {told}")
    return "\n".join(lines) + "\n"


def folder(root: Path, **files: str) -> Path:
    """Groups, questions and rules with the files named laid beside them (`rules`, `questions_more`)."""
    for name, text in {"groups": GROUPS, "questions": QUESTIONS, "rules": written([RULE]), **files}.items():
        kind = name.partition("_")[0]
        (root / kind).mkdir(parents=True, exist_ok=True)
        (root / kind / f"{name}.yaml").write_text(text, encoding="utf-8")
    return root
