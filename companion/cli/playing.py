"""What `companion play` does with keys while it sounds.

Tempo, piece and loop end change at the next seam; levels and mutes at once.
"""

from __future__ import annotations

from concurrent.futures import Executor, Future
from dataclasses import replace
from typing import Any

from companion.cli.sounded import SoundRequest
from companion.errors import UserError
from companion.lesson.lesson_values import Kind, Piece
from companion.playback.round_maker import SoundWish
from companion.screen.words import spoken_piece
from companion.sound.speaker import Speaker
from companion.sound.tempi import BPM, SHARE
from companion.sound.transport import Follower, Loop, Transport

HELP = (
    "space: stop, go on · + -: tempo · n p: next piece, previous piece · ] [: end later, end earlier · "
    "c m b: click, melody, basses · r: from the start · q: quit"
)
TAKE_HELP = " · t: your take"
STEP = 0.05  # of the target tempo
MUTES = {"c": ("click",), "m": ("melody",), "b": ("bass", "chord"), "t": ("take",)}
QUIT = "q\x1b\x04"


class Playing:
    """A tune on a speaker, and the wishes that change while it sounds."""

    def __init__(self, made: SoundRequest, speaker: Speaker, follower: Follower | None = None) -> None:
        self.wish = made.wish
        self._sounding = made.wish  # the wish that the rounds follow: the last one that is ready
        self._asked: tuple[SoundWish, Future[Any]] | None = None
        self._workers: Executor | None = None
        self.said = ""  # what is to be said besides
        self._made, self._speaker, self._follower = made, speaker, follower
        self._transport = Transport(speaker, self._loop, follower)
        self._muted: set[str] = set()
        self._quit = False
        for voice, level in made.wish.levels.items():
            self._level(voice, level)

    @property
    def over(self) -> bool:
        """Whether all has sounded, or the player has had enough."""
        return self._quit or self._transport.over

    def step(self) -> None:
        """Queue what is due."""
        self._get_ready()
        self._transport.step()

    def press(self, key: str) -> str:
        """Do what a key asks for; gives what is to be said of it."""
        if key in QUIT:
            self._quit = True
            return ""
        if key == " ":
            self._transport.pause()
            return "stopped" if self._transport.paused else "going on"
        if key == "r":
            self._transport.again()
            return "from the start"
        heard = {"b": self.wish.basses, "t": self._made.take is not None}
        if key in MUTES and heard.get(key, True):
            return self._mute(key)
        wish = self._wished(key)
        if wish is None or wish == self.wish:
            return ""
        self.wish = wish
        basses = " with basses" if wish.basses else ""
        return f"from the next round on: {spoken_piece(wish.piece.name)}{basses} at {wish.bpm:g} beats a minute"

    def _level(self, voice: str, level: float) -> None:
        """So loud: what follows plays it where there is such a thing, else the speaker."""
        (self._follower or self._speaker).level(voice, level)

    def _loop(self, number: int) -> Loop | None:
        return self._made.rounds.loop(self._sounding, number)

    def _get_ready(self) -> None:
        """Let the rounds follow a new wish as soon as they can; a recording is slowed down in a process of its own."""
        rounds = self._made.rounds
        if self._asked is not None and self._asked[1].done():
            wish, result = self._asked
            self._asked = None
            try:
                rounds.keep(wish, result.result())
            except UserError as error:
                self.said, self.wish = error.message, self._sounding
        if self.wish != self._sounding and rounds.ready(self.wish):
            self._sounding = self.wish
        elif self.wish != self._sounding and self._asked is None:
            from concurrent.futures import ProcessPoolExecutor
            from multiprocessing import get_context

            self._workers = self._workers or ProcessPoolExecutor(1, get_context("spawn"))
            slow = rounds.slow(self.wish)
            assert slow is not None
            self._asked = (self.wish, self._workers.submit(slow))

    def close(self) -> None:
        """Let go of what works apart."""
        if self._workers is not None:
            self._workers.shutdown(wait=False, cancel_futures=True)

    def _mute(self, key: str) -> str:
        voices = MUTES[key]
        self._muted ^= set(voices)
        for voice in voices:
            level = 0.0 if voice in self._muted else self.wish.levels.get(voice, 1.0) or 1.0
            self._level(voice, level)
        name = "basses" if key == "b" else voices[0]
        return f"{name} {'off' if voices[0] in self._muted else 'on'}"

    def _wished(self, key: str) -> SoundWish | None:
        """The wish that a key makes of the one in force; None where it is no key of ours."""
        target = self._made.rounds.course.target
        if key in "+=-":
            bpm = self.wish.bpm + (-STEP if key == "-" else STEP) * target
            low, high = max(BPM[0], SHARE[0] * target), min(BPM[1], SHARE[1] * target)
            return replace(self.wish, bpm=round(min(high, max(low, bpm)), 3))
        if key == "b":
            return replace(self.wish, basses=True)
        piece = {"n": self._beside(1), "p": self._beside(-1), "]": self._ends(1), "[": self._ends(-1)}.get(key)
        return None if piece is None else replace(self.wish, piece=piece)

    def _beside(self, by: int) -> Piece | None:
        """The piece of the same kind before or after."""
        pieces = [one for one in self._made.opened.pieces if one.kind is self.wish.piece.kind]
        names = [one.name for one in pieces]
        at = (names.index(self.wish.piece.name) if self.wish.piece.name in names else 0) + by
        return pieces[at] if 0 <= at < len(pieces) else None

    def _ends(self, by: int) -> Piece | None:
        """The piece with its end a bar later or earlier."""
        piece, last_note = self.wish.piece, len(self._made.rounds.course.round.notes) - 1
        lasts = sorted({one.last for one in self._made.opened.pieces if one.kind is Kind.BAR} | {last_note})
        if piece.first > piece.last or (by < 0 and not any(piece.first <= last < piece.last for last in lasts)):
            return None
        beyond = (
            [last for last in lasts if last > piece.last]
            if by > 0
            else [last for last in reversed(lasts) if piece.first <= last < piece.last]
        )
        return (
            replace(piece, last=beyond[0], name=f"{piece.name.split(', ')[0]}, to note {beyond[0] + 1}")
            if beyond
            else None
        )
