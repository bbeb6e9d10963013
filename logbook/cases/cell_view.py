"""A cell as its screen shows it: instruments, safety list, backups."""

from __future__ import annotations

from dataclasses import dataclass

from logbook.cases.calibration_view import CalibrationView
from logbook.cases.calibrations import list_calibrations
from logbook.cases.desk import Desk
from logbook.cases.engines import list_cells
from logbook.cases.sessions import SAFETY_LIST
from logbook.records.cell import Cell
from logbook.records.engine import Engine
from logbook.records.session import OPEN, Session
from logbook.refusals import NotFound
from logbook.store.backups import KeptCopy, folder_of, kept_copies


@dataclass(frozen=True, slots=True)
class CellView:
    """A cell with its calibrations, newest first, and its last session (``None`` before any),
    which is the open one where there is one; `names` are all cells of the book."""

    cell: Cell
    names: tuple[str, ...]
    calibrations: tuple[CalibrationView, ...]
    session: Session | None
    engine_tag: str

    @property
    def standing(self) -> tuple[CalibrationView, ...]:
        """The last calibration of each instrument."""
        return tuple(view for view in self.calibrations if not view.superseded)

    @property
    def can_tick(self) -> bool:
        """The safety list belongs to an open session."""
        return self.session is not None and self.session.status == OPEN

    @property
    def safety(self) -> tuple[tuple[str, str, bool], ...]:
        """(key, sentence, ticked) of the safety list as the last session has it."""
        ticked = set(self.session.safety_checked) if self.session else set()
        return tuple((key, sentence, key in ticked) for key, sentence in SAFETY_LIST)


@dataclass(frozen=True, slots=True)
class Backups:
    """The automatic backups of the book, newest first, where they stand and how many are kept."""

    folder: str
    kept: int
    copies: tuple[KeptCopy, ...]


def cell_view(desk: Desk, name: str | None = None) -> CellView:
    """The cell of this name, or the one that was used last. Raises `NotFound`."""
    cells = list_cells(desk)
    if not cells:
        raise NotFound("this book has no cell yet", where="Cell", wanted="a cell: c enters one")
    with desk.book.reading() as read:
        recent = read.where(Session, order="opened_at", descending=True, limit=1)
        wanted = (name or "").strip().casefold()
        cell = next((one for one in cells if one.name.casefold() == wanted), None)
        if cell is None:
            last = recent[0].cell_id if recent else cells[0].id
            cell = next((one for one in cells if one.id == last), cells[0])
        sessions = read.where(
            Session, cell_id=cell.id, status=OPEN, order="opened_at", descending=True, limit=1
        ) or read.where(Session, cell_id=cell.id, order="opened_at", descending=True, limit=1)
        session = sessions[0] if sessions else None
        tag = read.get(Engine, session.engine_id).tag if session else ""
    return CellView(
        cell=cell,
        names=tuple(one.name for one in cells),
        calibrations=tuple(list_calibrations(desk, cell.name)),
        session=session,
        engine_tag=tag,
    )


def backups_of(desk: Desk) -> Backups:
    """The automatic backups of this book."""
    path = desk.book.path
    return Backups(str(folder_of(path)), desk.backups_kept, tuple(kept_copies(path)))
