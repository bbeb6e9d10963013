"""Files of every make come back byte for byte, whichever way the book keeps them."""

from __future__ import annotations

from random import Random

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logbook.intake.file import read_bytes
from logbook.refusals import BadFile
from logbook.store import sources
from tests.store.conftest import Shop
from tests.store.test_outlines import log, trimmed

ODD = ("", "-0.00", "1.5E2", "7e-3", "+1", " 12", "0", "-.5", "00.10", "NaN", "1 000", "\x01", "é")


@st.composite
def tables(draw: st.DrawFn) -> bytes:
    """A file of a sweep, printed in some way and then spoiled here and there."""
    rng, point = Random(draw(st.integers(0, 10**6))), draw(st.sampled_from(".,"))
    apart = draw(st.sampled_from([";", "\t", "; "] if point == "," else [",", ";", "\t", ", "]))
    quote, end = draw(st.sampled_from(["", '"'])), draw(st.sampled_from(["\n", "\r\n"]))
    plus, strip, tail = draw(st.booleans()), draw(st.booleans()), draw(st.sampled_from(["", apart]))
    decimals = [draw(st.integers(0, 9)) for _ in range(draw(st.integers(2, 7)))]
    table = [
        [f"{level + rng.gauss(0, size):.{places}f}" for places, level, size in
         zip(decimals, (4000 + 40 * row, 300, 0, 0, 5, -9, 1e5), (1, 2, 5, 9, 0, 1, 99),
             strict=False)]
        for row in range(draw(st.integers(15, 60)))
    ]  # fmt: skip
    if strip:
        table = [[trimmed(cell) for cell in row] for row in table]
    for _ in range(draw(st.integers(0, 6))):
        row = rng.choice([row for row in table if row])
        at = rng.randrange(len(row))
        row[at:] = row[at:-1] if rng.random() < 0.2 else [rng.choice(ODD), *row[at + 1 :]]
    head = ["Engine speed [rpm]", "Torque [Nm]", *(f"Öl {n} [kPa]" for n in range(5))]
    sign = "+" if plus else ""
    shown = [
        apart.join(f"{quote}{sign if cell[:1].isdigit() else ''}{cell}{quote}" for cell in row)
        + tail
        for row in [
            head[: len(decimals)],
            *([cell.replace(".", point) for cell in row] for row in table),
        ]
    ]
    return (end.join(shown) + draw(st.sampled_from(["", end, 2 * end]))).encode("latin-1")


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(content=tables())
def test_every_file_comes_back_byte_for_byte(shop: Shop, content: bytes) -> None:
    try:
        trace = read_bytes("run_1.csv", content).trace
    except BadFile:
        return
    _, source_id = log(shop, content, trace)
    with shop.book.reading() as read:
        assert read.source(source_id).content == content
        (kept,) = read.rows("SELECT content_zlib FROM sources WHERE id = ?", (source_id,))
    assert len(kept[0]) <= len(sources.copy_of(content))
