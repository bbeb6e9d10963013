"""What the person set once: which book, who is working, which units.

Read once at the door and passed in; nothing else looks at the environment. An environment
variable beats the config file, which beats the default.

====================  ================  ===================================================
variable              config key        meaning
====================  ================  ===================================================
``LOGBOOK_DB``        ``book``          the logbook file
``LOGBOOK_OPERATOR``  ``operator``      who is working, as written into the audit trail
``LOGBOOK_UNITS``     ``units``         ``us`` or ``metric``; without it the cell's own
``LOGBOOK_WATCH``     ``watch_folder``  the folder the app watches, whatever was chosen in it
``LOGBOOK_AIR``       ``air_source``    the instrument that tells the air: udp://0.0.0.0:10110 …
``LOGBOOK_COLORS``    ``colors``        the app's colors: terminal, slate, paper, contrast, safe
``LOGBOOK_CONFIG``    —                 another config file than the default one (TOML)
====================  ================  ===================================================

Only in the config file: ``backups_kept``, how many automatic backups are kept beside one a
month (20 unless set); 0 turns those at session close off; and the table ``[keys]``, the keys of
one's own by the id of the action (``logbook keys`` lists them), and ``[air_registers.…]``, the
register map of a Modbus instrument (`intake/instruments/modbus.py` describes it).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from logbook.refusals import BadInput
from logbook.unit_systems import UNIT_SYSTEMS

CONFIG_KEYS: Mapping[str, str] = {
    "book": "LOGBOOK_DB",
    "operator": "LOGBOOK_OPERATOR",
    "units": "LOGBOOK_UNITS",
    "watch_folder": "LOGBOOK_WATCH",
    "colors": "LOGBOOK_COLORS",
    "air_source": "LOGBOOK_AIR",
}
COLORS = "terminal"
_TABLES = ("keys", "air_registers")
BACKUPS_KEPT = 20
_NUMBERS = {"backups_kept": range(10_001)}
_APPLICATION = "logbook"


@dataclass(frozen=True, slots=True)
class Settings:
    """The settings of one run.

    `units` is ``"us"``, ``"metric"``, or ``None`` for those of the cell. `cautions` are
    sentences about the config file that somebody should see once. `state_folder` keeps drafts
    and the log of unexpected errors; no folder is made by reading settings.
    """

    book_path: Path
    who: str
    units: str | None
    config_path: Path
    data_folder: Path
    state_folder: Path
    cautions: tuple[str, ...] = field(default=())
    backups_kept: int = BACKUPS_KEPT
    watch_folder: Path | None = None
    colors: str = COLORS
    keys: Mapping[str, str] = field(default_factory=dict)
    air_source: str = ""
    air_registers: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)

    @property
    def demo_path(self) -> Path:
        """Where the demo logbook is built: a folder of its own, away from the real book."""
        return self.data_folder / "demo" / "demo-logbook.db"

    @property
    def drafts_folder(self) -> Path:
        """Where typed but unsaved forms are kept."""
        return self.state_folder / "drafts"

    @property
    def log_path(self) -> Path:
        """Where the details of an unexpected error are written."""
        return log_path()


def load_settings(environ: Mapping[str, str]) -> Settings:
    """Read the settings once.

    Raises `BadInput` when the config file is not TOML or a value in it cannot be used; an
    unknown key or a missing file is only a caution.
    """
    config_path, named = _config_path(environ)
    given, numbers, tables, cautions = _read_config(config_path, must_exist=named)
    chosen = {key: environ.get(variable) or given.get(key) for key, variable in CONFIG_KEYS.items()}
    data_folder = _folder("data")
    book = chosen["book"]
    return Settings(
        book_path=Path(book).expanduser() if book else data_folder / "logbook.db",
        who=chosen["operator"] or _login_name(),
        units=_units(chosen["units"], environ, config_path),
        config_path=config_path,
        data_folder=data_folder,
        state_folder=state_folder(),
        cautions=tuple(cautions),
        backups_kept=numbers.get("backups_kept", BACKUPS_KEPT),
        watch_folder=Path(chosen["watch_folder"]).expanduser().absolute()
        if chosen["watch_folder"]
        else None,
        colors=(chosen["colors"] or COLORS).strip().casefold(),
        keys=_own_keys(tables.get("keys", {}), config_path),
        air_source=(chosen["air_source"] or "").strip(),
        air_registers=_register_tables(tables.get("air_registers", {}), config_path),
    )


def state_folder() -> Path:
    """Where drafts and the log of unexpected errors lie; known even when settings are not."""
    return _folder("state")


def _folder(what: Literal["config", "data", "state"]) -> Path:
    """The user's folder for this program, by the habits of the platform."""
    import platformdirs  # a tenth of the time that --version takes, which needs no folder

    places = platformdirs.PlatformDirs(_APPLICATION, appauthor=False)
    match what:
        case "config":
            return places.user_config_path
        case "data":
            return places.user_data_path
        case "state":
            return places.user_state_path


