"""A plan by the command line: proposed, accepted, ticked off, withdrawn."""

from __future__ import annotations

from tests.cli.conftest import AIR, CommandLine, peaks

JETS = ("--try", "main jets=82")


def test_a_plan_from_proposal_to_withdrawal(shop: CommandLine) -> None:
    shop.ok(*peaks(398, *AIR, "--set", "timing=30"))
    proposed = shop.ok("plan", "RB-2/last", *JETS, "--budget", "7", "--json").json
    assert proposed["accepted"] is False
    assert [pull["name"] for pull in proposed["pulls"]][:3] == [
        "baseline", "baseline", "main jets 82",
    ]  # fmt: skip
    assert proposed["pulls"][2]["levels"] == {"timing": "30", "main jets": "82"}
    assert shop("plan", "RB-2/last").code == 2
    said = shop.ok("plan", "RB-2/last", *JETS, "--budget", "7", "--accept")
    assert "Plan accepted" in said.err
    assert "four times in five" in said.out
    shop.ok(*peaks(398.4))
    shop.ok(*peaks(401, "--set", "main jets=82"))
    assert shop.ok("plan", "RB-2/last", "--json").json["done"] == 3
    shop.ok("plan", "RB-2/last", "--withdraw")
    assert shop("plan", "RB-2/last", "--withdraw").code == 2
    shop.ok("undo")
    assert shop.ok("plan", "RB-2/last", "--json").json["next"] == "main jets 82"


def test_what_a_plan_cannot_be_is_refused_in_words(shop: CommandLine) -> None:
    shop.ok(*peaks(398, *AIR, "--set", "timing=30"))
    for arguments, said in (
        ((*JETS,), "--budget"),
        ((*JETS, "--budget", "3"), "between 5"),
        (("--try", "timing=40", "--budget", "9"), "limit of 36"),
        (("--accept",), "nothing to accept"),
        ((*JETS, "--withdraw"), "alone"),
        (("--try", "jets", "--budget", "9"), "sets nothing"),
    ):
        ended = shop("plan", "RB-2/last", *arguments)
        assert ended.code == 2
        assert said in ended.err
        assert ended.out == ""
