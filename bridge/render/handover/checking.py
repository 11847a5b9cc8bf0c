"""How a stranger opens the seal and checks the signature with open tools alone: lines to be run as they stand."""

from __future__ import annotations

from bridge.data import table_path
from bridge.render.handover.told import Told
from bridge.render.page import Block, Listing, Section, Text
from bridge.wording import say

SCRIPT = "check_parcel.py"
OPENED = "parcel"


def opening(seal: str, name: str) -> str:
    """The lines of a shell that open a sealed file with age (https://age-encryption.org/v1) and unzip."""
    identity = "-i my-age-key.txt " if seal == "key" else ""
    return f"age -d {identity}-o parcel.zip {name}\nunzip -q parcel.zip -d {OPENED}\n"


def checking(told: Told) -> Section:
    """The seal, then the signature and every file, then whose key it is."""
    blocks: list[Block] = []
    if told.seal:
        blocks += [Text(say(f"handover.check.seal.{told.seal}")), Listing(opening(told.seal, told.sealed_as))]
    if not told.fingerprint:
        return Section("check", say("handover.check.title"), [*blocks, Text(say("handover.check.unsigned"), "strong")])
    script = table_path("documents", "handover-check.txt").read_text(encoding="utf-8")
    blocks += [
        Text(say("handover.check.signature", script=SCRIPT)),
        Listing(script),
        Text(say("handover.check.run")),
        Listing(f"python -m pip install cryptography\npython {SCRIPT} {OPENED}\n"),
        Text(say("handover.check.says")),
        Text(say("handover.check.fingerprint")),
        Listing(f"signed by {told.fingerprint}\n"),
        Text(say("handover.check.phone"), "strong"),
        Text(say("handover.check.jose"), "caution"),
    ]
    return Section("check", say("handover.check.title"), blocks)
