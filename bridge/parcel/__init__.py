"""A parcel: the files of one hand-over with a manifest, its signature, and a seal, packed and opened.

pieces, about --packed--> + manifest.json + manifest.json.jws --write_folder--> folder
                                                              --sealed--------> .zip.age
opened <-- folder | .zip | .age: every file is what the signed manifest says, or nothing is handed out.

Nothing in here knows what a visit is. FORMAT.md beside this file says what a stranger needs to know.
"""

from bridge.parcel.keys import SigningKey, public_sealing_key, signing_key, spoken
from bridge.parcel.known import KnownKey, known_keys
from bridge.parcel.limits import Limits
from bridge.parcel.opening import looks_like_parcel, opened
from bridge.parcel.own import known_here
from bridge.parcel.packing import packed, sealed, write_folder, zipped
from bridge.parcel.shapes import MANIFEST, SIGNATURE, About, Listed, Manifest, Opened, Piece, Signer

__all__ = [
    "MANIFEST",
    "SIGNATURE",
    "About",
    "KnownKey",
    "Limits",
    "Listed",
    "Manifest",
    "Opened",
    "Piece",
    "Signer",
    "SigningKey",
    "known_here",
    "known_keys",
    "looks_like_parcel",
    "opened",
    "packed",
    "public_sealing_key",
    "sealed",
    "signing_key",
    "spoken",
    "write_folder",
    "zipped",
]
