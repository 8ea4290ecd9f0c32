"""What `play` and `render` share: from the arguments to what is wished to sound."""

from __future__ import annotations

import argparse
import re
from dataclasses import dataclass
from pathlib import Path

from companion.cli.kept_take import KeptTake, kept_take
from companion.cli.ready_tune import Opened, open_tune
from companion.cli.takes import how_to_hear, say_that_it_guesses
from companion.errors import UserError
from companion.lesson.lesson_values import Piece
from companion.lesson.pieces import piece_named
from companion.playback.round_maker import RoundMaker, SoundWish, voice_names
from companion.practice.round_plan import TuneInHand
from companion.screen.words import spoken_piece, stored_piece
from companion.sound.lift import lift_of
from companion.sound.recording import Recording, Tied, beats_of_taps
from companion.sound.sound_settings import sound_settings
from companion.sound.tempi import BPM, parse_tempo

MOST_ROUNDS = 1000
MOST_BARS = 16
LONGEST = 3 * 3600.0  # seconds
CONCERT = (430.0, 450.0)  # Hz
SHIFT = 12  # semitones
LOUDEST = 200.0  # per cent
CLICKS = ("beats", "off-beats", "count-in")


@dataclass(frozen=True, slots=True)
class SoundRequest:
    """A tune ready to sound, and how it is wished for."""

    opened: Opened
    rounds: RoundMaker
    wish: SoundWish
    take: KeptTake | None = None

    @property
    def title(self) -> str:
        """The tune's title."""
        return self.rounds.course.title

    @property
    def seconds(self) -> float:
        """How long it is in all, as it stands; 0 where it goes on until told."""
        wish = self.wish
        if wish.rounds is None:
            return 0.0
        parts = wish.rounds * (2 if wish.answer else 1)
        first, again = (self.rounds.made(wish, number) for number in (0, 1 if parts > 1 else 0))
        assert first is not None
        assert again is not None
        return first.seconds + (parts - 1) * again.seconds


def sounded(given: argparse.Namespace, *, endless: bool = False) -> SoundRequest:
    """What the arguments ask for. `endless` : whether it may go on until told."""
    rounds = _rounds(given.rounds, endless)
    bars_in, short_in = _count_in(given.count_in)
    if given.click not in CLICKS:
        raise UserError(f"--click takes {', '.join(CLICKS)}, not “{given.click[:40]}”")
    lift = percent(given.lift, "--lift", 100.0)
    concert = number(given.concert, "--concert", CONCERT, "Hz")
    if not -SHIFT <= given.shift <= SHIFT:
        raise UserError(f"--shift takes −{SHIFT} to {SHIFT} semitones, not {given.shift}")
    levels = _levels(given.level, given.mute)
    opened = open_tune(given.book, given.tune, given.box, given.voice)
    course = course_of(opened)
    piece = piece_named(opened.pieces, given.piece and stored_piece(given.piece))
    bpm = parse_tempo(given.tempo, course.target) if given.tempo is not None else course.target
    wish = SoundWish(
        piece,
        bpm,
        rounds,
        bars_in,
        short_in,
        "count-in" if given.no_click else given.click,
        given.answer,
        not given.plain,
        given.basses,
        lift,
        given.shift,
        levels,
    )
    take = _take(given, opened, course, piece)
    tied = tied_to(given, course)
    settings = sound_settings()
    sounds = take.rounds if take is not None else ()
    its_lift = lift_of(opened.tune.rhythm, opened.tune.meter, opened.tables.dances, opened.tables.lifts)
    made_rounds = RoundMaker(course, settings, its_lift, concert, recording=tied, take=sounds)
    # Of a whole lesson, some pieces may have nothing.
    if take is not None and getattr(given, "pieces", None) is None and not made_rounds.has_taken(piece):
        raise UserError(f"{given.take}: this take has nothing of “{spoken_piece(piece.name)}”; choose another piece")
    made = SoundRequest(opened, made_rounds, wish, take)
    if made.seconds > LONGEST:
        raise UserError("that lasts more than three hours; ask for fewer rounds or a shorter piece")
    return made


