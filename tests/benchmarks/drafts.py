"""How well layouts are drafted for sheets of strangers: `python -m tests.benchmarks.drafts [-v] [FOLDER]`.

The truth beside each file was written by somebody who never saw the tables of headings. A column is right where the
draft sends it to a field that the truth allows, asked where the draft asks and one of its answers is right, and wrong
otherwise. Sides, consents and "normal" are counted apart: a wrong one of those must never happen.
"""

from __future__ import annotations

import re
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

from bridge.drafting import ASK, Draft, Guess
from bridge.drafts import draft_file
from bridge.errors import BridgeError
from bridge.layout.tables import fold
from tests.draft_files import HERE, Column, Sheet, draft_files
from tests.drafting.strangers import draft_of, strangers

DANGERS = ("side", "consent", "normal")
PROSE = re.compile(r"(?:.*\.)?note")


def main(folder: Path = HERE) -> int:
    total: Counter[str] = Counter()
    print(f"{'file or sheet':<42}{'columns':>8}{'right':>7}{'asked':>7}{'wrong':>7}  wrong sides, consents, normals")
    for name, sheet, make in cases(folder):
        counts = Counter({"columns": len(sheet.columns)})
        try:
            draft = make()
        except BridgeError as error:
            print(f"{name:<42}{len(sheet.columns):>8}  not drafted: {error.message[:60]}")
            total["columns"] += len(sheet.columns)
            continue
        notes = list(judge(draft, sheet))
        counts.update(kind for kind, _ in notes)
        total.update(counts)
        print(
            f"{name:<42}{counts['columns']:>8}{counts['right']:>7}{counts['asked']:>7}{counts['wrong']:>7}"
            f"  {counts['side']}, {counts['consent']}, {counts['normal']}"
        )
        for kind, told in notes:
            if kind in DANGERS:
                print(f"    DANGER {told}")
            elif kind != "right" and "-v" in sys.argv:
                print(f"    {kind}: {told}")
    columns = max(1, total["columns"])
    right, asked = total["right"], total["asked"]
    print(
        f"right {right} ({right / columns:.0%}), asked {asked}, wrong {total['wrong']} of {total['columns']}:", end=" "
    )
    print(f"{(right + asked) / columns:.0%} right or asked")
    return 1 if sum(total[kind] for kind in DANGERS) else 0


def cases(folder: Path) -> Iterator[tuple[str, Sheet, Callable[[], Draft]]]:
    """What is drafted, its truth, and how to draft it: the files of the folder, and the sheets of `tests/drafting`."""
    for path, truth in draft_files(folder):
        for sheet in truth.sheets:
            if sheet.rows != "none":
                yield path.name, sheet, partial(draft_file, path, sheet.name)
    if folder == HERE:
        for name, (drafted, truth_of) in strangers().items():
            yield name, truth_of, partial(draft_of, drafted)


def judge(draft: Draft, sheet: Sheet) -> Iterator[tuple[str, str]]:
    """For each column of the truth what became of it, and every dangerous mistake."""
    if sheet.rows in ("visit", "ear") and draft.rows not in (sheet.rows, ASK):
        yield "rows", f"rows: {draft.rows}, and it is {sheet.rows}"
    by_heading = {fold(g.heading): g for g in draft.guesses}
    for column in sheet.columns:
        guess = by_heading.get(fold(column.heading))
        if guess is None:
            fits = "ignore" in column.to or not column.heading
            yield ("right" if fits else "wrong"), f"{column.heading}: not in the draft, truth {column.to}"
            continue
        yield _column(guess, column)
        yield from _dangers(guess, column, sheet)


def _column(guess: Guess, column: Column) -> tuple[str, str]:
    told = f"{column.heading}: {guess.field} {guess.options or ''}, truth {', '.join(column.to)}"
    if guess.field != ASK:
        return ("right" if any(same(guess.field, to) for to in column.to) else "wrong"), told
    if "ask" in column.to:
        return "right", told
    return ("asked" if any(same(f, to) for f in guess.options for to in column.to) else "wrong"), told


def same(field: str, truth: str) -> bool:
    """Whether both name one field; a group of fields and its own words are one."""
    ours, theirs = (re.sub(r"\[\d+\]", "", text) for text in (field, truth))
    if theirs == "text":
        return PROSE.fullmatch(ours) is not None
    ours, theirs = ours.removeprefix("ear."), theirs.removeprefix("ear.")
    return ours == theirs or theirs.startswith(f"{ours}.") or (PROSE.fullmatch(ours) is not None and theirs == "note")


def _dangers(guess: Guess, column: Column, sheet: Sheet) -> Iterator[tuple[str, str]]:
    sides = {to.split(".")[0] for to in column.to if to.startswith(("right.", "left."))}
    ours = guess.field.split(".")[0]
    if ours in ("right", "left") and ours not in (sides or {ours}):
        yield "side", f"{column.heading}: {guess.field}, truth {column.to}"
    if guess.field.startswith(("consent.status", "sharing.status")) and not any(
        same(guess.field, to) for to in column.to
    ):
        yield "consent", f"{column.heading}: {guess.field}, truth {column.to}"
    truth = {fold(cell): means for cell, means in sheet.words.get(column.heading, {}).items()}
    for word, means in guess.words.items():
        allowed = truth.get(fold(word))
        if allowed is None or means == ASK:
            continue
        if means in ("normal", "not seen", "not examined") and means not in allowed:
            yield "normal", f"{column.heading}: “{word}” as {means}, truth {allowed}"
        if guess.field.endswith("status") and means not in allowed:
            yield "consent", f"{column.heading}: “{word}” as {means}, truth {allowed}"
        if guess.field == "ear" and means not in allowed:
            yield "side", f"{column.heading}: “{word}” as {means}, truth {allowed}"


if __name__ == "__main__":
    folders = [Path(a) for a in sys.argv[1:] if not a.startswith("-")]
    sys.exit(main(*folders))
