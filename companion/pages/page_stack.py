"""The stack of open pages: the top one takes what the player asks for."""

from __future__ import annotations

from collections.abc import Callable

from companion.pages.open_pages import LearnOpen, OpenPage, SettingsOpen


class PageStack:
    """Open pages, the top one last. A page that is taken away lets go of what it tried or listened to.

    `left` is told of each page that is taken away.
    """

    def __init__(self) -> None:
        self.pages: tuple[OpenPage, ...] = ()
        self.left: Callable[[OpenPage], None] = lambda _page: None

    @property
    def top(self) -> OpenPage | None:
        """The page that takes what is asked for."""
        return self.pages[-1] if self.pages else None

    def has(self, kind: type[OpenPage]) -> bool:
        """Whether a page of that kind is open, at the top or beneath."""
        return any(isinstance(page, kind) for page in self.pages)

    def push(self, page: OpenPage) -> None:
        """Open a page over the others."""
        self.pages = (*self.pages, page)

    def pop(self) -> None:
        """Take the top page away."""
        *below, top = self.pages
        if isinstance(top, SettingsOpen):
            top.settings.stop()
        if isinstance(top, LearnOpen):
            top.learning.stop()
        self.left(top)
        self.pages = tuple(below)

    def renew(self, page: OpenPage) -> None:
        """Put a changed page in place of the top one."""
        self.pages = (*self.pages[:-1], page)

    def close(self) -> None:
        """Take every page away."""
        while self.pages:
            self.pop()
