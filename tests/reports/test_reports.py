"""A report says what the app says, to the last digit, and harms nobody who opens it."""

from __future__ import annotations

import re
import unicodedata
from xml.etree import ElementTree

import pytest
from markdown_it import MarkdownIt

from logbook.app import session_lines
from logbook.app.widgets import answer_words, ledger_words
from logbook.app.widgets.ink import Line
from logbook.cases import (
    builds,
    calibrations,
    engines,
    inspections,
    ledger,
    pulls,
    sessions,
)
from logbook.cases.calibrations import CalibrationEntry
from logbook.cases.desk import Desk
from logbook.cases.judge import answer, session_view
from logbook.cases.side_by_side import compare_sides
from logbook.reports import charts, showing, sides_words
from logbook.reports.issue import HTML, MARKDOWN, build_text, engine_text, session_text
from logbook.reports.markdown import markdown
from logbook.reports.paper import Answer, Cautions, Facts, Paper, Section, Table, Words, columns
from tests.cases.conftest import AIR, Shop
from tests.reports.page_reader import SVG, Page, read_page

HOSTILE = (
    "<script>alert(1)</script> & \"quoted\" 'so' {{ 7*7 }} {% raw %} ]]> <!-- \x1b[31m \u202egnp"
    " *bold* _it_ [link](http://example.invalid) | cell | `code` $x$ ~~no~~ <b>x</b> \\ "
)
LINES = "# heading\n- item\n1. first\n===\n> quote\n    code"


def said(line: Line) -> str:
    return "".join(text for text, _ in line).strip()


@pytest.fixture(scope="module")
def boat(demo: Desk) -> Page:
    """The page of the boat V8's last session."""
    return read_page(session_text(demo, "RB-8/last", HTML))


@pytest.mark.parametrize("ref", ["RB-8/last", "HC-4B/last", "RB-4/last", "PT-6/2025-03-15"])
def test_a_sessions_page_has_the_figures_of_the_app(demo: Desk, boat: Page, ref: str) -> None:
    page = boat if ref == "RB-8/last" else read_page(session_text(demo, ref, HTML))
    view = session_view(demo, sessions.find_session(demo, ref).id)
    table = page.table("Corrected figures")
    assert [row["Pull"] for row in table] == [str(r.pull.number) for r in reversed(view.rows)]
    for row, shown in zip(reversed(view.rows), table, strict=True):
        cells = session_lines.pull_row(row, view, "us").cells
        assert shown["Power, hp"].removesuffix(" peak") == said(cells[3])
        assert shown["Alone, hp"].replace("—", "") == said(cells[4])
        assert shown["Time"] == said(cells[1])
    chosen = next(row for row in view.rows if row.worth is not None)
    found = answer(demo, view.session.id, chosen.pull.id)
    worth = found.from_baseline
    assert worth is not None
    in_the_app = " · ".join(map(said, answer_words.worth_words(worth, view, 200, "us")))
    sign, figure, unit, word = page.of_class("figure").split(" ", 3)
    assert in_the_app.startswith(f"{sign} {word}")
    assert (figure, unit) == (showing.signed(worth.difference_kw, "us"), "hp")
    interval = re.search(r"95 % interval (.+? to .+? hp)", page.words())
    assert interval is not None
    assert f"95 % {interval.group(1)}" in in_the_app
    assert f"{showing.percent(worth.percent)} in corrected band power" in page.words()


def test_the_ledger_on_paper_is_the_one_on_the_screen(demo: Desk, boat: Page) -> None:
    view = ledger.ledger_view(demo, sessions.find_session(demo, "RB-8/last").id)
    screen = " ".join(map(said, ledger_words.ledger_lines(view, 300, "us")))
    for caption in ("From the baseline to the last set-up", "Tried and not kept"):
        for row in boat.table(caption):
            sign, word = row["Verdict"].split(" ", 1)
            assert f"{sign} {row['Worth, hp']}" in screen
            assert f"{word} · 95 % {row['95 % interval, hp']} · {row['%']} %" in screen
    for row in boat.table("Every factor"):
        assert f"{row['Worth, hp']}  {row['Factor and level']}" in screen


