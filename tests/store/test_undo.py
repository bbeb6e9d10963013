"""Undo takes a change back as a new change; redo is the undo of an undo."""

from __future__ import annotations

import sqlite3

import pytest

from logbook.records.engine import Engine
from logbook.records.ids import new_id
from logbook.records.pull import Pull
from logbook.records.session import Session
from logbook.refusals import Conflict, NotFound
from tests.store.conftest import Shop


def undo(shop: Shop, group: str) -> str:
    with shop.book.changing(who="M. B.") as change:
        change.undo(group)
        return change.group


def note(shop: Shop, pull: Pull, text: str) -> str:
    with shop.book.changing(who="K. L.", what=f"Note “{text}”", why="misread") as change:
        change.update(Pull, pull.id, notes=text)
        return change.group


def notes(shop: Shop, pull: Pull) -> str:
    with shop.book.reading() as read:
        return read.get(Pull, pull.id).notes


def test_the_trail_says_who_when_which_field_old_new_and_why(shop: Shop) -> None:
    pull = shop.pull(notes="rich", oil_c=90.0)
    note(shop, pull, "lean")
    rows = shop.plain_sql(
        "SELECT who, what, why, record_type, record_id, field, old, new FROM audit_trail"
        " WHERE field <> 'entered'"
    )
    assert rows == [("K. L.", "Note “lean”", "misread", "pull", pull.id, "notes", "rich", "lean")]


def test_a_field_that_keeps_its_value_leaves_no_trace(shop: Shop) -> None:
    pull = shop.pull(notes="rich")
    with shop.book.changing(who="x", what="Nothing") as change:
        assert not change.update(Pull, pull.id, notes="rich")
    with shop.book.reading() as read:
        assert read.changes(1)[0].what == "Pull 1 logged"


@pytest.mark.parametrize("table", ["audit_changes", "audit_fields"])
@pytest.mark.parametrize("sql", ["DELETE FROM {}", "UPDATE {} SET number = number + 100"])
def test_the_trail_is_only_ever_added_to(shop: Shop, table: str, sql: str) -> None:
    with pytest.raises(sqlite3.IntegrityError, match="only ever added to"):
        shop.plain_sql(sql.format(table))


@pytest.mark.parametrize("table", ["pulls", "sessions", "engines", "airs"])
def test_records_are_never_deleted(shop: Shop, table: str) -> None:
    shop.pull()
    with pytest.raises(sqlite3.IntegrityError, match="never deleted"):
        shop.plain_sql(f"DELETE FROM {table}")


def test_undo_of_an_update_brings_the_old_value_back(shop: Shop) -> None:
    pull = shop.pull(notes="rich", oil_c=90.5)
    group = note(shop, pull, "lean")
    undone = undo(shop, group)
    assert notes(shop, pull) == "rich"
    undo(shop, undone)
    assert notes(shop, pull) == "lean"


def test_undo_and_redo_are_named_after_the_change(shop: Shop) -> None:
    pull = shop.pull()
    group = note(shop, pull, "lean")
    for _ in range(2):
        group = undo(shop, group)
    with shop.book.reading() as read:
        assert [g.what for g in read.changes(3)] == [
            "Done again: Note “lean”", "Taken back: Note “lean”", "Note “lean”",
        ]  # fmt: skip


def test_undo_of_a_pull_withdraws_it_and_redo_brings_it_back(shop: Shop) -> None:
    pull = shop.pull()
    undone = undo(shop, shop.last_group)
    with shop.book.reading() as read:
        assert read.where(Pull) == []
        last, first = read.changes(2)
        assert first.undone_by == last.group == undone
    undo(shop, undone)
    with shop.book.reading() as read:
        assert read.where(Pull) == [pull]
        assert read.changes(3)[2].undone_by is None


def test_a_pull_that_comes_back_takes_the_next_free_number(shop: Shop) -> None:
    first = shop.pull()
    undone = undo(shop, shop.last_group)
    assert shop.pull().number == 1
    redone = undo(shop, undone)
    with shop.book.reading() as read:
        assert read.get(Pull, first.id).number == 2
    undo(shop, redone)
    with shop.book.reading() as read:
        assert read.get(Pull, first.id).withdrawn


