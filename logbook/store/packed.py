"""Compressed source files, unpacked without trusting what they claim.

A book may come from elsewhere (a merge, a damaged disk): a few kilobytes in it could unpack to
gigabytes. Nothing is unpacked beyond the size that stands beside it, and no file is that large.
"""

from __future__ import annotations

import hashlib
import zlib

# Larger than any file that is ever taken in.
MOST_BYTES = 256 * 1024 * 1024
_STEP = 1024 * 1024


def measured(packed: bytes, size: int) -> str:
    """The SHA-256 of what `packed` unpacks to, in little memory.

    Raises ``ValueError`` unless that is exactly `size` bytes, and ``zlib.error`` where it cannot
    be unpacked.
    """
    check_size(size)
    digest, unpacking, seen = hashlib.sha256(), zlib.decompressobj(), 0
    waiting = packed
    while not unpacking.eof:
        part = unpacking.decompress(waiting, _STEP)
        waiting = unpacking.unconsumed_tail
        seen += len(part)
        digest.update(part)
        if seen > size or not (part or waiting or unpacking.eof):
            break
    if seen != size or not unpacking.eof:
        raise ValueError(f"it unpacks to other than its {size} bytes")
    return digest.hexdigest()


def unpacked(packed: bytes, size: int) -> bytes:
    """The `size` bytes that `packed` unpacks to; errors as in `measured`."""
    check_size(size)
    unpacking = zlib.decompressobj()
    content = unpacking.decompress(packed, size + 1)
    if len(content) != size:
        raise ValueError(f"it unpacks to other than its {size} bytes")
    return content


def check_size(size: int) -> None:
    """Raise ``ValueError`` for more than any file may have."""
    if size > MOST_BYTES:
        raise ValueError(f"{size} bytes are more than any file may have")