def test_markdown_tells_the_same_as_the_page(demo: Desk, boat: Page) -> None:
    text = session_text(demo, "RB-8/last", MARKDOWN)
    html = MarkdownIt("commonmark").enable("table").render(text)
    cells = re.findall(r"<t[dh][^>]*>(.*?)</t[dh]>", html)
    shown = [cell.replace("&amp;", "&").replace("<br>", "\n") for cell in cells]
    on_page = ["".join(cell.itertext()) for table in boat.root.iter("table")
               for part in ("thead", "tbody", "tfoot") for held in table.iter(part)
               for row in held.iter("tr") for cell in row]  # fmt: skip
    assert shown == on_page
    assert set(re.findall(r"<(\w+)", html)) <= {
        "h1", "h2", "p", "strong", "ul", "li", "table", "thead", "tbody", "tr", "th", "td", "hr",
        "br",
    }  # fmt: skip


@pytest.mark.parametrize("form", [HTML, MARKDOWN])
def test_builds_and_engines(demo: Desk, form: str) -> None:
    """Also one whose builds ran under different standards, and one of a single build."""
    engine = engine_text(demo, "RB-8", form)
    assert all(label in engine for label in ("build 1", "build 2", "build 3"))
    build = build_text(demo, "RB-8", "BUILD 3", form)
    assert "Everything that differs" in build
    claimed = compare_sides(demo, "HC-4A/build 1", "HC-4A/build 2", standard="sae-j1349")
    assert claimed.attribution is not None
    rebuilt = build_text(demo, "HC-4A", "build 2", form)
    assert sides_words.answer(claimed.attribution, "us") in rebuilt
    assert sides_words.claims(claimed.attribution, "us")[0] in rebuilt
    alone = build_text(demo, "RB-4", "build 1", form)
    assert "first build" in alone
    if form == HTML:
        for text in (engine, build, alone):
            read_page(text)


def test_sessions_without_an_answer(shop: Shop) -> None:
    for step in ("none", "no air", "baseline", "typed", "diesel"):
        if step == "no air":
            shop.peaks(398, timing=30)
        elif step == "baseline":
            pulls.new_air(shop.desk, shop.session_id, AIR, units=None)
            shop.peaks(398)
        elif step == "typed":
            shop.peaks(402, timing=32)
        elif step == "diesel":
            engines.change_engine(shop.desk, "RB-2", {"ignition": "compression"})
        text = session_text(shop.desk, shop.session_id, HTML)
        page = read_page(text)
        assert session_text(shop.desk, shop.session_id, MARKDOWN)
        words = page.words()
        expected = {
            "none": "No pull was logged in this session",
            "no air": "There is no air reading",
            "baseline": "part of the baseline",
            "typed": "leaning",
            "diesel": "Compression-ignition engines are not corrected",
        }
        assert expected[step] in words, step


def test_what_is_on_file_beside_the_pulls(shop: Shop) -> None:
    """Calibrations on the session's page; items and inspections on the build's."""
    entry = CalibrationEntry("load cell", "0:0 100:100.3 200:200.5 300:300.9 200:200.6 0:0.1",
                             "lb-ft", tolerance="0.5 %", due="1 day", at="2026-03-01")  # fmt: skip
    assert "No calibration of North" in read_page(session_text(shop.desk, "last", HTML)).words()
    calibrations.add_calibration(shop.desk, "North", entry)
    shop.peaks(398, timing=30)
    page = read_page(session_text(shop.desk, "last", HTML))
    (row,) = page.table("Calibrations that stood")
    assert row["Verdict"].startswith("✓ within tolerance")
    assert row["Calibrated on"] == "2026-03-01"
    assert "due again on 2026-03-02" in page.table("Remarks")[0]["Cautions"]
    builds.set_item(shop.desk, "RB-2", "build 1", "ring pack", "top ring",
                    {"value": "0.043 in", "tolerance": "0.042..0.044 in"})  # fmt: skip
    builds.add_build(shop.desk, "RB-2", "build 2")
    builds.set_item(shop.desk, "RB-2", "build 2", "ring pack", "top ring",
                    {"value": "1.0 mm", "done": "new"})  # fmt: skip
    inspections.add_inspection(shop.desk, "RB-2", {"leak-down": "4 5 4 6 4 5 19 4"})
    page = read_page(build_text(shop.desk, "RB-2", "build 2", HTML))
    (changed,) = page.table("What differs from build 1")
    assert (changed["Was"], changed["Is"], changed["What was done"]) == (
        "0.043 in", "1.0 mm", "changed",
    )  # fmt: skip
    assert [row["Leak-down, %"] for row in page.table("Cylinders")][6] == "19.0"
    assert "cylinder 7 stands apart" in page.words()


