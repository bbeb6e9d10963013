"""The command palette's source: every action that works now, with its key."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from textual.command import DiscoveryHit, Hit, Hits, Provider
from textual.content import Content

from logbook.app.keys import Key
from logbook.app.screens.base import BookScreen
from logbook.plain import capital, plain

_NOT_ACTIONS = ("palette", "form.down", "form.up", "chooser.", "list.")


class LogbookCommands(Provider):
    """Reads the screen's keys; there is no second list of actions."""

    def _actions(self) -> Iterator[tuple[Key, str, Callable[[], object]]]:
        screen = self.screen
        if not isinstance(screen, BookScreen):
            return
        for key, words in screen.keys_now():
            if key.id.startswith(_NOT_ACTIONS):
                continue
            yield key, plain(f"{capital(words)}   {key.face}"), self._run(key)

    def _run(self, key: Key) -> Callable[[], object]:
        screen, app = self.screen, self.app

        async def run() -> None:
            await app.run_action(key.action, default_namespace=screen)

        return run

    async def discover(self) -> Hits:
        """Every action."""
        for key, words, run in self._actions():
            yield DiscoveryHit(Content(words), run, text=words, help=key.tooltip)

    async def search(self, query: str) -> Hits:
        """The actions that fit what is typed."""
        matcher = self.matcher(query)
        for key, words, run in self._actions():
            score = max(matcher.match(words), matcher.match(key.tooltip))
            if score > 0:
                yield Hit(score, Content(words), run, text=words, help=key.tooltip)
