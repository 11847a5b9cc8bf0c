"""What a PDF says to a machine that reads it aloud, by poppler's tools; and what its page should say, in order.

The order and the punctuation here are this file's own, taken from the shapes of `bridge/render/page.py`.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Iterable, Iterator
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from bridge.render.page import Page, Section


def tool(name: str) -> str:
    """Path of a command; without it the test is skipped, and fails under CI=true."""
    found = shutil.which(name)
    if found is None:
        if os.environ.get("CI") == "true":
            pytest.fail(f"{name} is not installed")
        pytest.skip(f"{name} is not installed")
    return found


def run(name: str, *words: str | Path) -> str:
    done = subprocess.run([tool(name), *map(str, words)], capture_output=True, check=False)
    assert done.returncode == 0, done.stderr[:500]
    return done.stdout.decode("utf-8", "replace")


def read_aloud(pdf: Path) -> str:
    """The words of the tagged document in the order of its tags, without labels of lists and without drawings."""
    found: list[str] = []
    skipped: int | None = None
    for line in run("pdfinfo", "-struct-text", pdf).splitlines():
        depth = len(line) - len(line.lstrip())
        if skipped is not None and depth > skipped:
            continue
        skipped = None
        if re.match(r" *(Figure|Lbl)\b", line):
            skipped = depth
        elif line.lstrip().startswith('"'):
            found.append(line.strip()[1:-1])
    return close("".join(found))


def close(words: str) -> str:
    """Without blanks, since lines break elsewhere."""
    return re.sub(r"\s+", "", words)


def expected(page: Page) -> str:
    return close("".join(_page(page)))


def _page(page: Page) -> Iterator[str]:
    """Red flags that stand come before everything but the title."""
    yield from (*page.marks, page.title)
    yield from _sections(s for s in page.sections if s.frame == "alert")
    for part in page.head:
        yield from (part.title, *part.lines)
        for name, words in part.rows:
            yield from (name, ":", words)
    yield page.client_title
    for name, words in page.client:
        yield from (name, words)
    yield page.introduction
    yield from _sections(s for s in page.sections if s.frame != "alert")
    yield from page.closing


def _sections(sections: Iterable[Section]) -> Iterator[str]:
    for section in sections:
        yield section.title
        for block in section.blocks:
            yield from _block(block)


def _block(block: Any) -> Iterator[str]:
    kind = type(block).__name__
    if kind == "Text":
        yield block.words
    elif kind == "Lines":
        yield block.title + (":" if len(block.title) > 13 else "")
        for line in block.lines:
            yield from (line.subject, ":" if line.subject else "", line.words)
    elif kind == "Pairs":
        for name, words in block.rows:
            yield from (name, words)
    elif kind == "Steps":
        for step in block.steps:
            yield from (step.action, *step.details)
    elif kind == "Ears":
        yield from block.titles
        for row in block.rows:
            yield row.title
            for cell in row.cells:
                for inner in cell.blocks:
                    yield from _in_cell(inner)
    elif kind == "Pictures":
        for picture in block.pictures:
            yield from (picture.title, *picture.legend)
        yield block.caption
    elif kind == "Grid":
        yield from (block.caption, *block.headings)
        for row in block.rows:
            yield from row
    else:
        yield unescape(re.sub(r"<[^>]*>", "", block.html))


def _in_cell(block: Any) -> Iterator[str]:
    if type(block).__name__ == "Text":
        yield block.words
    else:
        yield block.title
        for line in block.lines:
            yield from (line.subject, ":" if line.subject else "", line.words)