def test_whatever_was_typed_is_shown_and_not_obeyed(shop: Shop) -> None:
    everything = HOSTILE + "\n" + LINES
    engines.change_engine(shop.desk, "RB-2", {"name": HOSTILE.strip(), "owner": HOSTILE.strip(),
                                              "note": everything})  # fmt: skip
    pulls.new_air(shop.desk, shop.session_id, AIR, units=None)
    shop.trace(1.0, timing=30, name="<b>$x$\u202e&.csv")
    shop.log({"peak-torque": "400 lb-ft", "at": "4800", "peak-power": "420 hp",
              "power-at": "6200", "note": everything, "observed": everything})  # fmt: skip
    shop.trace(1.01)
    sessions.change_session(shop.desk, shop.session_id, purpose=HOSTILE, notes=everything)
    last = pulls.find_pull(shop.desk, "RB-2/last/3")
    pulls.change_pull(shop.desk, last.id, {}, set_up={"<i>$jets$</i>": "$\\frac{1}{2}$ <svg/>"},
                      why="hostile")  # fmt: skip
    for text in (
        session_text(shop.desk, shop.session_id, HTML),
        engine_text(shop.desk, "RB-2", HTML),
        build_text(shop.desk, "RB-2", "build 1", HTML),
    ):
        page = read_page(text)
        assert harmless(text)
        assert "<script>alert(1)</script>" in page.words()
        assert "‹U+202E›gnp" in page.words()
        assert "{{ 7*7 }}" in page.words()
    for text in (session_text(shop.desk, shop.session_id, MARKDOWN),
                 engine_text(shop.desk, "RB-2", MARKDOWN)):  # fmt: skip
        assert harmless(text)
        rendered = MarkdownIt("commonmark").enable(["table", "strikethrough"]).render(text)
        found = set(re.findall(r"<(\w+)", rendered.replace("&lt;", "")))
        assert not found & {"a", "script", "b", "em", "code", "pre", "blockquote", "ol", "s", "i"}
        assert rendered.count("<h1>") == 1
        assert "*bold* _it_ [link](http://example.invalid) | cell | `code`" in rendered


@pytest.mark.filterwarnings("error")
def test_a_picture_takes_characters_that_its_font_lacks() -> None:
    curve = charts.Curve("汽缸 🏁 <&$x$ \u202e", (4000, 5000), (100, 120), (90.0, 95.0))
    drawn = charts.svg(charts.CurvesChart("hp", "lb·ft", (curve,), None), "t", "d", "k")
    assert "汽缸 🏁 <&$x$ ‹U+202E›" in "".join(ElementTree.fromstring(drawn).itertext())


def harmless(text: str) -> bool:
    """No control or format character but line ends."""
    return all(letter == "\n" or unicodedata.category(letter) not in ("Cc", "Cf", "Cs")
               for letter in text)  # fmt: skip


def test_a_text_of_many_lines_stays_in_its_cell() -> None:
    table = Table("Remarks", columns("Pull", "Note"), (("1", "a | b\n- c"), ("2", "")))
    paper = Paper("t", "s", Answer("▲", "+1", "hp", "gain", ()), "", Cautions(()), Facts(()),
                  (Section("Notes", (table, Words("1. no list"))),), "made")  # fmt: skip
    html = MarkdownIt("commonmark").enable("table").render(markdown(paper))
    assert "<td>a | b<br>- c</td>" in html
    assert "<ol>" not in html


def test_pictures_name_what_they_show(boat: Page) -> None:
    pictures = list(boat.root.iter(f"{SVG}svg"))
    assert len(pictures) == 3
    first = " ".join("".join(picture.itertext()) for picture in pictures[:1])
    assert "95 % band" in first, "the difference with its band comes first"
    assert re.search(r"The band (lies clear of|holds) the zero line", first)
