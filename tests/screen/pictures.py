"""The README's pictures: the window of a real session on devices run by hand: ``make pictures``.

A player learns the jig of the demo tunes in it, with a mistake now and then; the pictures are what the window showed.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
os.environ["SDL_VIDEODRIVER"] = "dummy"

import pygame

from companion.lesson.signposts import signposts
from companion.marking.mark_values import Asked, Heard
from companion.notation import read_book
from companion.pages.books_at_hand import demo_book
from companion.pages.shelf import Shelf, TunePast
from companion.practice.player_state import IN_TIME, LISTEN
from companion.practice.round_plan import RoundPlan
from companion.screen.actions import Action
from companion.screen.list_values import TuneRow, TunesPage
from companion.screen.page_values import BreakPage, Page, PracticePage
from companion.screen.window import open_window
from companion.store.record import fingerprint
from companion.tune.unfold import unfold
from tests.session.fakes import Bench, exactly
from tests.shipped_tables import TABLES

FOLDER = Path(__file__).parent / "pictures"
SIZE = (1280, 720)
LONGEST = 3000.0  # seconds of practice, for which a moment is waited for
DUE = {"The Lamp on Tanner's Quay": -1, "The Thursday Ferry": 3, "Salt on the Windowsill": 8}


class Sitting(Bench):
    """A session whose player plays, and whose window is drawn."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder, number=2, calm_wait=8.0)
        setting, tune = self.session.setting, self.session.setting.tune
        with_signs = replace(tune, signposts=signposts(tune.round, tune.fingering, tables=TABLES))
        self.session.setting = replace(setting, tune=with_signs)
        self.drawn = open_window(SIZE)
        self.seen: Page | None = None
        self.player.standin_on = False
        self.player.choose = self._plays
        remember = self.window.show
        self._rounds = 0
        self.put(began=-60.0)  # the caution of the beginning has gone

        def show(page: Page) -> None:
            remember(page)
            self.window.shown = self.window.shown[-1:]
            self.seen = page

        def begins(plan: RoundPlan) -> None:
            if plan.task.step != LISTEN:
                self._rounds += 1
                self.player.play(plan, 0.0)

        self.window.show = show  # type: ignore[method-assign]
        self.begun = begins

    def _plays(self, going: RoundPlan, asked: Asked) -> Heard | None:
        """As written, a little off the click; in the first round of a step one note is another."""
        note = exactly(going, asked)
        assert note is not None
        if going.clocked:
            away = 0.018 * ((asked.index * 7 + self._rounds * 3) % 5 - 2)
            note = replace(note, seconds=note.seconds + away)
        wrong = going.clocked and going.number == 1 and not going.task.by_heart and asked.index % 11 == 5
        return replace(note, pitch=note.pitch + 2) if wrong else note

    def until(self, wanted: Callable[[Page], bool]) -> Page:
        """Let time go by until the window shows what is wanted."""
        end = self.speaker.time + LONGEST
        while self.speaker.time < end:
            self.wind(0.02)
            if self.seen is not None and wanted(self.seen):
                return self.seen
        raise AssertionError("that moment did not come")

    def keep(self, name: str, theme: str = "dark") -> None:
        """Keep the picture of what is seen now."""
        assert self.seen is not None
        self.drawn.wear(theme, self.drawn.look)
        self.drawn.show(self.seen)
        self.drawn.picture(FOLDER / f"{name}.png")


def heart(page: Page, piece: str) -> bool:
    """Whether it is well into a round in time of a piece, not its first one."""
    return (
        isinstance(page, PracticePage)
        and page.step == IN_TIME
        and page.piece.startswith(piece)
        and page.round_number > 1
        and 0.6 < page.now / page.length < 0.7
    )


def all_weighed(page: Page) -> bool:
    """Whether it is the list of tunes, with the difficulty of each."""
    return isinstance(page, TunesPage) and all(row.difficulty for row in page.rows if isinstance(row, TuneRow))


def main() -> None:
    """Make them all anew."""
    with tempfile.TemporaryDirectory() as folder:
        for name in ("DATA", "CACHE", "CONFIG"):
            os.environ[f"BOX_COMPANION_{name}"] = f"{folder}/{name.lower()}"
        sitting = Sitting(Path(folder))

        sitting.until(lambda page: heart(page, "A phrase 1"))
        sitting.keep("practice")
        sitting.until(lambda page: isinstance(page, BreakPage) and "phrase 1" in page.piece and page.wait == 6)
        sitting.keep("calm")
        sitting.until(lambda page: heart(page, "A half"))
        sitting.keep("practice-light", "light")
        tunes = read_book(demo_book()).tunes
        due = {fingerprint(unfold(tune)): TunePast(DUE[tune.title]) for tune in tunes if tune.title in DUE}
        shelf = sitting.pages.shelf = Shelf([demo_book()], "bc-21", lambda _box: due)
        try:
            while not all(row.difficulty for row in shelf.rows()):
                shelf.look()
            sitting.window.wanted = [Action.TUNES]
            sitting.until(
                lambda page: (
                    isinstance(page, TunesPage) and all(row.difficulty for row in page.rows if isinstance(row, TuneRow))
                )
            )
            sitting.keep("tunes")
        finally:
            shelf.close()
    pygame.quit()
    print(f"{len(list(FOLDER.glob('*.png')))} pictures in {FOLDER}")


if __name__ == "__main__":
    main()
