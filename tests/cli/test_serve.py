"""The app in a browser: who is let in, and that it is the same app."""

from __future__ import annotations

import asyncio
import json
import sys
from pathlib import Path

import pytest
from aiohttp import CookieJar
from aiohttp.test_utils import TestClient, TestServer

from logbook.cli.run import run
from logbook.cli.serving import LogbookServer, is_loopback

TOKEN = "a-token-of-the-shop"


async def _client(server: LogbookServer) -> TestClient:  # type: ignore[type-arg]
    client = TestClient(TestServer(await server._make_app()), cookie_jar=CookieJar(unsafe=True))
    await client.start_server()
    return client


@pytest.mark.parametrize(
    ("host", "own"),
    [("127.0.0.1", True), ("::1", True), ("localhost", True), ("0.0.0.0", False),
     ("192.0.2.7", False), ("cell-1.example", False)],
)  # fmt: skip
def test_which_addresses_are_this_machines_own(host: str, own: bool) -> None:
    assert is_loopback(host) is own


async def test_loopback_asks_for_no_token_but_answers_only_to_its_own_name() -> None:
    client = await _client(LogbookServer("true", "127.0.0.1", 8020, ""))
    try:
        page = await client.get("/")
        assert page.status == 200
        text = await page.text()
        assert "http" not in text.replace(f"ws://127.0.0.1:{client.port}/ws", ""), "nothing foreign"
        assert "frame-ancestors 'none'" in page.headers["Content-Security-Policy"]
        for headers in ({"Host": "elsewhere.example"}, {"Origin": "http://elsewhere.example"}):
            for place in ("/", "/ws", "/static/js/textual.js"):
                assert (await client.get(place, headers=headers)).status == 403
    finally:
        await client.close()


async def test_elsewhere_nothing_is_served_without_the_token() -> None:
    client = await _client(LogbookServer("true", "0.0.0.0", 8020, TOKEN))
    try:
        for place in ("/", "/ws", "/static/js/textual.js", "/?token=wrong", "/download/x"):
            answer = await client.get(place)
            assert answer.status == 403, place
        came = await client.get(f"/?token={TOKEN}", allow_redirects=False)
        assert came.status == 302
        assert came.headers["Location"] == "/", "the token does not stay in the address"
        assert "HttpOnly" in came.headers["Set-Cookie"]
        assert "logbook-token-8020=" in came.headers["Set-Cookie"], "two ports, two cookies"
        assert (await client.get("/")).status == 200
    finally:
        await client.close()


@pytest.mark.parametrize("wall", [False, True])
async def test_the_browser_gets_the_same_app(demo_book_path: Path, wall: bool) -> None:
    command = f"{sys.executable} -m logbook --db {demo_book_path}{' wall' if wall else ''}"
    client = await _client(LogbookServer(command, "127.0.0.1", 8020, ""))
    try:
        socket = await client.ws_connect("/ws?width=100&height=30")
        wanted, seen = ("gain so far" if wall else "Hill-climb").casefold(), ""
        async with asyncio.timeout(30):
            while wanted not in seen.casefold():
                message = await socket.receive()
                assert isinstance(message.data, (bytes, str)), "the app ended"
                data = message.data
                seen += data.decode(errors="replace") if isinstance(data, bytes) else data
        await socket.send_str(json.dumps(["stdin", "\x11"]))  # Ctrl+Q
        async with asyncio.timeout(30):
            while not socket.closed:
                await socket.receive()
    finally:
        await client.close()


def test_a_short_token_and_a_missing_book_are_refused_in_words(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = str(tmp_path / "none.db")
    assert run(["serve", "--token", "abc", "--db", place]) == 2
    assert "8 characters" in capsys.readouterr().err
    assert run(["serve", "--wall", "--db", place]) == 1
    assert not (tmp_path / "none.db").exists()


def test_the_keys_command_lists_ids_and_says_what_is_left_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    config = tmp_path / "logbook.toml"
    config.write_text('[keys]\n"session.timing" = "T"\nsession.ledgr = "L"\n')
    monkeypatch.setenv("LOGBOOK_CONFIG", str(config))
    assert run(["keys", "--json"]) == 0
    shown = capsys.readouterr()
    rows = {row["id"]: row["keys"] for row in map(json.loads, shown.out.splitlines())}
    assert rows["session.timing"] == "T"
    assert "did you mean session.ledger?" in shown.err
