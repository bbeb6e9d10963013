"""``logbook archive`` and ``import``."""

from __future__ import annotations

from tests.cli.conftest import AIR, CommandLine, peaks, sweep


def test_there_and_back(shop: CommandLine) -> None:
    shop.ok(*peaks(398, *AIR, "--set", "timing=32", "--note", "=1+1"))
    shop.ok("pull", "add", "--engine", "RB-2", "--trace", sweep(shop.folder / "run.csv"))
    target = shop.folder / "out" / "shop.zip"
    told = shop.ok("archive", target, "--json").json
    assert (told["rows"]["pulls"], told["traces"], told["files"]) == (2, 1, 1)
    assert shop("archive", target).code == 2
    copy = shop.folder / "copy.db"
    assert "pulls: 2" in shop.ok("import", target, copy).out
    shop.ok("--db", copy, "verify")
    before, after = (
        shop.ok("--db", book, "export", "--engine", "RB-2", "--traces", "--format", "jsonl").out
        for book in (shop.book, copy)
    )
    assert before == after
    again = shop("import", target, copy)
    assert again.code == 2
    assert "another name" in again.err
    other = shop.folder / "other.db"
    assert shop.ok("--db", other, "import", target, "--json").json["rows"]["pulls"] == 2
    nothing = shop("import", shop.folder / "run.csv", shop.folder / "x.db")
    assert nothing.code == 2
    assert "no archive here" in nothing.err
