"""``logbook merge``: dry run, conflicts with codes, answers, endings."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import AIR, CommandLine, peaks


@pytest.fixture
def south(shop: CommandLine, tmp_path: Path) -> Path:
    """Another cell's book with an engine of the same tag."""
    path = tmp_path / "south.db"
    shop.ok("cell", "add", "South", "--db", path)
    shop.ok("engine", "add", "RB-2", "--bore", "4.040 in", "--band", "4500-6500", "--db", path)
    shop.ok(*peaks(300, *AIR), "--db", path)
    return path


def codes(listed: str) -> list[str]:
    return [line.split()[1] for line in listed.splitlines() if line.startswith("conflict ")]


def test_a_dry_run_lists_and_a_merge_refuses_until_all_is_settled(
    shop: CommandLine, south: Path
) -> None:
    shop.ok(*peaks(398, *AIR))
    before = shop.rows()
    look = shop.ok("merge", south, "--dry-run")
    assert "new: 1 pull" in look.out
    assert "[same or here:NAME or there:NAME]: engine RB-2" in look.out
    assert "bore mm 102.616" in look.out
    refused = shop("merge", south)
    assert refused.code == 2
    assert "1 conflict is not settled; nothing was merged" in refused.err
    assert codes(refused.out) == codes(look.out)
    assert shop.rows() == before
    merged = shop.ok("merge", south, "--settle", f"{codes(look.out)[0]}=there:RB-2 south")
    assert "The book as it was before" in merged.err
    shop.ok("verify")
    assert "RB-2 south" in shop.ok("engine", "list").out
    assert "holds everything of the other already" in shop.ok("merge", south).err


def test_as_json(shop: CommandLine, south: Path) -> None:
    report = shop.ok("merge", south, "--dry-run", "--json").json
    assert report["entered"]["pull"] == 1
    assert report["conflicts"][0]["answers"] == ["same", "here:NAME", "there:NAME"]
    assert report["backup"] is None
    code = report["conflicts"][0]["code"]
    assert shop.ok("merge", south, "--json", "--settle", f"{code}=same").json["backup"]


@pytest.mark.parametrize(
    ("settle", "said"),
    [
        ("nonsense", "'nonsense' is no answer"),
        ("0badc0de=here", "there is no conflict '0badc0de'"),
        ("{}=maybe", "'maybe' is no answer"),
        ("{}=there:", "is no answer"),
    ],
)
def test_an_answer_that_fits_nothing(
    shop: CommandLine, south: Path, settle: str, said: str
) -> None:
    code = codes(shop.ok("merge", south, "--dry-run").out)[0]
    refused = shop("merge", south, "--settle", settle.format(code))
    assert refused.code == 2
    assert said in refused.err


def test_what_cannot_be_merged_is_a_sentence(shop: CommandLine, tmp_path: Path) -> None:
    assert "the very book" in shop("merge", shop.book).err
    (tmp_path / "a.csv").write_text("engine,bore\n")
    assert "not a logbook" in shop("merge", tmp_path / "a.csv").err
    assert shop("merge", tmp_path / "none.db").code == 1
