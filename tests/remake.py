"""Makes the reviewed outputs again: `python -m tests.remake`. Read the difference before you commit it.

`demo_bundles/` is what `visit-bridge demo` writes, without the records it unpacks.
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from bridge.demo import make_demo, unpack
from bridge.pipeline import Converter
from bridge.practice import load_practice

ROOT = Path(__file__).resolve().parents[1]
DEMO_BUNDLES = ROOT / "demo_bundles"
MADE = ("*.bundle.json", "transactions/*.bundle.json", "summaries/*.bundle.json", "letters/*.html",
        "letters/M26-0101-v2.pdf", "letters/M26-0110.pdf", "letters/M26-0128.referral.pdf",
        "letters/M26-0104.client.draft.pdf", "cda/M26-0110.cda.xml")  # fmt: skip
"""All of the data and the pages, and an example or two of what is larger."""


def make_into(folder: Path, settings: str = "") -> None:
    """The demo as a person gets it, in a folder that is empty or missing; `settings` are added to practice.yaml."""
    unpack(folder)
    if settings:
        with (folder / "practice" / "practice.yaml").open("a", encoding="utf-8") as stream:
            stream.write(settings)
    practice, issues = load_practice(folder / "practice")
    assert practice is not None, issues
    for _ in make_demo(folder, Converter(practice, folder / "practice", issues)):
        pass


def outputs(folder: Path) -> dict[str, bytes]:
    """What was made, by its path under the folder."""
    found = (path for pattern in MADE for path in folder.glob(pattern))
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(found)}


def remake_demo_bundles() -> None:
    with tempfile.TemporaryDirectory() as temporary:
        make_into(Path(temporary) / "demo")
        made = outputs(Path(temporary) / "demo")
    for old in DEMO_BUNDLES.iterdir():
        if old.name != "README.md":
            shutil.rmtree(old) if old.is_dir() else old.unlink()
    for name, content in made.items():
        path = DEMO_BUNDLES / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(content)


if __name__ == "__main__":
    remake_demo_bundles()
