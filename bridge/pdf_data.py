"""The data that a letter as PDF carries. Files come from anywhere: sizes are bounded, nothing is run or followed."""

from __future__ import annotations

import os
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from itertools import islice
from typing import Any

from bridge.errors import InputError

MAX_PDF_BYTES = 60_000_000
MAX_DATA_BYTES = 50_000_000
MAX_MEMORY_BYTES = 1_500_000_000
"""How much more than before the process may take while a file is opened, where the system can hold it to that."""
MAX_ATTACHMENTS = 200
MAX_COPIES = 3
"""A bundle may be attached under several names; more of them than this are not compared, and refused."""
MEDIA_TYPE = "/application/fhir+json"


def bundle_in_pdf(content: bytes) -> bytes:
    """The FHIR bundle attached to a PDF, byte for byte as it was attached.

    Raises InputError, in words for the person, for what is no PDF, cannot be opened, has no such data or more than one.
    """
    if len(content) > MAX_PDF_BYTES:
        raise InputError(f"The PDF is larger than {MAX_PDF_BYTES // 1_000_000} MB; no letter is.")
    if b"%PDF-" not in content[:1024]:
        raise InputError("This is no PDF.")
    try:
        with _bounded():
            found = _attached(content)
    except MemoryError:
        raise _damaged() from None
    _must_be_fhir(found)
    return found


def _attached(content: bytes) -> bytes:
    from io import BytesIO

    import pikepdf

    _limit()
    try:
        with pikepdf.open(BytesIO(content), suppress_warnings=True, attempt_recovery=False) as pdf:
            return _chosen(list(islice(_files(pdf.Root), MAX_ATTACHMENTS)))
    except InputError:
        raise
    except pikepdf.PasswordError:
        raise InputError(
            "The PDF is protected by a password.",
            "Open it with the password and save it without, or ask for the bundle.",
        ) from None
    except MemoryError:
        raise
    except Exception:  # whatever pikepdf says of a hostile file may quote it
        raise _damaged() from None


def _chosen(files: list[tuple[str, str, Any]]) -> bytes:
    """Of what is attached the one bundle; the same bytes twice are one."""
    bundles = [f for f in files if f[1] == MEDIA_TYPE] or [f for f in files if f[0].lower().endswith(".json")]
    if not bundles:
        raise InputError(
            "This PDF carries no data of a letter." if not files else "What is attached to this PDF is no FHIR bundle.",
            "A mail gateway may have taken it out, or it was printed to a new PDF. Ask for the file as it was made.",
        )
    found = {_unpacked(stream) for _, _, stream in bundles[:MAX_COPIES]}
    if len(found) > 1 or len(bundles) > MAX_COPIES:
        raise InputError("This PDF carries more than one FHIR bundle.", "Take out the one that is meant, and use that.")
    return found.pop()


def _files(root: Any) -> Iterator[tuple[str, str, Any]]:
    """Name, media type and stream of each attached file: those of the whole document, then those by name."""
    seen: set[tuple[int, int]] = set()
    for specification in _specifications(root):
        stream = _get(_get(specification, "/EF"), "/F", "/UF")
        if stream is None or not hasattr(stream, "read_raw_bytes") or stream.objgen in seen:
            continue
        seen.add(stream.objgen)
        yield str(_get(specification, "/UF", "/F") or ""), str(_get(stream, "/Subtype") or ""), stream


def _specifications(root: Any) -> Iterator[Any]:
    yield from _items(_get(root, "/AF"))
    ways, met = [_get(_get(root, "/Names"), "/EmbeddedFiles")], 0
    while ways and met < MAX_ATTACHMENTS:
        node, met = ways.pop(), met + 1
        yield from _items(_get(node, "/Names"))
        ways += _items(_get(node, "/Kids"))


def _items(value: Any) -> list[Any]:
    """Members of an array, no more than anybody attaches."""
    return list(islice(value, 2 * MAX_ATTACHMENTS)) if _is(value, "Array") else []


def _get(value: Any, *keys: str) -> Any:
    """A member of a dictionary by the first of the keys that it has; None where there is none."""
    if _is(value, "Dictionary") or _is(value, "Stream"):
        return next((value[key] for key in keys if key in value), None)
    return None


def _is(value: Any, kind: str) -> bool:
    import pikepdf

    return isinstance(value, getattr(pikepdf, kind))


def _unpacked(stream: Any) -> bytes:
    """The data of a stream. Deflated data are unpacked here, because the library passes over their check sum."""
    import pikepdf

    plain = stream.get("/DecodeParms") is None and stream.get("/DP") is None
    if plain and stream.get("/Filter") in (pikepdf.Name.FlateDecode, pikepdf.Array([pikepdf.Name.FlateDecode])):
        unpacking = zlib.decompressobj()
        found = unpacking.decompress(stream.read_raw_bytes(), MAX_DATA_BYTES + 1)
        if len(found) <= MAX_DATA_BYTES and not unpacking.eof:
            raise _damaged()
    else:
        found = bytes(stream.read_bytes())
    if len(found) > MAX_DATA_BYTES:
        raise InputError(f"The data in the PDF are larger than {MAX_DATA_BYTES // 1_000_000} MB.")
    return found


def _must_be_fhir(data: bytes) -> None:
    import orjson

    try:
        said = orjson.loads(data.removeprefix(b"\xef\xbb\xbf"))
    except orjson.JSONDecodeError:
        raise InputError(
            "The data attached to the PDF are not readable JSON.", "Ask for the file as it was made."
        ) from None
    if said is None:
        raise InputError("The data attached to the PDF are not readable JSON.", "Ask for the file as it was made.")
    if not isinstance(said, dict) or not isinstance(said.get("resourceType"), str):
        raise InputError("The data attached to the PDF are no FHIR resource.")


def _damaged() -> InputError:
    return InputError("The PDF is damaged or not made as PDF is.", "Ask for the file as it was made.")


@cache
def _limit() -> None:
    """Bounds what any stream may unpack to. The library keeps these limits for the process."""
    from pikepdf.settings import set_qpdf_limits

    most = MAX_DATA_BYTES + 1_000_000
    set_qpdf_limits(
        doc_max_warnings=200,
        max_stream_filters=2,
        flate_max_memory=most,
        run_length_max_memory=most,
        png_max_memory=most,
        tiff_max_memory=most,
        dct_max_memory=1_000_000,
    )


@contextmanager
def _bounded() -> Iterator[None]:
    """Keeps the process from taking the machine's memory, where the system tells and holds it (Linux)."""
    try:
        import resource

        with open("/proc/self/statm", encoding="ascii") as stream:
            taken = int(stream.read().split()[0]) * os.sysconf("SC_PAGE_SIZE")
        soft, hard = resource.getrlimit(resource.RLIMIT_AS)
    except (ImportError, OSError, ValueError):
        yield
        return
    bound = taken + MAX_MEMORY_BYTES
    bounds = [bound, *(limit for limit in (soft, hard) if limit != resource.RLIM_INFINITY)]
    resource.setrlimit(resource.RLIMIT_AS, (min(bounds), hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_AS, (soft, hard))
