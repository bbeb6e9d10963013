"""Threads: superseded requests, stale answers, refusals and faults as messages."""

from __future__ import annotations

import asyncio
import gc
import sys
import threading
import time
from typing import Any

import pytest
from textual.app import App
from textual.message_pump import MessagePump

from logbook import underway
from logbook.app import work as work_module
from logbook.app.messages import Answer, BookChanged, Faulted, Got, Refused
from logbook.app.work import Work
from logbook.refusals import BadInput


class Ear(App[None]):
    """Hears answers and writes them down."""

    def __init__(self) -> None:
        super().__init__()
        self.heard: list[Any] = []

    def on_got(self, message: Got) -> None:
        self.heard.append(message)

    def on_refused(self, message: Refused) -> None:
        self.heard.append(message)

    def on_faulted(self, message: Faulted) -> None:
        self.heard.append(message)

    def on_book_changed(self, message: BookChanged) -> None:
        self.heard.append(message)


class Book:
    """Takes the place of a book: counts interruptions."""

    def __init__(self) -> None:
        self.interrupted: list[threading.Thread] = []

    def interrupt(self, thread: threading.Thread) -> None:
        self.interrupted.append(thread)


class Desk:
    def __init__(self) -> None:
        self.book, self.closed = Book(), False

    def close(self) -> None:
        self.closed = True


async def heard(pilot: Any, ear: Ear, number: int) -> list[Any]:
    for _ in range(500):
        if len(ear.heard) >= number:
            break
        await pilot.pause(0.01)
    return ear.heard


async def test_an_older_answer_on_the_same_lane_is_stale() -> None:
    ear, desk, gate = Ear(), Desk(), threading.Event()
    async with ear.run_test() as pilot:
        work = Work(lambda: desk)  # type: ignore[arg-type, return-value]
        work.read(ear, "find", lambda _: (gate.wait(5), "old")[1], Got)
        await pilot.pause(0.1)
        work.read(ear, "find", lambda _: "new", Got)
        assert desk.book.interrupted  # the query that had begun is told to stop
        gate.set()
        answers: list[Answer] = await heard(pilot, ear, 1)
        await pilot.pause(0.05)
        assert [a.result for a in answers] == ["new"]  # type: ignore[attr-defined]
        assert not work.is_stale(ear, answers[0])
        work.close()
        assert desk.closed


async def test_a_queued_read_that_is_superseded_never_runs() -> None:
    ear, gate, ran = Ear(), threading.Event(), list[str]()
    async with ear.run_test() as pilot:
        work = Work(Desk)  # type: ignore[arg-type]
        for lane in ("one", "two"):  # both readers are busy
            work.read(ear, lane, lambda _: gate.wait(5), Got)
        for text in ("a", "ab", "abc"):
            work.read(ear, "find", lambda _, text=text: ran.append(text), Got)
        gate.set()
        await heard(pilot, ear, 3)
        assert ran == ["abc"]
        work.close()


async def test_of_thousands_who_asked_and_are_gone_nothing_is_kept() -> None:
    async with Ear().run_test():
        work = Work(Desk)  # type: ignore[arg-type]
        work.aside(MessagePump(), "draft", str, Got)
        gc.collect()
        before, askers = sys.getallocatedblocks(), 2_000
        for _ in range(askers):
            work.aside(MessagePump(), "draft", str, Got)
        work.close()
        gc.collect()
        assert sys.getallocatedblocks() < before + askers


async def test_a_change_is_never_dropped_and_is_told_to_the_app() -> None:
    ear, done = Ear(), list[int]()
    async with ear.run_test() as pilot:
        work = Work(Desk)  # type: ignore[arg-type]
        for number in range(3):
            work.write(ear, "log", lambda _, number=number: done.append(number), Got)
        answers = await heard(pilot, ear, 6)
        assert done == [0, 1, 2]
        assert sum(isinstance(a, BookChanged) for a in answers) == 3
        work.close()


async def test_a_refusal_and_a_fault_come_as_messages() -> None:
    def refuse(_: object) -> None:
        raise BadInput("140 % is outside 0–100 %", where="Relative humidity")

    def fault(_: object) -> None:
        raise ZeroDivisionError("division by zero")

    ear = Ear()
    async with ear.run_test() as pilot:
        work = Work(Desk)  # type: ignore[arg-type]
        work.read(ear, "a", refuse, Got)
        work.read(ear, "b", fault, Got)
        answers = await heard(pilot, ear, 2)
        refused = next(a for a in answers if isinstance(a, Refused))
        faulted = next(a for a in answers if isinstance(a, Faulted))
        assert refused.refusal.sentence.startswith("Relative humidity")
        assert "ZeroDivisionError" in faulted.sentence
        assert "Traceback" in faulted.details
        work.close()


async def test_work_that_is_superseded_ends_at_its_next_step_and_says_nothing() -> None:
    ear, begun, ended = Ear(), threading.Event(), threading.Event()

    def long(_: object) -> str:
        try:
            for _ in underway.each(range(10_000)):
                begun.set()
                time.sleep(0.001)
        finally:
            ended.set()
        return "old"

    async with ear.run_test() as pilot:
        work = Work(Desk)  # type: ignore[arg-type]
        work.read(ear, "plan", long, Got)
        await asyncio.to_thread(begun.wait, 5)
        work.read(ear, "plan", lambda _: "new", Got)
        assert await asyncio.to_thread(ended.wait, 5)
        answers = await heard(pilot, ear, 1)
        await pilot.pause()
        assert [answer.result for answer in answers] == ["new"]
        work.close()


async def test_what_somebody_leaves_is_no_longer_read() -> None:
    ear, begun, ended = Ear(), threading.Event(), list[str]()

    def long(_: object) -> None:
        try:
            for _ in underway.each(range(10_000)):
                begun.set()
                time.sleep(0.001)
        except underway.Stopped:
            ended.append("stopped")
            raise

    async with ear.run_test():
        work = Work(Desk)  # type: ignore[arg-type]
        work.read(ear, "years", long, Got)
        await asyncio.to_thread(begun.wait, 5)
        work.leave(ear)
        work.close()
        assert ended == ["stopped"]


async def test_a_book_that_opens_slowly_says_so_and_is_not_stopped(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(work_module, "SLOW_S", 0.0)
    ear, gate, seen = Ear(), threading.Event(), list[tuple[str, bool]]()
    async with ear.run_test() as pilot:
        work = Work(lambda: (gate.wait(5), Desk())[1])  # type: ignore[arg-type, return-value]

        def look() -> None:
            seen.extend((one.doing, one.free) for one in work.slow(ear))

        work.read(ear, "engines", lambda _: look(), Got, "reading the engines")
        await asyncio.sleep(0.01)
        look()
        gate.set()
        await heard(pilot, ear, 1)
        assert seen == [("opening the book", False), ("reading the engines", True)]
        work.close()
