"""The settings: environment over config file over default, and sentences for mistakes."""

from __future__ import annotations

from pathlib import Path

import pytest

from logbook.refusals import BadInput
from logbook.settings import load_settings


@pytest.fixture
def config(tmp_path: Path) -> Path:
    return tmp_path / "logbook.toml"


def env(config: Path, **more: str) -> dict[str, str]:
    return {"LOGBOOK_CONFIG": str(config), **more}


def test_without_anything_the_book_lies_in_the_users_data_folder(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    settings = load_settings({})
    assert settings.book_path.parent == settings.data_folder
    assert settings.units is None
    assert settings.who
    assert settings.cautions == ()
    assert settings.demo_path.parent != settings.book_path.parent
    assert not settings.data_folder.exists(), "reading settings makes no folder"


def test_the_config_file_is_taken(config: Path) -> None:
    config.write_text('book = "/cell/one.db"\noperator = "K. L."\nunits = "Metric"\n')
    settings = load_settings(env(config))
    assert settings.book_path == Path("/cell/one.db")
    assert settings.who == "K. L."
    assert settings.units == "metric"


def test_the_environment_beats_the_config_file(config: Path) -> None:
    config.write_text('book = "/cell/one.db"\noperator = "K. L."\nunits = "metric"\n')
    settings = load_settings(
        env(config, LOGBOOK_DB="/cell/two.db", LOGBOOK_OPERATOR="M. N.", LOGBOOK_UNITS="us")
    )
    assert settings.book_path == Path("/cell/two.db")
    assert (settings.who, settings.units) == ("M. N.", "us")


def test_an_unknown_key_is_a_caution_with_the_nearest_name(config: Path) -> None:
    config.write_text('opperator = "K. L."\nzebra = 1\n')
    near, far = load_settings(env(config)).cautions
    assert "did you mean operator?" in near
    assert "known are book, operator, units" in far


def test_a_named_config_file_that_is_missing_is_said(config: Path) -> None:
    (caution,) = load_settings(env(config)).cautions
    assert str(config) in caution


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("units = us", "is not TOML"),
        ('units = "imperial"', "'imperial' is not a system of units"),
        ("book = 3", "book is not a text"),
    ],
)
def test_a_config_file_that_cannot_be_used_is_refused_by_name(
    config: Path, text: str, says: str
) -> None:
    config.write_text(text)
    with pytest.raises(BadInput, match=says) as refused:
        load_settings(env(config))
    assert str(config) in refused.value.sentence


def test_bytes_that_are_no_text_are_refused(config: Path) -> None:
    config.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(BadInput, match="is not TOML"):
        load_settings(env(config))


def test_wrong_units_in_the_environment_name_the_variable(config: Path) -> None:
    config.write_text("")
    with pytest.raises(BadInput, match="LOGBOOK_UNITS"):
        load_settings(env(config, LOGBOOK_UNITS="furlongs"))


def test_how_many_backups_are_kept(config: Path) -> None:
    assert load_settings({**env(config), "LOGBOOK_CONFIG": ""}).backups_kept == 20
    config.write_text("backups_kept = 3\n")
    assert load_settings(env(config)).backups_kept == 3
    for wrong in ('"3"', "-1", "2.5", "true"):
        config.write_text(f"backups_kept = {wrong}\n")
        with pytest.raises(BadInput, match="backups_kept is not a whole number"):
            load_settings(env(config))


def test_the_watched_folder_is_a_setting(config: Path) -> None:
    config.write_text('watch_folder = "/cell/runs"\n')
    assert load_settings(env(config)).watch_folder == Path("/cell/runs")
    assert load_settings(env(config, LOGBOOK_WATCH="/b")).watch_folder == Path("/b")
    config.write_text("")
    assert load_settings(env(config)).watch_folder is None
