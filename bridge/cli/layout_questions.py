"""The questions of `layout draft --ask`: one by one, with numbered answers."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from bridge.drafting import Draft, Question

WIDTH = 80
Staff = Sequence[tuple[str, str]]
"""Keys of the practice's people, and their names."""
_ANOTHER = "another field: type its name"


class StoppedError(Exception):
    """The person stopped in the middle; `draft` has the answers so far."""

    def __init__(self, draft: Draft) -> None:
        super().__init__()
        self.draft = draft


def ask_all(draft: Draft, staff: Staff = ()) -> Draft:
    """The draft with the answers to what is open, worst first; what is skipped stays open. What follows from an answer
    is asked right after it. Raises StoppedError on Ctrl-C."""
    from bridge.drafting import answer, open_questions

    skipped: set[tuple[str, str, str]] = set()
    first = {q.key for q in open_questions(draft)}
    left = len(first)
    try:
        while waiting := [q for q in open_questions(draft) if q.key not in skipped]:
            follows = [q for q in waiting if q.key not in first]
            question = next(iter(follows or waiting))
            left = min(left, len(waiting) - len(follows))
            told = "[follows from your answers]" if follows else f"[{left} left]"
            said = _ask(draft, question, told)
            if said is None:
                skipped.add(question.key)
            else:
                draft = answer(draft, question, said)
        _ask_who(draft, staff)
    except click.Abort:
        raise StoppedError(draft) from None
    return draft


def _ask(draft: Draft, question: Question, told: str) -> str | None:
    """The answer, None where it is skipped. One that another column has already is asked again."""
    from bridge.drafting import clash, field_name
    from bridge.safe_text import shown

    click.echo("\n" + "\n".join(map(shown, told.split("\n"))))
    _lines(question.text)
    if question.samples:
        _lines("Cells: " + " | ".join(question.samples), "  ")
    answers = [*question.answers]
    for number, (_, name) in enumerate(answers, 1):
        click.echo(f"  {number}  {name}")
    last = len(answers)
    if question.about == "field":
        last += 1
        click.echo(f"  {last}  {_ANOTHER}")
    click.echo("  s  skip, and leave it open")
    choices = [*map(str, range(1, last + 1)), "s"]
    while True:
        chosen = click.prompt("Your answer", type=click.Choice(choices), show_choices=False)
        if chosen == "s":
            return None
        said = answers[int(chosen) - 1][0] if int(chosen) <= len(answers) else _named(draft)
        if said and (other := clash(draft, question, said)):
            _lines(f"The column “{other[:60]}” gives “{field_name(said, draft.rows)}” already, and a visit holds one.")
        elif said:
            return said


def _named(draft: Draft) -> str:
    """The field that the person names, chosen among the nearest; empty where it is none of them."""
    from bridge.drafting import field_name, fields_like

    near = fields_like(click.prompt("Name of the field"), draft.rows)
    if not near:
        _lines("No field has a name like that.")
        return ""
    if len(near) == 1:
        _lines(f"Taken: {field_name(near[0], draft.rows)}")
        return near[0]
    for number, path in enumerate(near, 1):
        click.echo(f"  {number}  {field_name(path, draft.rows)}")
    click.echo("  n  none of these")
    chosen = click.prompt(
        "Your answer", type=click.Choice([*map(str, range(1, len(near) + 1)), "n"]), show_choices=False
    )
    return "" if chosen == "n" else near[int(chosen) - 1]


def _ask_who(draft: Draft, staff: Staff) -> None:
    """Who saw the clients, where no column says so: the one thing that may hold for every row."""
    from bridge.drafting import BY, needs_somebody

    if not staff or not needs_somebody(draft) or any(BY in g.options for g in draft.guesses):
        return
    click.echo()
    _lines("No column says who saw the clients of this sheet. If it was one person in every row: who?")
    for key, name in staff:
        click.echo(f"  {key}  {name}")
    keys = {key.casefold(): key for key, _ in staff}
    choice = click.Choice([*keys.values(), ""], case_sensitive=False)
    said = click.prompt("Key, or nothing", default="", show_default=False, show_choices=False, type=choice)
    if said:
        draft.constants[BY] = keys[said.casefold()]


def _lines(text: str, indent: str = "") -> None:
    from bridge.safe_text import shown

    click.echo("\n".join(map(shown, wrap(text, WIDTH, subsequent_indent=indent))))