def _take(given: argparse.Namespace, opened: Opened, course: TuneInHand, piece: Piece) -> KeptTake | None:
    """The take that is to sound beside the tune."""
    if given.take is None:
        if given.no_clock or given.ear or any(one.startswith("take") for one in (*given.level, *given.mute)):
            raise UserError("--no-clock, --ear and the level of a take need a take; name it with --take")
        return None
    if given.recording is not None:
        raise UserError("give either --take or --recording, not both")
    take, how = Path(given.take), how_to_hear(given.ear)
    kept = kept_take(take, course, opened.pieces, piece, clock=not given.no_clock, how=how)
    if take.is_file():
        say_that_it_guesses(how, [take])
    return kept


def course_of(opened: Opened) -> TuneInHand:
    """The tune as the rounds need it."""
    tune = opened.tune
    target, beat = opened.target
    return TuneInHand(
        tune.title, opened.round, opened.fingering, tune.meter, tune.key, beat, target,
        marking=opened.tables.marks, ornaments=opened.tables.ornaments,
    )  # fmt: skip


def tied_to(given: argparse.Namespace, course: TuneInHand) -> Tied | None:
    """The recording that is to sound, its beats tied to the tune's."""
    if given.recording is None:
        if given.first_beat is not None or given.bpm is not None or given.taps is not None:
            raise UserError("--first-beat, --bpm and --taps need a recording; name it with --recording")
        return None
    recording = Recording(Path(given.recording))
    if given.taps is not None:
        if given.bpm is not None:
            raise UserError("give either --taps, or --first-beat and --bpm")
        first, bpm = beats_of_taps(
            [number(one, "--taps", (0.0, recording.seconds), "s") for one in given.taps.split(",")]
        )
        if given.first_beat is not None:
            first = number(given.first_beat, "--first-beat", (0.0, recording.seconds), "s")
    elif given.first_beat is None or given.bpm is None:
        raise UserError("say where the recording's beats are: --first-beat and --bpm, or --taps")
    else:
        first = number(given.first_beat, "--first-beat", (0.0, recording.seconds), "s")
        bpm = number(given.bpm, "--bpm", BPM, "beats a minute")
    return Tied(recording, first, bpm, course.beat, course.round.pickup)


def number(text: str, name: str, bounds: tuple[float, float], unit: str) -> float:
    """A number within bounds."""
    low, high = bounds
    match = re.fullmatch(r"\s*(-?\d{1,6}(?:[.,]\d{1,6})?)\s*", text, re.ASCII)
    value = float(match[1].replace(",", ".")) if match else None
    if value is None or not low <= value <= high:
        raise UserError(f"{name} takes a number from {low:g} to {high:g} {unit}, not “{text[:40]}”")
    return value


def percent(text: str, name: str, most: float) -> float:
    """A share from "60" or "60%"."""
    return number(text.strip().removesuffix("%"), name, (0.0, most), "per cent") / 100


def _rounds(text: str, endless: bool) -> int | None:
    if text == "endless" and endless:
        return None
    if not re.fullmatch(r"\d{1,9}", text, re.ASCII) or not 1 <= int(text) <= MOST_ROUNDS:
        more = ", or endless" if endless else ""
        raise UserError(f"--rounds takes 1 to {MOST_ROUNDS}{more}, not “{text[:40]}”")
    return int(text)


def _count_in(text: str) -> tuple[int, bool]:
    if text == "short":
        return 0, True
    if not re.fullmatch(r"\d{1,9}", text, re.ASCII) or int(text) > MOST_BARS:
        raise UserError(f"--count-in takes 0 to {MOST_BARS} bars, or short, not “{text[:40]}”")
    return int(text), False


def _levels(level: list[str], mute: list[str]) -> dict[str, float]:
    """Factors of amplitude by voice, from "click=50" and the voices that are muted."""
    known = voice_names()
    found: dict[str, float] = {}
    for one in level:
        voice, equals, text = one.partition("=")
        if voice not in known or not equals:
            raise UserError(
                f"--level takes one of {', '.join(known)} with its level, such as click=50, not “{one[:40]}”"
            )
        found[voice] = percent(text, f"--level {voice}", LOUDEST)
    for voice in mute:
        if voice not in known:
            raise UserError(f"--mute takes one of {', '.join(known)}, not “{voice[:40]}”")
        found[voice] = 0.0
    basses = found.pop("basses", None)
    return found if basses is None else found | {"bass": basses, "chord": basses}
