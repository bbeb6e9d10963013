"""Pictures of every screen of the real app on the demo logbook.

Run ``python -m screenshots.make [FOLDER] [--only NAME …]``: builds the demo in a temporary
folder and writes an SVG of every scene at both sizes, and a PNG beside it where cairosvg is
installed (the extra ``pictures``).
"""

from __future__ import annotations

import argparse
import asyncio
import html
import io
import os
import re
import shutil
import tempfile
from datetime import datetime, timedelta
from pathlib import Path

from rich.cells import cell_len

from logbook.app.app import LogbookApp
from logbook.app.screens.file_picker import FilePicker
from logbook.cases.desk import open_desk
from logbook.cases.engines import list_engines
from logbook.cases.judge import session_view
from logbook.records.times import moment_of
from screenshots.scenes import ON_AN_EMPTY_BOOK, SCENES, SIZES, Visitor
from seed_db import build

_TEXT = re.compile(
    r'<text ([^>]*?) x="([\d.]+)" y="([\d.]+)" textLength="([\d.]+)"[^>]*>([^<]*)</text>'
)
_CLIP = re.compile(r' clip-path="[^"]*"')
_PIECES = re.compile(r"█+| +|[!-~]+|.", re.DOTALL)
_LINE_HEIGHT, _ASCENT = 24.6, 18.5
_FONT = "DejaVu Sans Mono"  # has every sign of the screens; where missing, some other is taken
_BRAILLE = 0x2800
_DOTS = ((0x01, 0, 0), (0x02, 0, 1), (0x04, 0, 2), (0x08, 1, 0), (0x10, 1, 1), (0x20, 1, 2),
         (0x40, 0, 3), (0x80, 1, 3))  # fmt: skip


def exact(svg: str) -> str:
    """The picture with every word on its cell, blocks and braille dots as shapes, so that it
    does not depend on the fonts of whoever looks at it."""

    def placed(found: re.Match[str]) -> str:
        attributes = _CLIP.sub("", found[1])
        text = html.unescape(found[5]).replace("\xa0", " ")
        if not text.strip():
            return ""
        x, y, cell = float(found[2]), float(found[3]), float(found[4]) / cell_len(text)
        drawn = []
        for piece in _PIECES.findall(text):
            size = cell_len(piece)
            if piece[0] == "█":
                drawn.append(
                    f'<rect {attributes} x="{x:.1f}" y="{y - _ASCENT:.1f}"'
                    f' width="{size * cell:.2f}" height="{_LINE_HEIGHT}"/>'
                )
            elif 0 < ord(piece[0]) - _BRAILLE < 256:
                drawn.append(f'<path {attributes} d="{_dots(piece, x, y - _ASCENT, cell)}"/>')
            elif piece.strip():
                drawn.append(
                    f'<text {attributes} x="{x:.1f}" y="{y:.1f}">{html.escape(piece)}</text>'
                )
            x += size * cell
        return "".join(drawn)

    return _TEXT.sub(placed, svg)


def _dots(piece: str, x: float, y: float, cell: float) -> str:
    """The dots of a braille character as small squares."""
    bits, size = ord(piece) - _BRAILLE, 3.2
    return " ".join(
        f"M{x + cell * (0.25 + 0.5 * across) - size / 2:.1f}"
        f" {y + _LINE_HEIGHT * (0.125 + 0.25 * down) - size / 2:.1f}"
        f"h{size}v{size}h-{size}z"
        for bit, across, down in _DOTS
        if bits & bit
    )


async def picture(book: Path, name: str, size: tuple[int, int], now: datetime) -> str:
    """One scene as SVG, on a book of its own: scenes log, plan and exclude."""
    own = book.with_name(f"{name}-{size[0]}.db")
    if name not in ON_AN_EMPTY_BOOK:
        shutil.copyfile(book, own)
    book = own
    app = LogbookApp(
        lambda: open_desk(book, who="M.K.", now=lambda: now), now=lambda: now, demo=lambda: book
    )
    async with app.run_test(size=size) as pilot:
        await SCENES[name](Visitor(pilot))
        return exact(app.export_screenshot(title=f"logbook, {size[0]}×{size[1]}"))


def prepared(folder: Path) -> tuple[Path, datetime]:
    """The demo book, a folder of trace files, and a time just after the open session's last
    pull."""
    book, cell = folder / "demo.db", folder / "cell"
    build(book)
    cell.mkdir()
    for number in range(3):
        lines = ["Engine speed [rpm],Torque [lb-ft],Manifold vacuum [inHg]"]
        lines += [
            f"{rpm},{(440 + number) - ((rpm - 4600) / 210) ** 2:.1f},{0.5 + rpm / 9000:.2f}"
            for rpm in range(3600, 6651, 50)
        ]
        path = cell / f"run_{412 + number:04d}.csv"
        path.write_text("\n".join(lines) + "\n")
    desk = open_desk(book, who="M.K.")
    open_session = next(row.open_session_id for row in list_engines(desk) if row.open_session_id)
    last = max(row.pull.at for row in session_view(desk, open_session).rows)
    desk.close()
    now = moment_of(last) + timedelta(minutes=3)
    for number, path in enumerate(sorted(cell.iterdir())):
        stamp = now.timestamp() - 3600 + 60 * number
        os.utime(path, (stamp, stamp))
    return book, now


def save(svg: str, path: Path) -> None:
    """The SVG, and a PNG where there is something to draw it with."""
    path.write_text(svg, encoding="utf-8")
    try:
        import cairosvg
        from PIL import Image
    except ImportError:
        return
    drawn = svg.replace("Fira Code", _FONT)  # cairosvg does not look past the first family
    made = cairosvg.svg2png(bytestring=drawn.encode(), scale=1.0)
    # A screen has few colors: a palette of 64 tells all of them and takes a third of the room.
    picture = Image.open(io.BytesIO(made)).convert("RGB").quantize(64, dither=Image.Dither.NONE)
    picture.save(path.with_suffix(".png"), optimize=True)


def main() -> None:
    """Every scene at both sizes."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", nargs="?", type=Path, default=Path(__file__).parent)
    parser.add_argument("--only", nargs="*", choices=sorted(SCENES), default=sorted(SCENES))
    given = parser.parse_args()
    given.folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        home = Path(name)
        os.environ["HOME"] = name
        book, now = prepared(home)
        FilePicker.last_folder = home / "cell"
        for scene in given.only:
            for size in SIZES:
                path = given.folder / f"{scene}-{size[0]}x{size[1]}.svg"
                save(asyncio.run(picture(book, scene, size, now)), path)
                print(path)


if __name__ == "__main__":
    main()
