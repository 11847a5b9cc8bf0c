"""`visit-bridge explain`: the page of a rule, or the list of all of them."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from bridge.cli.explain_clinical import Clinical, clinical, flag_words, standing
from bridge.cli.options import json_option, practice_option
from bridge.clinical_caution import clinical_caution
from bridge.issues import Rule, Severity

WIDTH = 80
FAMILIES = {
    "R": "Reading, layouts and practice settings",
    "M": "Words and codes",
    "S": "Structure of a resource",
    "B": "Bundles, links and documents",
    "V": "The standard's invariants",
    "N": "Narrative",
    "P": "Profiles",
    "T": "Terminology",
    "C": "The trade: sides, identity, what a careful colleague notices",
    "D": "Delivery",
    "X": "Receiving",
    "A": "Audit",
}
"""What the letter of a code stands for."""


@click.command("explain")
@click.argument("rule", required=False)
@practice_option
@json_option
def command(rule: str | None, practice: Path | None, as_json: bool) -> None:
    """Say what a rule means, why it matters and what to do.

    RULE is a code from a report, such as R101. Without it, all rules are listed,
    those of your practice folder too.

    \b
    Examples:
      visit-bridge explain
      visit-bridge explain R101
      visit-bridge explain C590
    """
    import json

    from bridge.issues import rules

    pages, said = rules(), dict[str, Clinical]()
    if rule is None or rule.strip()[:1] in ("c", "C"):
        own, said = clinical(practice)
        pages = {**pages, **own}
    if rule is None:
        chosen = sorted(pages)
    elif (code := rule.strip().upper()) in pages:
        chosen = [code]
    else:
        near = nearest(rule, list(pages.values()))
        hint = f" Near it: {', '.join(near)}." if near else ""
        raise click.UsageError(f"There is no rule {rule[:40]!r}.{hint} `visit-bridge explain` lists them all.")
    if as_json:
        found = [_as_data(pages[code], said.get(code)) for code in chosen]
        click.echo(json.dumps(found[0] if rule else found, indent=2))
    elif rule is None:
        click.echo("\n".join(table([pages[code] for code in chosen])))
    else:
        click.echo("\n".join(page(pages[chosen[0]], said.get(chosen[0]))))


def nearest(text: str, pages: list[Rule], most: int = 5) -> list[str]:
    """Codes that begin most like the text, or else those whose title has it as a word."""
    text = text.strip()
    shared = {page.code: _shared_start(page.code, text.upper()) for page in pages}
    best = max(shared.values(), default=0)
    if best and len(text) <= 5:
        near = [code for code, length in shared.items() if length == best]
    else:
        near = [page.code for page in pages if text.lower() in page.title.lower()]
    return sorted(near)[:most]


def _shared_start(one: str, other: str) -> int:
    pairs = zip(one, other, strict=False)
    return next((n for n, (a, b) in enumerate(pairs) if a != b), min(len(one), len(other)))


def table(pages: list[Rule]) -> Iterator[str]:
    """All rules, a line or two each, family by family."""
    letter = ""
    for rule in pages:
        if rule.code[0] != letter:
            if letter:
                yield ""
            letter = rule.code[0]
            yield FAMILIES[letter]
        start = f"  {rule.code:<6}{_word(rule.severity):<9}"
        yield from textwrap.wrap(rule.title, WIDTH, initial_indent=start, subsequent_indent=" " * len(start))


def page(rule: Rule, said: Clinical | None = None) -> Iterator[str]:
    """A rule's page for a person, 80 columns wide; `said` is more about a clinical one."""
    yield from textwrap.wrap(f"{rule.code}  {rule.title}", WIDTH, subsequent_indent=" " * 6)
    yield f"{FAMILIES[rule.code[0]]}; {_word(rule.severity).lower()}"
    for text in (flag_words(rule), said.changed if said else ""):
        yield from textwrap.wrap(text, WIDTH, break_on_hyphens=False)
    for heading, text in (("What", rule.what), ("Why it matters", rule.why), ("What to do", rule.do)):
        if text:
            yield from ("", heading)
            yield from _paragraphs(text)
    for heading, text in (("Not like this", rule.wrong), ("But like this", rule.right)):
        if text:
            yield from ("", heading)
            yield from _as_written(text)
    if said and said.asks:
        yield from ("", "What it asks of the record")
        for asked in said.asks:
            yield from textwrap.wrap(asked, WIDTH, initial_indent="  - ", subsequent_indent="    ")
    if rule.source:
        yield from ("", "Source")
        yield from _paragraphs(rule.source)
    if rule.status:
        yield from _paragraphs(standing(rule))
    if rule.trade:
        yield ""
        yield from textwrap.wrap(clinical_caution(), WIDTH)


def _paragraphs(text: str) -> Iterator[str]:
    for paragraph in text.strip().split("\n\n"):
        yield from textwrap.wrap(paragraph, WIDTH, initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False)


def _as_written(text: str) -> Iterator[str]:
    """An example keeps its own lines; only what is too long is broken."""
    for line in text.strip("\n").splitlines():
        wrapped = textwrap.wrap(line, WIDTH, initial_indent="    ", subsequent_indent="      ", drop_whitespace=False)
        yield from [one.rstrip() for one in wrapped] or [""]


def _word(severity: Severity) -> str:
    return "Note" if severity is Severity.information else severity.name.capitalize()


def _as_data(rule: Rule, said: Clinical | None) -> dict[str, Any]:
    clinical = {"asks": said.asks, "changed": said.changed, "caution": clinical_caution()} if said else {}
    return {**asdict(rule), "severity": rule.severity.name, **clinical}
