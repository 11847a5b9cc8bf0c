"""Pages judged by others: html-validate (markup), axe-core in headless Chromium (WCAG), and Chromium's own layout.

The judges meet every kind of page: summaries, referrals, a correction, drafts, the client's copy, large type, the whole
record of a client, a document of others, the audit's. Each is first asked about a page with known faults.
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

from bridge.audit.report.as_html import to_html as audit_html
from bridge.audit.roll_up.as_html import to_html as roll_up_html
from bridge.audit.shapes import Audited
from bridge.handover import Around
from bridge.render.as_html import render
from tests.audit.hand_made import audited
from tests.audit.roll_ups import rolled_up
from tests.build.ips.some import visit
from tests.handover.some import made_of, page_of
from tests.handover.test_contents import some
from tests.oracles.test_outside import unable
from tests.render.pages import bundle_of
from tests.render.raw_visits import Maker
from tests.standards import ROOT

HERE = Path(__file__).parent
BUNDLES = sorted((ROOT / "demo_bundles").glob("*.bundle.json"))
RECORDS = sorted((ROOT / "demo_bundles/summaries").rglob("*.bundle.json"))
RICH = ("M26-0110.bundle.json", "M26-0126.bundle.json", "M26-0128.referral.bundle.json", "M26-0130.bundle.json")
JUDGES = ("axe-core", "html-validate", "playwright-core")
FAULTY = """<!DOCTYPE html><html><head><meta charset="utf-8"><title>x</title></head><body><main>
<h1>One</h1><h3>Three</h3><p id="a" style="color:#bbb;background:#fff">pale words</p><p id="a">twice
<table><tr><td>a</td></tr></table><img src="https://example.org/x.png">
<div style="width:2000px">wide</div></main></body></html>"""


def chromium() -> str:
    node, browser = shutil.which("node"), shutil.which("chromium") or shutil.which("google-chrome")
    if node is None:
        unable("node is not installed")
    if not all(
        (HERE / "npm/node_modules" / name).is_dir() for name in ("axe-core", "html-validate", "playwright-core")
    ):
        unable("the npm judges of pages are not installed; run tests/oracles/npm/install")
    if browser is None:
        unable("chromium is not installed")
    return str(browser)


def judged(pages: dict[str, bytes], folder: Path) -> dict[str, dict[str, Any]]:
    """What the judges say of each page, by its name."""
    browser = chromium()
    files = []
    for number, content in enumerate(pages.values()):
        files.append(folder / f"{number}.html")
        files[-1].write_bytes(content)
    command = ["node", str(HERE / "npm/pages.js"), browser, *map(str, files)]
    run = subprocess.run(command, capture_output=True, text=True, timeout=600)
    assert run.returncode == 0, run.stderr[-500:]
    return dict(zip(pages, map(json.loads, run.stdout.splitlines()), strict=True))


def read(path: Path) -> Any:
    return json.loads(path.read_text(encoding="utf-8"))


def of_others(bundle: Any) -> Any:
    """The same document as if another program had written it."""
    return json.loads(json.dumps(bundle).replace('"visit-bridge"', '"another program"'))


def endless(kind: str) -> Any:
    """A letter whose own words are 160 letters long."""
    raw = Maker(3).visit()
    return bundle_of(json.loads(re.sub(r"Q\d{3}Z", lambda token: token[0] * 32, json.dumps(raw))), kind)


def handovers() -> dict[str, bytes]:
    """Index pages of hand-overs: of generated records, signed and sealed, and a client's own."""
    around = Around("2026-11-26", "0123 4567", "key", "C-1-handover.zip.age")
    made = {
        "generated": made_of(*some(1), around=around),
        "corrected": made_of(visit(1, note="one"), visit(1, version=2, replaces=1, note="two"), visit(2)),
        "client": made_of(*some(2), reader="client"),
    }
    return {name: page_of(one).encode() for name, one in made.items()}


def pages() -> dict[str, bytes]:
    found = {path.name: render(read(path)).content for path in (*BUNDLES, *RECORDS)}
    made: dict[str, Callable[[Any], bytes]] = {
        "large": lambda b: render(b, large=True).content,
        "client": lambda b: render(b, reader="client").content,
        "client, large": lambda b: render(b, reader="client", large=True).content,
        "of others": lambda b: render(of_others(b)).content,
    }
    found |= {f"words without a break, {kind}": render(endless(kind)).content for kind in ("summary", "referral")}
    found["audit"] = audit_html(audited(), clinic="Millbrook Ear Care", show_small=True).encode()
    found["audit of nothing"] = audit_html(Audited()).encode()
    found["audits of clinics"] = roll_up_html(rolled_up()).encode()
    found |= {f"hand-over, {name}": made for name, made in handovers().items()}
    rich = [path for path in BUNDLES if path.name in RICH]
    return found | {f"{path.name}, {name}": make(read(path)) for path in rich for name, make in made.items()}


def test_the_judges_tell_a_faulty_page(tmp_path: Path) -> None:
    found = judged({"faulty": FAULTY.encode()}, tmp_path)["faulty"]
    for word in ("no-dup-id", "no-inline-style", "element-required-attributes"):
        assert any(word in told for told in found["html"]), (word, found["html"])
    for word in ("image-alt", "color-contrast", "html-has-lang"):
        assert any(word in told for told in found["axe"]), (word, found["axe"])
    assert found["wide"]
    assert found["asked"] == ["https://example.org/x.png"]


def test_no_judge_finds_anything_on_any_page(tmp_path: Path) -> None:
    asked = pages()
    assert len(asked) >= len(BUNDLES) + 4 * len(RICH)
    found = judged(asked, tmp_path)
    assert min(told["passed"] for told in found.values()) > 20
    faults = {name: [*t["html"], *t["axe"], *t["wide"], *t["asked"]] for name, t in found.items()}
    assert {name: told for name, told in faults.items() if told} == {}
