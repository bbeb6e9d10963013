"""Drafts: what was typed comes back, whole, or is said to be damaged; never half."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.drafts import Drafts
from logbook.refusals import BadFile, BookTrouble

FIELDS = {"pressure": "29.42 inHg", "note": "plug 3 gray\nsecond line ✓"}


@pytest.fixture
def drafts(tmp_path: Path) -> Drafts:
    return Drafts(tmp_path / "state" / "drafts")


def test_a_draft_comes_back_as_typed_in_another_run(drafts: Drafts, tmp_path: Path) -> None:
    drafts.save("pull/abc", FIELDS)
    assert Drafts(tmp_path / "state" / "drafts").load("pull/abc") == FIELDS


def test_a_draft_is_not_offered_on_another_book(tmp_path: Path) -> None:
    mine = Drafts(tmp_path / "drafts", tmp_path / "mine.db")
    mine.save("engine", FIELDS)
    theirs = mine.of(tmp_path / "theirs.db")
    assert theirs.load("engine") is None
    theirs.clear("engine")
    assert theirs.of(tmp_path / "mine.db").load("engine") == FIELDS


def test_nothing_kept_is_none_and_clearing_it_is_no_error(drafts: Drafts) -> None:
    drafts.clear("pull/abc")
    assert drafts.load("pull/abc") is None


def test_a_cleared_draft_is_gone(drafts: Drafts) -> None:
    drafts.save("a", FIELDS)
    drafts.clear("a")
    assert drafts.load("a") is None


def test_saving_again_replaces_and_leaves_nothing_beside(drafts: Drafts) -> None:
    drafts.save("a", FIELDS)
    drafts.save("a", {"note": "new"})
    assert drafts.load("a") == {"note": "new"}
    assert [p.name for p in drafts.path("a").parent.iterdir()] == [drafts.path("a").name]


@pytest.mark.parametrize("key", ["../../etc/passwd", "", "a/b\\c:d", "x" * 500, "Ä\x00\x1b[0m"])
def test_any_key_stays_inside_the_folder(drafts: Drafts, key: str, tmp_path: Path) -> None:
    drafts.save(key, FIELDS)
    assert drafts.path(key).parent == tmp_path / "state" / "drafts"
    assert drafts.load(key) == FIELDS


@given(st.text(), st.text())
def test_different_keys_never_share_a_file(left: str, right: str) -> None:
    drafts = Drafts(Path("anywhere"))
    assert (drafts.path(left) == drafts.path(right)) == (left == right)


@pytest.mark.parametrize(
    "content", [b"", b"{", b"\xff\x00", b"[1]", b'{"fields": {"a": 1}}', b'{"fields": null}']
)
def test_a_damaged_draft_is_kept_aside_and_said_once(drafts: Drafts, content: bytes) -> None:
    drafts.save("a", FIELDS)
    drafts.path("a").write_bytes(content)
    with pytest.raises(BadFile, match="damaged and was kept as"):
        drafts.load("a")
    assert drafts.load("a") is None
    (aside,) = drafts.path("a").parent.iterdir()
    assert aside.read_bytes() == content


def test_a_second_damaged_draft_does_not_overwrite_the_first(drafts: Drafts) -> None:
    for content in (b"one", b"two"):
        drafts.save("a", FIELDS)
        drafts.path("a").write_bytes(content)
        with pytest.raises(BadFile):
            drafts.load("a")
    kept = sorted(p.read_bytes() for p in drafts.path("a").parent.iterdir())
    assert kept == [b"one", b"two"]


def test_a_full_disk_is_said_and_the_earlier_draft_stands(
    drafts: Drafts, monkeypatch: pytest.MonkeyPatch
) -> None:
    drafts.save("a", FIELDS)

    def full_disk(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full_disk)
    with pytest.raises(BookTrouble, match="No space left"):
        drafts.save("a", {"note": "lost"})
    monkeypatch.undo()
    assert drafts.load("a") == FIELDS


def test_a_killed_program_leaves_a_whole_draft(drafts: Drafts) -> None:
    """Killed while it saves without pause: one of the two drafts is there, entire."""
    program = (
        "import sys; from pathlib import Path; from logbook.drafts import Drafts\n"
        "drafts = Drafts(Path(sys.argv[1]))\n"
        "while True:\n"
        "    for mark in 'ab':\n"
        "        drafts.save('a', {'note': mark * 200_000})\n"
        "        print(mark, flush=True)\n"
    )
    folder = str(drafts.path("a").parent)
    with subprocess.Popen(
        [sys.executable, "-c", program, folder], stdout=subprocess.PIPE
    ) as saving:
        assert saving.stdout is not None
        saving.stdout.readline()
        saving.stdout.readline()
        saving.kill()
    kept = drafts.load("a")
    assert kept in ({"note": "a" * 200_000}, {"note": "b" * 200_000})


def test_only_the_owner_may_read_a_draft(drafts: Drafts) -> None:
    drafts.save("a", FIELDS)
    assert drafts.path("a").stat().st_mode & 0o077 == 0
