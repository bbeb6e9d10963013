"""The app in a browser: textual-serve, with a token where others can reach it.

Loopback needs no token, but only this machine's own names are answered there, so that no page
of another site can speak to the book through the browser.
"""

from __future__ import annotations

import asyncio
import hmac
import ipaddress
from pathlib import Path
from urllib.parse import urlsplit

import jinja2
from aiohttp import web
from aiohttp.typedefs import Handler, Middleware
from textual_serve.app_service import AppService
from textual_serve.server import Server, to_int

FONT_SIZES = (8, 64)
ENDS_WITHIN_S = 10.0
SIZE = (("width", 80), ("height", 24))  # of a browser that does not say
_HEADERS = {
    "Content-Security-Policy": "default-src 'self'; script-src 'self'; object-src 'none';"
    " style-src 'self' 'unsafe-inline'; img-src 'self' data:; font-src 'self' data:;"
    " connect-src 'self' ws: wss:; frame-ancestors 'none'; base-uri 'none'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
}


def is_loopback(host: str) -> bool:
    """Whether only this machine reaches what listens on `host`."""
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return host.casefold() == "localhost"


class Visit(AppService):
    """One visitor's app, a process of its own."""

    async def stop(self) -> None:
        """Tell it to end (it keeps what was typed), and wait until it has."""
        await super().stop()
        if self._process is not None and self._stdin is not None:
            self._stdin.close()
            try:
                await asyncio.wait_for(self._process.wait(), ENDS_WITHIN_S)
            except TimeoutError:
                self._process.kill()
                await self._process.wait()


class LogbookServer(Server):
    """Serves the app that `command` starts, one process a visitor.

    `token` is asked for once (``/?token=…``) and kept in a cookie; ``""`` asks for none.
    """

    def __init__(self, command: str, host: str, port: int, token: str) -> None:
        super().__init__(command, host=host, port=port, title="Logbook")
        self._token = token
        self._visits: set[asyncio.Task[object]] = set()
        self._cookie = f"logbook-token-{port}"  # cookies are of a host, whatever the port
        self._page = jinja2.Environment(autoescape=True).from_string(
            Path(__file__).with_name("page.html").read_text(encoding="utf-8")
        )

    def initialize_logging(self) -> None:
        """Nothing is logged: what is typed in the app is nobody's business."""

    async def on_startup(self, app: web.Application) -> None:
        """The command has said where it listens."""

    async def _make_app(self) -> web.Application:
        app: web.Application = await super()._make_app()
        app.middlewares.append(self._guard())
        return app

    def _guard(self) -> Middleware:
        @web.middleware
        async def guard(request: web.Request, handler: Handler) -> web.StreamResponse:
            if not self._own_name(request):
                raise web.HTTPForbidden(text="This address is not the logbook's own.")
            given = request.query.get("token")
            if self._token and given is not None and self._is_token(given):
                answer = web.HTTPFound("/")
                answer.set_cookie(self._cookie, given, httponly=True, samesite="Strict")
                raise answer
            if self._token and not self._is_token(request.cookies.get(self._cookie, "")):
                raise web.HTTPForbidden(
                    text="This logbook asks for its token: open the address that"
                    " `logbook serve` printed, the one that ends in ?token=…"
                )
            return await handler(request)

        return guard

    def _is_token(self, given: str) -> bool:
        return hmac.compare_digest(given.encode(), self._token.encode())

    def _own_name(self, request: web.Request) -> bool:
        """A request from the logbook's own page: its address is ours, and so is its origin."""
        host = urlsplit(f"//{request.host}").hostname or ""
        origin = request.headers.get("Origin")
        if origin is not None and urlsplit(origin).netloc != request.host:
            return False
        return is_loopback(host) if is_loopback(self.host) else True

    async def on_shutdown(self, app: web.Application) -> None:
        """Ctrl-C ends every visit too; nobody waits until the last browser is closed."""
        visits = list(self._visits)
        for visit in visits:
            visit.cancel()
        await asyncio.gather(*visits, return_exceptions=True)

    async def handle_websocket(self, request: web.Request) -> web.WebSocketResponse:
        """A visit, from the first frame until the page or the app is closed."""
        websocket = web.WebSocketResponse(heartbeat=15)
        await websocket.prepare(request)

        async def close() -> None:
            await websocket.close()

        visit = Visit(
            self.command,
            write_bytes=websocket.send_bytes,
            write_str=websocket.send_str,
            close=close,
            download_manager=self.download_manager,
        )
        await visit.start(*(to_int(request.query.get(side, ""), usual) for side, usual in SIZE))
        task = asyncio.current_task()
        assert task is not None
        self._visits.add(task)
        try:
            await self._process_messages(websocket, visit)
        except (AssertionError, LookupError, TypeError, ValueError):
            pass  # no message of our page: whoever sends that is not listened to any longer
        finally:
            self._visits.discard(task)
            await visit.stop()
            await websocket.close()
        return websocket

    async def handle_index(self, request: web.Request) -> web.Response:
        """The page with the terminal."""
        asked = request.query.get("fontsize", "")
        size = int(asked) if asked.isdecimal() and len(asked) < 4 else 16
        secure = request.url.scheme == "https"
        page = self._page.render(
            socket=f"{'wss' if secure else 'ws'}://{request.host}/ws",
            font_size=min(max(size, FONT_SIZES[0]), FONT_SIZES[1]),
        )
        return web.Response(text=page, content_type="text/html", headers=_HEADERS)
