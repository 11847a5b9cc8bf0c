"""How well layouts are drafted for the clinic files of strangers: `python -m tests.benchmarks.drafts [FOLDER]`.

The truth beside each file was written by somebody who never saw the tables of headings. A column is right where the
draft sends it to a field that the truth allows, asked where the draft asks and one of its answers is right, and wrong
otherwise. Sides, consents and "normal" are counted apart: a wrong one of those must never happen.
"""

from __future__ import annotations

import re
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from bridge.drafting import ASK, Draft, Guess
from bridge.drafts import draft_file
from bridge.errors import BridgeError
from bridge.layout.tables import fold
from tests.draft_files import HERE, Column, Sheet, draft_files

PROSE = re.compile(r"(?:.*\.)?note")


def main(folder: Path = HERE) -> int:
    total: Counter[str] = Counter()
    print(f"{'file':<34}{'columns':>8}{'right':>7}{'asked':>7}{'wrong':>7}  wrong sides, consents, normals")
    for path, truth in draft_files(folder):
        for sheet in truth.sheets:
            if sheet.rows == "none":
                continue
            counts = Counter({"columns": len(sheet.columns)})
            try:
                draft = draft_file(path, sheet.name)
            except BridgeError as error:
                print(f"{path.name:<34}{len(sheet.columns):>8}  not drafted: {error.message[:60]}")
                total["columns"] += len(sheet.columns)
                continue
            notes = list(judge(draft, sheet))
            counts.update(kind for kind, _ in notes)
            total.update(counts)
            bad = [told for kind, told in notes if kind in ("side", "consent", "normal")]
            print(
                f"{path.name:<34}{counts['columns']:>8}{counts['right']:>7}{counts['asked']:>7}{counts['wrong']:>7}"
                f"  {counts['side']}, {counts['consent']}, {counts['normal']}"
            )
            for kind, told in notes:
                if kind != "right" and "-v" in sys.argv:
                    print(f"    {kind}: {told}")
            for told in bad:
                print(f"    DANGER {told}")
    share = (total["right"] + total["asked"]) / max(1, total["columns"])
    print(f"right {total['right']}, asked {total['asked']}, wrong {total['wrong']} of {total['columns']}:", end=" ")
    print(f"{share:.0%} right or asked")
    return 1 if total["side"] + total["consent"] + total["normal"] else 0


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
