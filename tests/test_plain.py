"""Text from people and files can never steer the terminal it is shown in."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.plain import plain


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("plug 3 gray, 32° ✓ 点火", "plug 3 gray, 32° ✓ 点火"),
        ("\x1b[31mred\x1b]0;title\x07", "␛[31mred␛]0;title␇"),
        ("\x9b2J", "‹U+009B›2J"),
        ("a\tb\x7f", "a␉b␡"),
        ("safe\u202egnp.exe", "safe‹U+202E›gnp.exe"),
        ("pass\u200bword", "pass‹U+200B›word"),
        ("one\r\ntwo", "one␍␊two"),
        ("half \ud83d", "half ‹U+D83D›"),
    ],
)
def test_control_characters_are_shown_not_obeyed(text: str, shown: str) -> None:
    assert plain(text) == shown


def test_notes_keep_their_lines() -> None:
    assert plain("one\r\ntwo\rthree\nfour\x1b", lines=True) == "one\ntwo\nthree\nfour␛"


@given(st.text(st.characters()))
def test_whatever_is_typed_nothing_invisible_is_left(text: str) -> None:
    shown = plain(text)
    assert not {unicodedata.category(c) for c in shown} & {"Cc", "Cs", "Zl", "Zp"}
    assert plain(shown) == shown
