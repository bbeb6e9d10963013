"""The builder's screens by keys: calibrations, builds, inspections, due marks, measures, years."""

from __future__ import annotations

from logbook.cases.attachments import list_attached
from tests.app.conftest import Shop, file_engine, hand_on, in_session, measure_build
from tests.published import nist_strd


async def test_nists_load_cell_goes_through_the_calibration_screen(shop: Shop) -> None:
    """NIST StRD Pontius, and Norris after it, to all digits that the screen prints; a pair that
    is none is said before anything is stored."""
    async with hand_on(shop.book, clock=shop.clock) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.press("d")
        await hand.front("CellScreen")
        for name, (x, y), powers in (
            ("Pontius", nist_strd.PONTIUS, ("0.0006735658", "7.320592e−07", "3.160819e−15")),
            ("Norris", nist_strd.NORRIS, ("−0.2623231", "1.002117")),
        ):
            await hand.press("n")
            form = await hand.front("CalibrationForm")
            await hand.until(lambda form=form: form.entry("pairs") and form._settled, "the form")
            form.entry("which").set_value(name)
            form.entry("pairs").set_value(" ".join(map("{}:{}".format, x, y)))
            shop.clock.turn(1)
            await hand.press("ctrl+s")
            await hand.front("CellScreen")
            await hand.until(lambda name=name: name in "".join(hand.rows()), name)
            await hand.press("home")
            if len(powers) == 3:
                await hand.press("v")
            await hand.until(
                lambda powers=powers: all(p in hand.text_of("#chosen") for p in powers), name
            )
            if len(powers) == 3:
                await hand.press("v", "v")
        await hand.press("n")
        form = await hand.front("CalibrationForm")
        await hand.until(lambda: form.entry("pairs") and form._settled, "the form")
        form.entry("instrument").set_value("barometer")
        await hand.until(lambda: form.entry("unit").value == "inHg", "its unit")
        form.entry("pairs").set_value("29:29.1 30")
        await hand.until(lambda: "no pair" in form.entry("pairs").error, "the error")


async def test_measures_years_and_fuels_stand_behind_one_key_each(shop: Shop) -> None:
    measure_build(shop)
    async with hand_on(shop.book, clock=shop.clock) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.press("s")
        await hand.front("SheetScreen")
        await hand.press("m")
        await hand.front("ChecksScreen")
        await hand.until(lambda: any("Piston clearance, widest" in r for r in hand.rows()))
        await hand.press("down")
        await hand.until(lambda: "cyl. 8 0.0067 ✗" in hand.text_of("#chosen"), "the worn bore")
        await hand.press("escape", "p")
        await hand.front("BuildScreen")
        await hand.until(lambda: bool(hand.rows()), "the build's items")
        await hand.press("m")
        await hand.front("ChecksScreen")
        await hand.press("escape", "escape", "h")
        await hand.front("YearsScreen")
        await hand.until(lambda: "need 4 steps" in hand.text_of("#chosen"), "the years")
        await hand.press("escape", "escape", "f")
        await hand.front("FuelsScreen")
        await hand.until(lambda: "Methanol" in hand.rows()[0], "the fuels")
        await hand.press("down", "enter", "up")
        await hand.until(lambda: "Jet area × 2.183" in hand.text_of("#chosen"), "the jets")
        assert "Methanol burns invisibly" in hand.text_of("#chosen")
        await hand.press("n")
        await hand.front("FuelForm")
        await hand.until(lambda: hand.app.focused is not None)
        await hand.type("Drum 9")
        await hand.press("ctrl+s")
        await hand.front("FuelsScreen")
        await hand.until(lambda: "Drum 9" in hand.rows()[0], "the new fuel")


async def test_a_builds_items_are_entered_corrected_and_taken_out(shop: Shop) -> None:
    file_engine(shop)
    async with hand_on(shop.book, clock=shop.clock) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.press("s")
        await hand.front("SheetScreen")
        await hand.press("p")
        await hand.front("BuildScreen")
        await hand.until(lambda: any(r.startswith("≠") and "0.043" in r for r in hand.rows()))
        assert any(row.startswith("−") and "valve guide" in row for row in hand.rows())
        await hand.press("n")
        form = await hand.front("ItemForm")
        await hand.until(lambda: form._settled, "the form")
        form.entry("system").set_value("clearances")
        form.entry("name").set_value("rod bearing")
        form.entry("per-cylinder").set_value("0.0024 0.0025 in")
        await hand.until(lambda: "2 values for 8" in form.entry("per-cylinder").error, "the error")
        form.entry("per-cylinder").set_value("")
        form.entry("value").set_value("0.0024 in")
        await hand.until(lambda: not form.entry("per-cylinder").error, "no error")
        await hand.press("ctrl+s")
        await hand.front("BuildScreen")
        await hand.until(lambda: any("rod bearing" in r and r[0] == "+" for r in hand.rows()))
        await hand.press("left")
        await hand.until(lambda: not any("rod bearing" in row for row in hand.rows()), "build 1")
        await hand.press("right")
        await hand.until(lambda: any("rod bearing" in row for row in hand.rows()), "build 2")
        await hand.press("home", "delete")
        await hand.front("ConfirmScreen")
        await hand.press("enter")
        await hand.front("BuildScreen")
        await hand.until(lambda: hand.rows()[-1].startswith("−"), "the piston left out")
        await hand.press("u")
        await hand.notice("Taken back")


