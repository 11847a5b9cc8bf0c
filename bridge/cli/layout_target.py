"""Where `layout draft` writes, what it never writes over unasked, and what is kept when the person stops."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from bridge.drafting import Draft


def is_dash(to: Path | None) -> bool:
    return to is not None and str(to) == "-"


def refuse_to_overwrite(ctx: click.Context, to: Path | None, replace: bool) -> None:
    """Stops where the file that was named is there already."""
    if to is not None and not is_dash(to) and to.exists() and not replace:
        click.echo(f"{to} is there already; nothing was overwritten.", err=True)
        click.echo("Name another file, or say --replace.", err=True)
        ctx.exit(1)


def target_of(file: Path, folder: Path | None, known: Path | None) -> Path:
    """Where the answered layout goes if no file was named: over the sheet's own layout, or beside the others."""
    return known or (folder / "layouts" / f"{file.stem}.yaml" if folder else Path(f"{file.stem}.layout.yaml"))


def may_write(target: Path, replace: bool) -> bool:
    """Whether it is a new file, or one that the person lets go."""
    if replace or not target.exists():
        return True
    return click.confirm(f"\n{target} is there already. Write over it?", default=False)


def write_page(page: str, target: Path) -> None:
    from bridge.safe_write import write_bytes

    target.parent.mkdir(parents=True, exist_ok=True)
    write_bytes(target, page.encode("utf-8"))


def tell_written(target: Path, *, open_questions: bool, err: bool = False) -> None:
    click.echo(f"Written: {target}", err=err)
    if open_questions and target.parent.name == "layouts":
        click.echo("While a question stands open in it, no sheet is read with the layouts of this", err=err)
        click.echo("folder. Answer it there or with --ask.", err=err)


def keep_answers(draft: Draft, file: Path, target: Path | None) -> None:
    """After Ctrl-C: the answers so far go into a new file if the person says so. A second Ctrl-C keeps nothing."""
    from bridge.drafting import layout_page

    if target is None or target.exists():
        click.echo("\nStopped; nothing was written.")
    elif click.confirm(f"\nStopped. Keep the answers so far in {target}?", default=False):
        write_page(layout_page(draft), target)
        tell_written(target, open_questions=True)
        click.echo(f"Go on with: visit-bridge layout draft {_quoted(file)} --ask")
        click.echo("It takes over what is answered.")
        return
    click.echo(f"To begin again: visit-bridge layout draft {_quoted(file)} --ask")


def _quoted(file: Path) -> str:
    return f'"{file}"' if " " in str(file) else str(file)
