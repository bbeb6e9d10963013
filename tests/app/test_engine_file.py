"""The builder's screens by keys: a calibration taken down, measures, the years."""

from __future__ import annotations

from tests.app.conftest import Shop, hand_on, measure_build
from tests.published import nist_strd


async def test_nists_load_cell_goes_through_the_calibration_screen(shop: Shop) -> None:
    """NIST StRD Pontius, and Norris after it, to all digits that the screen prints; a pair that
    is none is said before anything is stored."""
    async with hand_on(shop.book, clock=shop.clock) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.press("i")
        await hand.front("CalibrationsScreen")
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
            await hand.front("CalibrationsScreen")
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
        await hand.press("escape", "h")
        await hand.front("YearsScreen")
        await hand.until(lambda: "2 of the 5 values" in hand.text_of("#chosen"), "the years")
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