async def test_an_inspection_a_clearance_and_a_due_mark_go_in_by_keys(shop: Shop) -> None:
    async with hand_on(shop.book, clock=shop.clock) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.press("s")
        await hand.front("SheetScreen")
        await hand.press("i")
        await hand.front("InspectionsScreen")
        await hand.press("n")
        form = await hand.front("InspectionForm")
        await hand.until(lambda: form._settled, "the form")
        form.entry("leak-down").set_value("4 5 4 5 4 14 4 5")
        await hand.press("ctrl+s")
        await hand.front("InspectionsScreen")
        await hand.until(lambda: any("⚠ cyl 6" in row for row in hand.rows()), "the inspection")
        await hand.press("c")
        form = await hand.front("ClearanceForm")
        await hand.until(lambda form=form: form._settled, "the form")
        form.entry("name").set_value("main bearing")
        form.entry("measured").set_value("0.0034")
        form.entry("limit").set_value("0.0015..0.0030")
        await hand.press("ctrl+s")
        await hand.front("InspectionsScreen")
        await hand.until(lambda: "✗ reject" in hand.text_of("#chosen"), "the verdict")
        await hand.press("escape", "d")
        await hand.front("DueScreen")
        await hand.press("n")
        form = await hand.front("DueForm")
        await hand.until(lambda: form._settled, "the form")
        form.entry("what").set_value("oil")
        form.entry("pulls").set_value("5")
        form.entry("since").set_value("2026-03-14")
        await hand.press("ctrl+s")
        await hand.front("DueScreen")
        await hand.until(lambda: any("⚠ due" in row for row in hand.rows()), "the mark")
        await hand.press("escape")
        await hand.front("SheetScreen")
        await hand.until(lambda: "⚠ Due · oil" in hand.text_of("#sheet"), "the sheet says so")
        assert "⚠ cyl 6" in hand.text_of("#sheet")


async def test_the_cell_is_reached_from_the_session_and_its_safety_list_ticked(shop: Shop) -> None:
    async with hand_on(shop.book, clock=shop.clock) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.press("enter")
        await hand.session()
        await hand.press("C")
        await hand.front("CellScreen")
        await hand.until(lambda: "altitude 1250 ft" in hand.text_of("#head"), "the cell")
        await hand.press("s")
        await hand.front("SafetyScreen")
        await hand.until(lambda: hand.rows() and hand.rows()[0].startswith("☑"), "the list")
        await hand.press("space")
        await hand.until(lambda: hand.rows()[0].startswith("☐"), "the tick taken away")
        await hand.press("escape")
        await hand.front("CellScreen")
        await hand.until(lambda: "⚠ safety list 6 of 7" in hand.text_of("#head"), "the caution")
        await hand.press("l")
        await hand.front("StandardsScreen")
        await hand.until(lambda: "SAE J1349" in hand.text_of("#judged"), "the standards")
        await hand.press("escape", "b")
        await hand.front("BackupsScreen")
        await hand.until(lambda: "session closed" in hand.text_of("#judged"), "backups")


async def test_a_file_is_attached_to_a_session_listed_taken_off_and_brought_back(
    shop: Shop,
) -> None:
    async with in_session(shop) as hand:
        await hand.press("O")
        await hand.front("AttachedScreen")
        await hand.until(lambda: "a new one goes to this session" in hand.text_of("#head"), "it")
        await hand.press("n")
        await hand.front("FilePicker")
        await hand.until(lambda: any("run-4.csv" in row for row in hand.rows()), "the files")
        assert "File to attach to this session" in hand.text_of("#head")
        await hand.press("enter")
        await hand.front("AttachedScreen")
        await hand.notice("attached to this session")
        await hand.until(lambda: len(hand.rows()) == 1, "the file")
        kept = list_attached(shop.desk, "RB-2")[0]
        assert (kept.attachment.session_id, kept.there) == (shop.session_id, True)
        await hand.press("delete")
        await hand.front("ConfirmScreen")
        await hand.press("enter")
        await hand.notice("taken off")
        assert not hand.rows()
        await hand.press("u")
        await hand.until(lambda: len(hand.rows()) == 1, "it is back")


async def test_a_file_is_attached_to_the_inspection_chosen(shop: Shop) -> None:
    file_engine(shop)
    async with hand_on(shop.book, clock=shop.clock) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.press("s")
        await hand.front("SheetScreen")
        await hand.press("i")
        await hand.front("InspectionsScreen")
        await hand.until(lambda: bool(hand.rows()), "the inspection")
        await hand.press("o")
        await hand.front("FilePicker")
        await hand.until(lambda: bool(hand.rows()), "the files")
        await hand.press("enter")
        await hand.front("InspectionsScreen")
        await hand.notice("attached to the inspection of")
        assert list_attached(shop.desk, "RB-2")[0].attachment.inspection_id
