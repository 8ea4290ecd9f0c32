"""Getting to know a box through a microphone: a page that asks for silence, then for each note as its button lights up,
then for the left hand; it goes on by itself, and can be left at any time.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

from companion.box.box_values import Bellows, Box, Press
from companion.box.pitch_names import name_of
from companion.errors import UserError
from companion.hearing.ear import write_ear
from companion.hearing.learn import learn_ear
from companion.hearing.level import LevelNow
from companion.hearing.take_in import Stage, TakeIn
from companion.input.capture import Block
from companion.input.ear_files import ear_path
from companion.input.listening import Listening
from companion.screen.actions import Asked, Nav
from companion.screen.list_values import LearnPage
from companion.screen.words import Say

STARTS = -35.0  # dBFS: a note was played, so that it begins
LEAVES = 12.0  # seconds without a bass: the left hand is left out
STAYS = 4.0  # seconds for which it is said that it is done
_FAINT, _FULL = -70.0, -3.0  # dBFS: the ends of the meter


@dataclass(slots=True)
class _Work:
    """What is learnt on another thread: how many notes, or why not."""

    notes: int = 0
    why: str = ""
    over: bool = False


def presses_to_learn(box: Box) -> tuple[Press, ...]:
    """One button for each note of the right hand, button by button, push then pull; the home row first."""
    found: dict[int, Press] = {}
    for row in sorted(box.rows, key=lambda row: row.name != box.home):
        for button in range(1, max(len(row.push), len(row.pull)) + 1):
            for bellows in (Bellows.PUSH, Bellows.PULL):
                press = Press(row.name, button, bellows)
                pitch = box.pitch(press)
                if pitch is not None:
                    found.setdefault(pitch, press)
    return tuple(found.values())


class LearnBox:
    """The page while it is open.

    Parameters
    ----------
    box : the box that is played. `listening` : through whose microphone it is heard.

    Attributes
    ----------
    glance : what is to be seen. `over` : whether the page is done with.
    """

    def __init__(self, box: Box, listening: Listening, words: Say, clock: Callable[[], float] = time.monotonic) -> None:
        self.over = False
        self._box, self._listening, self._words, self._clock = box, listening, words, clock
        self._presses = presses_to_learn(box)
        self._blocks: deque[Block] = deque()
        self._taking: TakeIn | None = None  # None before it begins
        self._work: _Work | None = None
        self._since = clock()  # when the last thing happened that ends by itself
        self._said = ""
        microphone = listening.microphone
        if microphone is not None:
            microphone.tap = self._blocks.append
        self.glance = self._seen()

    def take(self, asked: Asked) -> None:
        """Do what the player asks for on the page."""
        if asked is Nav.LEAVE:
            self.over = True
        elif asked is Nav.ENTER and (self._taking is None or self._work is not None):
            if self._work is not None and self._work.over and not self._work.why:
                self.over = True
            elif self._work is None or self._work.over:
                self._begin()
        elif self._taking is not None and (
            asked is Nav.RIGHT or (asked is Nav.ENTER and self._taking.stage is Stage.LEFT)
        ):
            self._taking.skip()
        elif self._taking is not None and asked is Nav.LEFT:
            self._taking.again()
        self.glance = self._seen()

    def step(self) -> None:
        """Take what has been heard since the last time."""
        microphone = self._listening.microphone
        for _ in range(len(self._blocks)):
            block = self._blocks.popleft()
            if self._taking is not None:
                self._taking.take(block.sound)
        if microphone is not None and self._taking is None and microphone.level.peak > STARTS:
            self._begin()
        if self._taking is not None and microphone is not None and microphone.rate != self._taking.rate:
            self._begin()  # it came back as another
        self._go_on()
        self.glance = self._seen()

    def stop(self) -> None:
        """Listen no more."""
        if self._listening.microphone is not None:
            self._listening.microphone.tap = None

    def _begin(self) -> None:
        microphone = self._listening.microphone
        if microphone is None:
            return
        pitches = [self._box.pitch(press) or 0 for press in self._presses]
        self._blocks.clear()
        self._taking, self._work = TakeIn(microphone.rate, pitches, 2 * len(self._box.basses)), None

    def _go_on(self) -> None:
        """What goes on by itself."""
        taking, work = self._taking, self._work
        if taking is None:
            return
        if taking.stage is Stage.LEFT and not taking.silent:
            self._since = self._clock()
        if taking.stage is Stage.LEFT and self._clock() - self._since > LEAVES:
            taking.skip()
        if taking.done and work is None:
            self._work = _Work()
            threading.Thread(target=self._learn, args=(taking, self._work), daemon=True, name="learn").start()
        elif work is not None and work.over and not work.why:
            if not self._said:
                self._said = self._words("learn.done", n=work.notes)
                self._since = self._clock()
                self._listening.hear_box(self._box.id)
            self.over = self.over or self._clock() - self._since > STAYS

    def _learn(self, taking: TakeIn, work: _Work) -> None:
        """Learn from what was taken in, and keep it."""
        microphone = self._listening.microphone
        name = microphone.name if microphone is not None else ""
        try:
            keep_ear(taking, self._box.id, name)
            work.notes = len(taking.learnt)
        except UserError as why:
            work.why = why.message
        except Exception:  # it is told on the terminal, as any fault of ours
            work.why = self._words("learn.fault")
            raise
        finally:
            work.over = True

    # What is seen

    def _seen(self) -> LearnPage:
        words, taking, work = self._words, self._taking, self._work
        microphone = self._listening.microphone
        page = LearnPage(self._box, level=meter(microphone.level) if microphone is not None else 0.0)
        if microphone is None:
            return _with(page, words("learn.no_microphone"))
        gone = "" if microphone.alive else words("microphone_gone")
        if work is not None:
            if not work.over:
                return _with(page, words("learn.working"))
            if work.why:
                return _with(page, work.why, words("learn.retry"))
            return _with(page, self._said or words("learn.working"))
        if taking is None:
            return _with(page, words("learn.intro"), gone or words("learn.private"))
        if taking.stage is Stage.ROOM:
            return _with(page, words("learn.room"), gone or (words("learn.loud") if taking.loud else ""), taking.share)
        if taking.stage is Stage.LEFT:
            number = words("learn.number", n=taking.at, all=taking.left)
            return _with(page, words("learn.left"), gone or words("learn.left_out"), taking.share, number=number)
        if taking.done:
            return _with(page, words("learn.working"))
        press = self._presses[taking.at]
        number = words("learn.number", n=taking.at + 1, all=len(self._presses))
        return _with(page, words("learn.note"), gone or self._advice(taking, press), taking.share, press, number)

    def _advice(self, taking: TakeIn, press: Press) -> str:
        """What to do where something else sounds, or nothing."""
        if taking.other is not None:
            note, wanted = name_of(taking.other, octave=False), name_of(taking.pitches[taking.at], octave=False)
            bellows = self._words(press.bellows.value).lower()
            return self._words("learn.other", note=note, wanted=wanted, button=press.button, bellows=bellows)
        return self._words("learn.silent") if taking.silent else ""


def meter(now: LevelNow) -> float:
    """Where a level stands on a meter, 0 to 1."""
    return round(min(1.0, max(0.0, (now.peak - _FAINT) / (_FULL - _FAINT))), 2)


def keep_ear(taking: TakeIn, box: str, microphone: str) -> None:
    """Learn an ear from what was taken in, and keep it for a box (its id) and a microphone.

    Raises
    ------
    UserError : it cannot be learnt, or not be written.
    """
    path = ear_path(box, microphone)
    learnt = learn_ear(taking.sound, taking.rate, taking.learnt)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as why:
        raise UserError(f"the folder {path.parent} cannot be made ({why.strerror}); make room for it") from why
    write_ear(path, learnt)


def _with(
    page: LearnPage, said: str, aside: str = "", share: float = 0.0, press: Press | None = None, number: str = ""
) -> LearnPage:
    return LearnPage(page.box, said, aside, press, number, round(share, 2), page.level)
