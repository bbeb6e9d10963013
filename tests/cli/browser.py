"""A headless Chromium on one page, spoken to through its DevTools protocol."""

from __future__ import annotations

import asyncio
import base64
import itertools
import json
import shutil
import subprocess
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

from aiohttp import ClientSession, ClientWebSocketResponse

PATIENCE_S = 20.0
NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome", "chromium-headless-shell")
# Without these it looks for things on the net at every start.
_QUIET = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--disable-dev-shm-usage", "--window-size=1100,700", "--remote-debugging-port=0",
)  # fmt: skip
# The terminal's own object is nowhere to be had from outside: it is taken as it is made.
_CATCH = """
Object.defineProperty(Object.prototype, "_addonManager", {configurable: true, set(value) {
  Object.defineProperty(this, "_addonManager", {value, writable: true});
  window.caught = this;
}});
"""
_ROWS = """
(() => { const lines = window.caught ? window.caught.buffer.active : null, rows = [];
  for (let at = 0; lines && at < lines.length; at++)
    rows.push(lines.getLine(at).translateToString(true));
  return rows.join("\\n"); })()
"""


def found() -> str | None:
    """The browser on this machine, if there is one."""
    return next(filter(None, map(shutil.which, NAMES)), None)


class Page:
    """The one page of the browser."""

    def __init__(self, socket: ClientWebSocketResponse) -> None:
        self._socket, self._numbers = socket, itertools.count(1)

    async def ask(self, method: str, **parameters: Any) -> dict[str, Any]:
        """One command and its answer."""
        number = next(self._numbers)
        await self._socket.send_json({"id": number, "method": method, "params": parameters})
        while True:
            told = json.loads((await self._socket.receive(PATIENCE_S)).data)
            if told.get("id") == number:
                assert "error" not in told, told
                result: dict[str, Any] = told["result"]
                return result

    async def go(self, address: str) -> None:
        """Open an address."""
        await self.ask("Page.navigate", url=address)

    async def leave(self) -> None:
        """Close the page: what it was connected to need not wait for it."""
        await self.go("about:blank")

    async def value(self, expression: str) -> Any:
        """What an expression is worth in the page."""
        told = await self.ask("Runtime.evaluate", expression=expression, returnByValue=True)
        return told["result"].get("value")

    async def rows(self) -> str:
        """The rows of the terminal as text."""
        return str(await self.value(_ROWS) or "")

    async def shows(self, words: str) -> str:
        """Wait until the terminal shows these words; its rows."""
        return await self._until(_ROWS, words)

    async def says(self, words: str) -> str:
        """Wait until the page itself says these words."""
        return await self._until("document.body ? document.body.innerText : ''", words)

    async def _until(self, expression: str, words: str) -> str:
        seen = ""
        for _ in range(int(PATIENCE_S / 0.05)):
            seen = str(await self.value(expression) or "")
            if words.casefold() in seen.casefold():
                return seen
            await asyncio.sleep(0.05)
        raise AssertionError(f"waited in vain for {words!r}:\n{seen}")

    async def tap(self, x: int, y: int) -> None:
        """A finger on the page, in pixels from its upper left."""
        for kind in ("mousePressed", "mouseReleased"):
            await self.ask("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left",
                           clickCount=1)  # fmt: skip

    async def type(self, text: str) -> None:
        """Keys, as a person presses them."""
        for letter in text:
            await self.ask("Input.dispatchKeyEvent", type="keyDown", text=letter, key=letter)
            await self.ask("Input.dispatchKeyEvent", type="keyUp", key=letter)

    async def picture(self) -> bytes:
        """What is painted, as PNG."""
        told = await self.ask("Page.captureScreenshot", format="png")
        return base64.b64decode(told["data"])


@asynccontextmanager
async def page(browser: str, folder: Path) -> AsyncIterator[Page]:
    """A browser with one empty page; it ends with the block."""
    process = subprocess.Popen(
        [browser, *_QUIET, f"--user-data-dir={folder}", "about:blank"],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        async with (
            ClientSession() as session,
            session.ws_connect(await _place(session, folder), max_msg_size=0) as socket,
        ):
            one = Page(socket)
            await one.ask("Page.enable")
            await one.ask("Page.addScriptToEvaluateOnNewDocument", source=_CATCH)
            yield one
    finally:
        process.terminate()
        process.wait(PATIENCE_S)


async def _place(session: ClientSession, folder: Path) -> str:
    """The address of the page, once the browser has said where it listens."""
    port = folder / "DevToolsActivePort"
    for _ in range(int(PATIENCE_S / 0.05)):
        if port.exists() and (lines := port.read_text().split()):
            async with session.get(f"http://127.0.0.1:{lines[0]}/json/list") as answer:
                pages = [one for one in await answer.json() if one["type"] == "page"]
            if pages:
                return str(pages[0]["webSocketDebuggerUrl"])
        await asyncio.sleep(0.05)
    raise AssertionError("the browser did not start")