def test_a_change_is_taken_back_once(shop: Shop) -> None:
    pull = shop.pull()
    group = note(shop, pull, "lean")
    undo(shop, group)
    with pytest.raises(Conflict, match="already taken back"):
        undo(shop, group)


def test_a_later_change_of_the_same_field_stands_in_the_way_in_words(shop: Shop) -> None:
    pull = shop.pull(notes="rich")
    first = note(shop, pull, "lean")
    second = note(shop, pull, "very lean")
    with pytest.raises(Conflict, match=r"“Note “very lean”” \(K\. L\.\) later changed"):
        undo(shop, first)
    assert notes(shop, pull) == "very lean"
    undo(shop, second)
    undo(shop, first)
    assert notes(shop, pull) == "rich"


def test_a_later_change_of_another_field_does_not(shop: Shop) -> None:
    pull = shop.pull(notes="rich", oil_c=90.0)
    group = note(shop, pull, "lean")
    with shop.book.changing(who="x", what="Oil") as change:
        change.update(Pull, pull.id, oil_c=95.0)
    undo(shop, group)
    with shop.book.reading() as read:
        found = read.get(Pull, pull.id)
    assert (found.notes, found.oil_c) == ("rich", 95.0)


def test_an_edited_pull_is_not_taken_back_before_its_edit(shop: Shop) -> None:
    pull = shop.pull()
    logged = shop.last_group
    edited = note(shop, pull, "lean")
    with pytest.raises(Conflict, match="take that back first"):
        undo(shop, logged)
    undo(shop, edited)
    undo(shop, logged)


def test_a_change_made_by_another_program_stands_in_the_way(shop: Shop) -> None:
    pull = shop.pull(notes="rich")
    group = note(shop, pull, "lean")
    shop.plain_sql("UPDATE pulls SET notes = 'by hand' WHERE id = ?", pull.id)
    with pytest.raises(Conflict, match="outside the logbook"):
        undo(shop, group)


def test_a_session_with_pulls_is_not_taken_back(shop: Shop) -> None:
    with shop.book.reading() as read:
        opened = read.changes(1)[0].group
    shop.pull()
    logged = shop.last_group
    with pytest.raises(Conflict, match="still belong to it"):
        undo(shop, opened)
    unlogged = undo(shop, logged)
    undo(shop, opened)
    with shop.book.reading() as read:
        assert read.where(Session) == []
        assert read.where(Engine) == []
    with pytest.raises(Conflict, match="bring that back first"):
        undo(shop, unlogged)


def test_a_tag_given_away_meanwhile_is_said(shop: Shop) -> None:
    with shop.book.changing(who="x", what="Heron entered") as change:
        change.insert(Engine(new_id(), "Heron"))
        group = change.group
    undone = undo(shop, group)
    with shop.book.changing(who="x") as change:
        change.insert(Engine(new_id(), "heron"))
    with pytest.raises(Conflict, match="engine with this tag exists"):
        undo(shop, undone)


def test_a_change_of_several_records_is_taken_back_whole_or_not_at_all(shop: Shop) -> None:
    pulls = [shop.pull(notes="a"), shop.pull(notes="a")]
    with shop.book.changing(who="x", what="Both") as change:
        for pull in pulls:
            change.update(Pull, pull.id, notes="b")
            change.update(Pull, pull.id, notes="c")
        group = change.group
    later = note(shop, pulls[1], "d")
    with pytest.raises(Conflict):
        undo(shop, group)
    assert [notes(shop, pull) for pull in pulls] == ["c", "d"]
    undo(shop, later)
    undo(shop, group)
    assert [notes(shop, pull) for pull in pulls] == ["a", "a"]


def test_an_unknown_change_is_said(shop: Shop) -> None:
    with pytest.raises(NotFound, match="knows no change"):
        undo(shop, new_id())
