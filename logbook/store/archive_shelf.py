"""The files of an archive, in a folder or a ZIP file, each held against the manifest.

An archive may come from anywhere: a name is never a way out of it, and no file is read beyond
the size that the manifest gives it.
"""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from typing import IO, Any

from logbook.refusals import BadFile
from logbook.store import archive

MOST_MANIFEST = 64 * 1024 * 1024
_CHUNK = 1 << 20
_ASIS = "the archive as it was written"
_WANTED = "a folder or ZIP file that `logbook archive` has written"


class Shelf:
    """An archive opened for reading. Use `shelf_at` to open one."""

    def __init__(self, root: Path, packed: zipfile.ZipFile | None) -> None:
        self._root, self._packed = root, packed
        self.manifest = self._manifest()
        self._files: Mapping[str, Any] = self.manifest.get("files") or {}

    @property
    def form(self) -> str:
        """The format of the table files."""
        return str(self.manifest.get("table_files"))

    @property
    def steps(self) -> list[str]:
        """The steps by which the book had got its shape."""
        return [str(step) for step in self.manifest.get("steps") or ()]

    def rows(self, table: str) -> int | None:
        """How many rows a table has; ``None`` where the archive has no such table."""
        found = (self.manifest.get("rows") or {}).get(table)
        return None if found is None else int(found)

    def missing_attached(self) -> set[str]:
        """Hashes of attached files that were not there when the archive was written."""
        return set(self.manifest.get("missing_attached") or ())

    def check(self) -> None:
        """Raise `BadFile` for a file that is not there or not as it was written."""
        for name, told in self._files.items():
            digest, seen = hashlib.sha256(), 0
            with self.open(name) as file:
                while part := file.read(_CHUNK):
                    seen += len(part)
                    if seen > int(told["bytes"]):
                        break
                    digest.update(part)
            if seen != told["bytes"] or digest.hexdigest() != told["sha256"]:
                raise BadFile("this file was changed since the archive was written", where=name,
                              wanted=_ASIS)  # fmt: skip

    def content(self, name: str) -> bytes:
        """A whole file of the archive, which `check` has seen."""
        with self.open(name) as file:
            return file.read(int(self._files[name]["bytes"]))

    @contextmanager
    def open(self, name: str) -> Iterator[IO[bytes]]:
        """A file that the manifest names. Raises `BadFile` for any other, or where it is gone."""
        if name not in self._files or not _within(name):
            raise BadFile("the archive's manifest knows no such file", where=name, wanted=_ASIS)
        with self._opened(name) as file:
            yield file

    @contextmanager
    def _opened(self, name: str) -> Iterator[IO[bytes]]:
        try:
            if self._packed is not None:
                with self._packed.open(name) as file:
                    yield file
                return
            path = self._root / name
            if path.is_symlink() or not path.is_file():
                raise FileNotFoundError(name)
            with path.open("rb") as file:
                yield file
        except (OSError, KeyError, zipfile.BadZipFile, NotImplementedError, EOFError) as error:
            raise BadFile("this file of the archive cannot be read", where=name,
                          wanted=_ASIS) from error  # fmt: skip

    def _manifest(self) -> dict[str, Any]:
        with self._opened(archive.MANIFEST) as file:
            text = file.read(MOST_MANIFEST)
        try:
            found = json.loads(text)
            good = (
                found["format"] == archive.FORMAT
                and found["version"] <= archive.VERSION
                and all(set(one) >= {"bytes", "sha256"} for one in found["files"].values())
            )
        except (ValueError, KeyError, TypeError, AttributeError):
            found, good = {}, False
        if not good:
            newer = isinstance(found, dict) and found.get("format") == archive.FORMAT
            raise BadFile(
                "this archive is of a newer version" if newer else "this is no logbook's archive",
                where=str(self._root),
                wanted=_WANTED,
            )
        manifest: dict[str, Any] = found
        return manifest


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
    except (OSError, zipfile.BadZipFile) as error:
        raise BadFile("there is no archive here", where=str(path), wanted=_WANTED) from error
    with packed:
        yield Shelf(path, packed)
