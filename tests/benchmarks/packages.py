"""What it costs to compile a package of 500 definitions, and to open it once it is kept.

    python -m tests.benchmarks.packages

The definitions are published ones (FHIR R4's extensions and profiles, IPS) under another canonical, with their
differentials alone and with their snapshots, with extensions and without them. Prints CPU seconds, and beside them
the ratio to what merely reading the same files as JSON costs, which says more where the machine is another one.
"""

from __future__ import annotations

import io
import json
import os
import tarfile
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.profiles.snapshot.published import definitions

COUNT = 500
HERE = "http://example.org/fhir/StructureDefinition/"
CORE = "http://hl7.org/fhir/StructureDefinition/"
IPS = "http://hl7.org/fhir/uv/ips/StructureDefinition/"


def renamed(snapshots: bool, count: int = COUNT, extensions: bool = True) -> list[dict[str, Any]]:
    """Profiles and extensions as if somebody else had published them; more than there are come in several versions."""
    all_ = [*definitions("ips"), *definitions("fhir-r4/profiles-others")]
    if extensions:
        all_ += definitions("fhir-r4/extension-definitions")
    ours = {one["url"]: HERE + one["url"].rpartition("/")[2] for one in all_}
    found = []
    for number in range(count):
        text = json.dumps(all_[number % len(all_)])
        one = json.loads(text.replace(IPS, HERE))
        one["url"] = ours.get(one["url"], one["url"])
        one["version"] = f"1.{number // len(all_)}.0"
        if not snapshots:
            one.pop("snapshot", None)
        found.append(one)
    return found


def packed(all_: list[dict[str, Any]], target: Path) -> Path:
    """A .tgz in the layout of FHIR packages."""
    manifest = {"name": "example.many", "version": "1.0.0", "fhirVersions": ["4.0.1"]}
    with tarfile.open(target, "w:gz") as tar:
        for number, one in enumerate([manifest, *all_]):
            content = json.dumps(one).encode()
            member = tarfile.TarInfo(f"package/{number or 'package'}.json")
            member.size = len(content)
            tar.addfile(member, io.BytesIO(content))
    return target


def cpu(work: Callable[[], Any]) -> float:
    begin = time.process_time()
    work()
    return time.process_time() - begin


def main() -> None:
    from bridge.profiles.library import open_library

    open_library().structure(f"{CORE}Patient")  # what every process pays for, with or without a package
    with tempfile.TemporaryDirectory() as folder:
        os.environ["VISIT_BRIDGE_CACHE"] = folder
        for snapshots, extensions in ((False, True), (True, True), (False, False), (True, False)):
            all_ = renamed(snapshots, COUNT, extensions)
            texts = [json.dumps(one) for one in all_]
            reading = cpu(lambda texts=texts: [json.loads(text) for text in texts])
            path = packed(all_, Path(folder) / f"{snapshots}-{extensions}.tgz")
            what = f"{len(all_)} {'profiles and extensions' if extensions else 'profiles of resources'}"
            how = "with snapshots" if snapshots else "with differentials alone"
            print(f"{what} {how}: {path.stat().st_size / 1e6:.1f} MB packed, read as JSON {reading:.2f} s")
            for step in ("compiled", "opened from the cache"):
                spent = cpu(lambda path=path: open_library([path]))
                print(f"  {step:<22} {spent:6.3f} s CPU, {spent / reading:6.2f} times reading")


if __name__ == "__main__":
    main()
