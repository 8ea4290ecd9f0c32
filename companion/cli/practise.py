"""`companion practise`: opens the devices, runs a session, says where it goes on, leaves behind what was asked for."""

from __future__ import annotations

import argparse
import re
import signal
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

from companion.box.model import Fingering
from companion.cli.opening import Opened, open_tune
from companion.cli.show import line, note_name
from companion.errors import UserError
from companion.hearing.take import write_take
from companion.lesson.course import course
from companion.lesson.rules import Rules, lesson_rules
from companion.places import shipped
from companion.practice import machine
from companion.screen.theme import DEFAULT
from companion.screen.window import Window, open_window
from companion.screen.words import load_words
from companion.session.going import Course
from companion.session.leave import MARKS, TAKE, folder_for, worth_working_on, write_marks
from companion.session.listening import open_listening
from companion.session.session import Devices, Session
from companion.session.sounding import Sounding
from companion.sound.files import write_sound
from companion.sound.speaker import Speaker, open_speaker
from companion.sound.tempi import target_of
from companion.store.record import Record, open_record

UNSEEN_SECONDS = 40.0  # how long a session lasts by itself where nobody can see it
SIZE = (1280, 720)


@dataclass(frozen=True, slots=True)
class _Standing:
    """Where the player and the stand-in are in the tune, and under which numbers the record keeps it."""

    tune: int
    states: dict[bool, machine.State]
    rounds: int


def run(given: argparse.Namespace) -> None:
    """Run a session."""
    size = _size(given.size)
    if given.seconds is not None and not 0 < given.seconds <= 24 * 3600:
        raise UserError("--seconds takes a number of seconds above 0, up to a day")
    book = given.book or str(shipped("demo_tunes", "tanners_quay.abc"))
    opened = open_tune(book, given.tune, given.box, given.voice)
    if not opened.fingering.playable:
        raise UserError(_missing(opened.fingering, opened.tune.title))
    rules = lesson_rules()
    keep = folder_for(given.keep) if given.keep is not None else None
    with ExitStack() as opening:
        record = open_record()
        opening.callback(record.close)
        listening = open_listening(given.port, opened.fingering, standin=not given.no_standin)
        opening.callback(listening.close)
        window = open_window(size, theme=given.theme or DEFAULT)
        opening.callback(window.close)
        unseen = bool(window.missing)
        speaker = open_speaker(record=unseen or keep is not None, device=given.device)
        if speaker.missing and not unseen and keep is None:
            speaker.close()  # what cannot be heard is left behind, so it must be kept
            speaker = open_speaker(record=True)
        opening.callback(speaker.close)
        for notice in (record.notice, window.missing, speaker.missing, listening.missing):
            if notice:
                line(notice)
        standing = _standing(record, opened, rules)
        _say_where(opened, standing, listening.standin_on, rules)
        devices = Devices(
            speaker, Sounding(speaker.rate), listening, window, record, record.begin(standing.tune, opened.box.id)
        )
        words = load_words()
        session = Session(_course(opened), opened.box, rules, standing.states, devices, words)
        _stop_on_signals(session)
        try:
            session.run(given.seconds or (UNSEEN_SECONDS if unseen else None))
        finally:
            session.finish()
        work = worth_working_on(session.rounds, opened.fingering, opened.pieces, words)
        for sentence in ("Most worth working on:", *work) if work else ():
            line(sentence)
        if unseen or speaker.missing or keep is not None:
            _leave(keep or folder_for(None), opened, session, window, speaker)


def _course(opened: Opened) -> Course:
    tune = opened.tune
    target, beat = target_of(tune.rhythm, tune.meter, tune.tempo)
    return Course(tune.title, opened.round, opened.fingering, tune.meter, tune.key, beat, target)


def _standing(record: Record, opened: Opened, rules: Rules) -> _Standing:
    """Where the record says that everybody is; the beginning where it says nothing."""
    tune = record.tune(opened.round, opened.tune.title, opened.tune.rhythm)
    steps = course(opened.pieces)
    states = {}
    for standin in (False, True):
        plain = record.state(tune, opened.box.id, standin)
        states[standin] = machine.start(steps) if plain is None else machine.from_plain(steps, plain, rules)
    return _Standing(tune, states, record.rounds(tune))


def _say_where(opened: Opened, standing: _Standing, standin: bool, rules: Rules) -> None:
    state = standing.states[standin]
    asked = machine.task(state, rules)
    target, _ = target_of(opened.tune.rhythm, opened.tune.meter, opened.tune.tempo)
    who = "The stand-in player" if standin else "You"
    begins = "goes on" if standing.rounds else "begins"
    begins = begins if standin else begins.replace("goes", "go").replace("begins", "begin")
    tempo = "" if asked.step == machine.IN_ORDER else f" at {target * asked.share:.0f} beats a minute"
    line(f"{opened.tune.title}: {who} {begins} with {asked.piece.name}, {asked.step}{tempo}.")


def _missing(fingering: Fingering, title: str) -> str:
    pitches = ", ".join(note_name(pitch) for pitch in fingering.missing)
    return f"“{title}” needs {pitches}, which the box {fingering.box.id} does not have; choose another tune or box"


def _size(text: str | None) -> tuple[int, int]:
    if text is None:
        return SIZE
    match = re.fullmatch(r"(\d{3,5})[xX×](\d{3,5})", text)
    if match is None:
        raise UserError(f"“{text}” is no size of a window; give width and height in pixels, such as 1280x720")
    return int(match[1]), int(match[2])


def _stop_on_signals(session: Session) -> None:
    def stop(_number: int, _frame: object) -> None:
        session.over = True

    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), stop)


def _leave(folder: Path, opened: Opened, session: Session, window: Window, speaker: Speaker) -> None:
    """Leave the picture, the sound, the take and the marks in the folder, and name it."""
    best = session.picture()
    if best is not None:
        window.show(best)
    window.picture(folder / "window.png")
    sound = speaker.recording()
    if len(sound):
        write_sound(folder / "sound.wav", sound, speaker.rate)
    write_take(folder / TAKE, session.devices.listening.taken)
    write_marks(folder / MARKS, opened.tune.title, opened.box.id, session.course.beat, session.rounds)
    clean = sum(one.marks.clean for one in session.rounds)
    line(f"{len(session.rounds)} rounds marked, {clean} of them clean.")
    line(f"The picture, the sound, the take and the marks are in: {folder}")
