"""The files of an archive, in a folder or a ZIP file, each held against the manifest.

An archive may come from anywhere: a name is never a way out of it, and no file is read beyond
the size that the manifest gives it.
"""

from __future__ import annotations

import hashlib
import io
import json
import lzma
import struct
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from typing import IO, TYPE_CHECKING, Any

from logbook.refusals import BadFile
from logbook.store import archive

if TYPE_CHECKING:
    from _typeshed import WriteableBuffer

MOST_MANIFEST = 64 * 1024 * 1024
_CHUNK = 1 << 20
_ASIS = "the archive as it was written"
_WANTED = "a folder or ZIP file that `logbook archive` has written"
# What opening or reading a damaged, encrypted or foreign ZIP file raises.
_DAMAGED = (
    OSError, KeyError, EOFError, ValueError, RuntimeError, struct.error, zlib.error,
    lzma.LZMAError, zipfile.BadZipFile,
)  # fmt: skip


class Shelf:
    """An archive opened for reading. Use `shelf_at` to open one."""

    def __init__(self, root: Path, packed: zipfile.ZipFile | None) -> None:
        self._root, self._packed = root, packed
        self.manifest = self._manifest()
        self._files: Mapping[str, Any] = self.manifest["files"]

    @property
    def form(self) -> str:
        """The format of the table files."""
        return str(self.manifest["table_files"])

    @property
    def steps(self) -> list[str]:
        """The steps by which the book had got its shape."""
        return list(self.manifest["steps"])

    def rows(self, table: str) -> int | None:
        """How many rows a table has; ``None`` where the archive has no such table."""
        found: int | None = self.manifest["rows"].get(table)
        return found

    def missing_attached(self) -> set[str]:
        """Hashes of attached files that were not there when the archive was written."""
        return set(self.manifest.get("missing_attached", ()))

    def check(self) -> None:
        """Raise `BadFile` for a file that is not there or not as it was written."""
        for name, told in self._files.items():
            digest, seen = hashlib.sha256(), 0
            with self.open(name) as file:
                while part := file.read(_CHUNK):
                    seen += len(part)
                    if seen > told["bytes"]:
                        break
                    digest.update(part)
            if seen != told["bytes"] or digest.hexdigest() != told["sha256"]:
                raise BadFile("this file was changed since the archive was written", where=name,
                              wanted=_ASIS)  # fmt: skip

    def content(self, name: str) -> bytes:
        """A whole file of the archive, which `check` has seen."""
        with self.open(name) as file:
            return file.read(self._files[name]["bytes"])

    @contextmanager
    def open(self, name: str) -> Iterator[IO[bytes]]:
        """A file that the manifest names. Raises `BadFile` for any other, or where it is gone."""
        if name not in self._files or not _within(name):
            raise BadFile("the archive's manifest knows no such file", where=name, wanted=_ASIS)
        with self._opened(name) as file:
            yield file

    @contextmanager
    def _opened(self, name: str) -> Iterator[IO[bytes]]:
        """Trouble with opening and reading is the archive's; what the caller does is not."""
        try:
            if self._packed is not None:
                file: IO[bytes] = self._packed.open(name)
            else:
                path = self._root / name
                if path.is_symlink() or not path.is_file():
                    raise FileNotFoundError(name)
                file = path.open("rb")
        except _DAMAGED as error:
            raise _unreadable(name) from error
        with file:
            yield io.BufferedReader(_Part(file, name), _CHUNK)

    def _manifest(self) -> dict[str, Any]:
        with self._opened(archive.MANIFEST) as file:
            text = file.read(MOST_MANIFEST)
        try:
            found = json.loads(text)
        except (ValueError, RecursionError):
            found = None
        if not isinstance(found, dict) or found.get("format") != archive.FORMAT:
            raise self._refused("this is no logbook's archive")
        version = found.get("version")
        if isinstance(version, int) and version > archive.VERSION:
            raise self._refused("this archive is of a newer version")
        if not _as_written(found):
            raise self._refused("its manifest is not as it was written")
        return found

    def _refused(self, what: str) -> BadFile:
        return BadFile(what, where=str(self._root), wanted=_WANTED)


class _Part(io.RawIOBase):
    """A file of an archive whose every read may meet damage, said in a sentence."""

    def __init__(self, file: IO[bytes], name: str) -> None:
        self._file, self._name = file, name

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: WriteableBuffer) -> int:
        view = memoryview(buffer).cast("B")
        try:
            read = self._file.read(len(view))
        except _DAMAGED as error:
            raise _unreadable(self._name) from error
        view[: len(read)] = read
        return len(read)


def _unreadable(name: str) -> BadFile:
    return BadFile("this file of the archive cannot be read", where=name, wanted=_ASIS)


def _as_written(manifest: Mapping[str, Any]) -> bool:
    """Whether everything that is used of a manifest is of its kind."""
    files, rows, steps, missing = (
        manifest.get(name) for name in ("files", "rows", "steps", "missing_attached")
    )
    return (
        _whole(manifest.get("version"))
        and isinstance(manifest.get("table_files"), str)
        and isinstance(files, dict)
        and all(
            isinstance(one, dict)
            and _whole(one.get("bytes"))
            and isinstance(one.get("sha256"), str)
            for one in files.values()
        )
        and isinstance(rows, dict)
        and all(map(_whole, rows.values()))
        and _texts(steps)
        and (missing is None or _texts(missing))
    )


def _whole(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and value >= 0


def _texts(values: object) -> bool:
    return isinstance(values, list) and all(isinstance(one, str) for one in values)


def _within(name: str) -> bool:
    path = PurePosixPath(name)
    return not path.is_absolute() and ".." not in path.parts and "\\" not in name


@contextmanager
def shelf_at(path: Path) -> Iterator[Shelf]:
    """Open the archive at `path`. Raises `BadFile` where there is none."""
    if path.is_dir():
        yield Shelf(path, None)
        return
    try:
        packed = zipfile.ZipFile(path)
    except _DAMAGED as error:
        raise BadFile("there is no archive here", where=str(path), wanted=_WANTED) from error
    with packed:
        yield Shelf(path, packed)