def log_path() -> Path:
    """Where the details of an unexpected error are written, settings or none."""
    return state_folder() / "logbook.log"


def _config_path(environ: Mapping[str, str]) -> tuple[Path, bool]:
    named = environ.get("LOGBOOK_CONFIG")
    if named:
        return Path(named).expanduser(), True
    return _folder("config") / "logbook.toml", False


_Read = tuple[dict[str, str], dict[str, int], dict[str, object], list[str]]


def _read_config(path: Path, *, must_exist: bool) -> _Read:
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        missing = f"The config file {path} is not there; the defaults are used."
        return {}, {}, {}, [missing] if must_exist else []
    except OSError as trouble:
        raise BadInput(
            f"cannot be read ({trouble.strerror})",
            where=f"Config file {path}",
            wanted="a readable TOML file, or none",
        ) from trouble
    import tomllib  # only where there is a config file

    try:
        table = tomllib.loads(content.decode("utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as trouble:
        raise BadInput(
            f"is not TOML: {trouble}",
            where=f"Config file {path}",
            wanted='lines such as units = "us"',
        ) from trouble
    return _known(table, path)


def _known(table: Mapping[str, object], path: Path) -> _Read:
    given: dict[str, str] = {}
    numbers: dict[str, int] = {}
    tables: dict[str, object] = {}
    cautions: list[str] = []
    for key, value in table.items():
        if key in _NUMBERS:
            numbers[key] = _number(key, value, path)
        elif key in _TABLES:
            tables[key] = value
        elif key not in CONFIG_KEYS:
            cautions.append(_unknown_key(key, path))
        elif isinstance(value, str):
            given[key] = value
        else:
            raise BadInput(
                f"{key} is not a text", where=f"Config file {path}", wanted=f'{key} = "…"'
            )
    return given, numbers, tables, cautions


def _number(key: str, value: object, path: Path) -> int:
    allowed = _NUMBERS[key]
    if isinstance(value, bool) or not isinstance(value, int) or value not in allowed:
        raise BadInput(
            f"{key} is not a whole number from {allowed[0]} to {allowed[-1]}",
            where=f"Config file {path}",
            wanted=f"such as {key} = {BACKUPS_KEPT}",
        )
    return value


def _own_keys(value: object, path: Path) -> dict[str, str]:
    """Actions with their keys; ``session.timing = "T"`` without quotes is a table in a table."""
    wanted = '[keys] with lines such as "session.timing" = "T"'
    if not isinstance(value, dict):
        raise BadInput("keys is not a table", where=f"Config file {path}", wanted=wanted)
    found: dict[str, str] = {}
    for name, keys in value.items():
        inner = _own_keys(keys, path) if isinstance(keys, dict) else {"": keys}
        for last, one in inner.items():
            if not isinstance(one, str) or not one.strip():
                raise BadInput(
                    f"the key of {name} is not a text", where=f"Config file {path}", wanted=wanted
                )
            found[f"{name}.{last}" if last else name] = one
    return found


def _register_tables(value: object, path: Path) -> dict[str, dict[str, Any]]:
    if not isinstance(value, dict) or not all(isinstance(one, dict) for one in value.values()):
        raise BadInput("air_registers is not a table of tables", where=f"Config file {path}",
                       wanted="[air_registers.pressure] and lines below it")  # fmt: skip
    return value


def _unknown_key(key: str, path: Path) -> str:
    from difflib import get_close_matches

    names = (*CONFIG_KEYS, *_NUMBERS, *_TABLES)
    near = get_close_matches(key.casefold(), names, n=1, cutoff=0.5)
    hint = f"did you mean {near[0]}?" if near else "known are " + ", ".join(names) + "."
    return f"Config file {path}: {key!r} is not a setting and is left out; {hint}"


def _units(chosen: str | None, environ: Mapping[str, str], config_path: Path) -> str | None:
    if not chosen:
        return None
    system = chosen.strip().casefold()
    if system in UNIT_SYSTEMS:
        return system
    where = "LOGBOOK_UNITS" if environ.get("LOGBOOK_UNITS") else f"Config file {config_path}, units"
    raise BadInput(
        f"{chosen!r} is not a system of units", where=where, wanted=" or ".join(UNIT_SYSTEMS)
    )


def _login_name() -> str:
    import getpass

    try:
        return getpass.getuser()
    except (KeyError, OSError, ImportError):  # a user id without a name, as in containers
        return "unknown"
