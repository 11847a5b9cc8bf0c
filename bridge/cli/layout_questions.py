"""The questions of `layout draft --ask`: one by one, with numbered answers."""

from __future__ import annotations

from textwrap import wrap
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from bridge.drafting import Draft, Question

WIDTH = 80


def ask_all(draft: Draft) -> Draft:
    """The draft with the answers to what is open, worst first; what is skipped stays open. Answers may lead to
    further questions."""
    from bridge.drafting import answer, open_questions

    skipped: set[tuple[str, str, str]] = set()
    while waiting := [q for q in open_questions(draft) if q.key not in skipped]:
        said = _ask(waiting[0], len(waiting))
        if said is None:
            skipped.add(waiting[0].key)
        else:
            draft = answer(draft, waiting[0], said)
    return draft


def _ask(question: Question, left: int) -> str | None:
    click.echo(f"\n[{left} left]")
    click.echo("\n".join(wrap(question.text, WIDTH)))
    if question.samples:
        click.echo("\n".join(wrap("Cells: " + " | ".join(question.samples), WIDTH, subsequent_indent="  ")))
    for number, (_, told) in enumerate(question.answers, 1):
        click.echo(f"  {number}  {told}")
    click.echo("  s  skip, and leave it open")
    choices = [*map(str, range(1, len(question.answers) + 1)), "s"]
    chosen = click.prompt("Your answer", type=click.Choice(choices), show_choices=False)
    return None if chosen == "s" else question.answers[int(chosen) - 1][0]
