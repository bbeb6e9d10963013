"""A damaged book is said to be one, with what can be saved of it; that judges as before."""

from __future__ import annotations

from pathlib import Path

from logbook.cases import safety, sessions
from logbook.cases.desk import open_desk
from tests.cases.conftest import Shop
from tests.store.joined import held


def test_a_rescued_book_has_all_figures(shop: Shop, air: dict[str, str], tmp_path: Path) -> None:
    shop.peaks(400, **air)
    shop.trace(1.0)
    sessions.close_session(shop.desk, shop.session_id)
    shop.desk.close()
    rescued = safety.rescue(shop.desk.book.path, tmp_path / "new.db", who="KL")
    assert rescued.lost == ()
    assert held(rescued.path) == held(shop.desk.book.path)
    desk = open_desk(rescued.path, create=False, who="KL")
    assert safety.verify(desk) == []
    desk.close()


def test_what_can_be_saved_is_tried_and_the_newest_backup_named(shop: Shop, tmp_path: Path) -> None:
    shop.trace(1.0)
    backup = sessions.close_session(shop.desk, shop.session_id).backup
    shop.desk.close()
    path = shop.desk.book.path
    content = path.read_bytes()
    at = content.rindex(b"Sparkle" if b"Sparkle" in content else b"Blow-by")
    path.write_bytes(content[: at - 9] + bytes(9) + content[at:])
    said = "\n".join(safety.what_can_be_saved(path))
    assert "`logbook rescue` can save: " in said
    assert "pull 1" in said
    assert str(backup) in said
    assert list(tmp_path.glob(".rescue-*")) == []
