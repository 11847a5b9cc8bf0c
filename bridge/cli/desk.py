"""Where letters go: into files, named and told one by one, or the only one to standard output."""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from bridge.in_turn import InTurn
from bridge.issues import Issue, Made, issue

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bridge.about_document import About
    from bridge.deliver import Keeper
    from bridge.issues import Report, Where
    from bridge.letters import Wish
    from bridge.shapes import Document, Json

FIRST_FEW = 12
"""Files that are named before the rest is only counted."""
FIGURES = {
    "written": "letters written",
    "replaced": "letters replaced",
    "unchanged": "letters unchanged",
    "left": "letters not written over",
}
"""How a report counts what became of a file."""


class Letter(NamedTuple):
    """What became of one bundle: each form with what was found, and where it belongs."""

    forms: list[tuple[Document | None, list[Issue]]]
    said: About
    folder: Path
    where: Where


@dataclass(slots=True)
class Desk:
    """Makes the letters of bundles as they are wished, and puts them where they are wanted."""

    wish: Wish
    keeper: Keeper
    report: Report
    folder: Path | None
    """Where to write; beside the source where none is named."""
    to_stdout: bool = False
    _held: Document | None = field(default=None, init=False)
    _in_turn: InTurn[Letter] = field(default_factory=InTurn, init=False)

    def hand_out(self, bundle: Json, said: About, stem: str, beside: Path, where: Where) -> None:
        """Has each form of the letter of a bundle made, and writes what was made by now.

        Raises UsageError for a second one to standard output.
        """
        from bridge.letters import letters

        def make() -> Letter:
            return Letter(list(letters(bundle, said, stem, self.wish)), said, self.folder or beside, where)

        for made in self._in_turn.give(make):
            self._take(made)

    def _take(self, made: Letter) -> None:
        where = made.where
        for document, found in made.forms:
            if document is not None and self.to_stdout:
                self._hold(document)
            elif document is not None:
                found = [*found, *self._put(document, made.said, made.folder)]
            self.report.extend(
                i.at(file=where.file, sheet=where.sheet, row=where.row, record=where.record, unseen=where.unseen)
                for i in found
            )

    def tell_left(self, stem: str, kinds: Sequence[str], folder: Path) -> None:
        """D116 for letters of an earlier run that this one would not write."""
        from bridge.deliver import letter_name

        if self.to_stdout or self.wish.names:
            return
        for kind in kinds:
            for form in self.wish.forms:
                for draft in (False, True):
                    self.report.extend(_from_before(folder, letter_name(stem, kind, form, draft=draft)))

    def close(self, *, quiet: bool) -> None:
        """Waits for what is still being made; then prints the letter that was held for standard output, or names the
        files that were written."""
        for made in self._in_turn.rest():
            self._take(made)
        if self.to_stdout:
            if self._held is None:
                self.report.extend([issue("D178", "No letter came of what was named.", cause="D178")])
            else:
                click.echo(self._held.content, nl=False)
        elif not quiet:
            new = [file for file in self.report.files if file.state in ("written", "replaced")]
            for file in new[:FIRST_FEW]:
                click.echo(file.path)
            if len(new) > FIRST_FEW:
                click.echo(f"... and {len(new) - FIRST_FEW} more beside them.")

    def _put(self, document: Document, said: About, folder: Path) -> list[Issue]:
        state, found = self.keeper.put(document, folder)
        self.report.files.append(Made(str(folder / document.name), state, said.number))
        self.report.count(FIGURES[state])
        if said.draft:  # what was approved once may not be sent on while the record is a draft again
            before, _, ending = document.name.rpartition(".draft.")
            found = [*found, *_from_before(folder, f"{before}.{ending}")]
        return found

    def _hold(self, document: Document) -> None:
        if self._held is not None:
            raise click.UsageError(
                "More than one letter is due, and standard output takes one: choose with --visit, or name a folder"
                " with --to."
            )
        self._held = document


def _from_before(folder: Path, name: str) -> list[Issue]:
    """D116 where a letter of an earlier run stands that this run does not write."""
    if not (folder / name).exists():
        return []
    return [issue("D116", f"{name} from an earlier run is still in the folder.", cause="D116")]


def refuse_terminal(forms: Sequence[str]) -> None:
    """Raises UsageError where a PDF would go to a terminal, or several forms to standard output."""
    if len(forms) > 1:
        raise click.UsageError("Standard output takes one letter in one form; name a folder with --to.")
    if "pdf" in forms and on_terminal():
        raise click.UsageError(
            "A PDF is not for a terminal: send it to a file (> letter.pdf), or name a folder with --to."
        )


def on_terminal() -> bool:
    return sys.stdout.isatty()
