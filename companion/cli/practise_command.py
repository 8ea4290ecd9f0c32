"""`companion practise`: opens the devices, runs a session, says where it goes on, leaves behind what was asked for."""

from __future__ import annotations

import argparse
import re
import signal
import time
from contextlib import ExitStack
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

from companion.box.box_values import Fingering
from companion.box.hand_costs import PLAIN
from companion.box.layout import load_box
from companion.cli.begun_tune import say_own, say_where, standing_of, tune_in_hand, wishes_of
from companion.cli.first_evening import ask_first, nothing_kept
from companion.cli.leaving import leave
from companion.cli.ready_tune import Opened, open_set, open_tune
from companion.cli.show import line, note_name
from companion.errors import UserError
from companion.input.listening import Listening, open_listening
from companion.lesson.lesson_rules import LessonRules
from companion.notation import tune_index
from companion.pages.books_at_hand import books_at_hand, demo_book, remember
from companion.pages.choosing import NextTune
from companion.pages.due_tunes import due_first, tries
from companion.pages.learn_box import LearnBox
from companion.pages.pages import Pages
from companion.pages.player_choices import PlayerChoices, keep_changes, load_choices
from companion.pages.practised import report_of
from companion.pages.settings_page import SettingsPage, keep_looks
from companion.pages.shelf import Past, Shelf, past_of
from companion.playback.measure_delay import join
from companion.playback.round_renderer import RoundRenderer
from companion.practice.evening import Evening
from companion.screen.card import key_words
from companion.screen.pedal_table import load_pedals
from companion.screen.window import Window, open_window
from companion.screen.words import load_words
from companion.session.all_tables import check_tables
from companion.session.memory import give_back
from companion.session.round_choices import RoundChoices
from companion.session.session import FRAME, Devices, Session
from companion.session.session_files import worth_working_on
from companion.session.session_folders import clear_old, folder_for
from companion.session.session_state import SessionSetting, Wish
from companion.sound.lift import lift_of
from companion.sound.sound_settings import sound_settings
from companion.sound.speaker import DeviceSpeaker, open_speaker
from companion.store.record import Record, here, open_record
from companion.tables import hand_names, read_tables

FEW = 20  # tunes of a book, tried one after the other where none is named
UNSEEN_SECONDS = 40.0  # how long a session lasts by itself where nobody can see it
LEVEL_STEP = 10  # per cent


@dataclass(slots=True)
class _Room:
    """What stays open while one tune follows another; `done` are the sessions so far, `until` when to end by itself."""

    record: Record
    listening: Listening
    window: Window
    speaker: DeviceSpeaker
    sounding: RoundRenderer
    pages: Pages
    voice: str | None
    minutes: float | None
    until: float | None
    stopped: bool = False
    coming: list[NextTune] = field(default_factory=list)
    practised: float = 0.0
    evening: Evening = field(default_factory=Evening)
    choices: RoundChoices = field(default_factory=RoundChoices)
    own: tuple[str | None, str | None, bool] = (None, None, False)  # piece, tempo and no beat, as they were asked for
    done: list[tuple[Opened, Session]] = field(default_factory=list)

    @property
    def left(self) -> float | None:
        """Seconds left; None where there is no end."""
        return None if self.until is None else max(0.0, self.until - time.monotonic())


def run(given: argparse.Namespace) -> None:
    """Run a session, and another with each tune that is chosen in the window."""
    size = _size(given.size)
    if given.seconds is not None and not 0 < given.seconds <= 24 * 3600:
        raise UserError("--seconds takes more than 0, up to a day")
    if given.minutes is not None and not 1 <= given.minutes <= 24 * 60:
        raise UserError("--minutes takes 1 or more, up to a day")
    give_back()
    own, anew = load_choices(), nothing_kept()
    check_tables()
    own = replace(
        own, box=given.box or _own_box(own), theme=given.theme or own.theme, device=given.device or own.device
    )
    first = NextTune(Path(given.book) if given.book else demo_book(), given.tune, own.box, tuple(given.then))
    opened: Opened | None = _first_opened(first, given.voice)
    if given.no_clock and given.piece is None:
        raise UserError("--no-clock goes with --piece; name the piece to play with no beat")
    if given.piece is not None and given.tune is None and given.book is None:
        raise UserError("--piece needs a tune; name the book and the tune, or --tune with one of the demo tunes")
    if opened is not None:  # what is wrong with these is said before anything opens
        wishes_of(opened, given.piece, given.tempo, given.no_clock)
    keep = folder_for(given.keep) if given.keep is not None else None
    with ExitStack() as opening:
        room = _open_room(given, own, size, keep is not None, first, opening)
        room.own = given.piece, given.tempo, given.no_clock
        asked = anew and not room.window.missing and given.seconds is None
        if asked:
            own, first, opened = _first_evening(room, given, own, first, opened)
        if given.seconds is None:
            _offer_to_learn(room, own)
        wanted = _wanted(room, given, first, opened, asked=asked)
        if wanted is not None and not given.no_due:
            room.coming = _coming(room, wanted)
            wanted = room.coming.pop(0)
        while wanted is not None:
            if opened is None or wanted != first:
                opened = _opened(room, wanted)
            wanted = _one_tune(room, wanted, opened) if opened is not None else _chosen(room, room.pages.now)
            opened = None
        keep_looks(room.window, own)
        if room.done and (room.window.missing or room.speaker.missing or keep is not None):
            folder = keep or folder_for(None)
            try:
                leave(folder, room.window, room.speaker, room.listening, room.done)
            finally:
                clear_old(sound_settings().kept.sessions, folder)


def _first_evening(
    room: _Room, given: argparse.Namespace, own: PlayerChoices, first: NextTune, opened: Opened | None
) -> tuple[PlayerChoices, NextTune, Opened | None]:
    """Ask what the command line does not answer; then with which tune it begins (None: none fits)."""
    chosen = ask_first(given, own, room.pages, room.listening, room.window, lambda: _chosen(room, None))
    assert room.pages.shelf is not None
    room.pages.shelf.now_on(chosen.box)
    if chosen.box == first.box:
        return chosen, first, opened
    first = replace(first, box=chosen.box)
    try:
        return chosen, first, _first_opened(first, given.voice)
    except UserError:
        return chosen, first, None


def _offer_to_learn(room: _Room, own: PlayerChoices) -> None:
    """The first time that a microphone is listened to: let the box get known through it."""
    if not room.listening.first_use or room.window.missing or room.pages.left or room.stopped:
        return
    room.pages.learn(LearnBox(load_box(own.box), room.listening, load_words()))
    _chosen(room, None)


def _wanted(
    room: _Room, given: argparse.Namespace, first: NextTune, opened: Opened | None, *, asked: bool
) -> NextTune | None:
    """What to begin with: what is chosen in the window, where no tune is named and there is a choice. After the
    questions of the first evening a demo tune begins at once."""
    if room.pages.left or room.stopped:
        return None
    if opened is None:
        room.pages.choose(load_words()("first.none_fits"), first=True)
        return _chosen(room, None)
    choice = not room.window.missing and (not given.book or len(room.pages.shelf_rows) > 1)
    if given.tune is None and not given.then and choice and not (asked and not given.book):
        room.pages.choose(first=True)
        return _chosen(room, None)
    return first


def _own_box(own: PlayerChoices) -> str:
    """The box that the player has chosen; the usual one where its file has gone since."""
    try:
        load_box(own.box)
    except UserError as why:
        line(f"{why}; using {PlayerChoices().box} instead.")
        return PlayerChoices().box
    return own.box


def _first_opened(first: NextTune, voice: str | None) -> Opened:
    """The tune that is named; where none is, the first of the book's first few that can be played on the box.

    Raises
    ------
    UserError : it cannot be played; or none of them can: then it is about the first.
    """
    names: list[str | None] = [first.tune]
    fault: UserError | None = None
    for tried in range(FEW):
        try:
            opened = _open(replace(first, tune=names[tried]), voice)
            if opened.fingering.playable:
                return opened
            fault = fault or UserError(_missing(opened.fingering, opened.tune.title))
        except UserError as why:
            fault = fault or why
        if first.tune is None and tried == 0:
            names += [
                tune.name
                for tune in tune_index.listing(first.book, voice, read_tables().ornaments.names).tunes
                if tune.playable
            ]
        if tried + 1 >= len(names):
            break
    assert fault is not None
    raise fault


def _open(wanted: NextTune, voice: str | None) -> Opened:
    """A tune, or a set."""
    if wanted.then:
        return open_set(str(wanted.book), wanted.tune, wanted.then, wanted.box, voice, _own_hand())
    return open_tune(str(wanted.book), wanted.tune, wanted.box, voice, own=_own_hand())


def _own_hand() -> str:
    """The hand that the player has chosen; the plain one where its file has gone since."""
    hand = load_choices().hand
    return hand if hand in hand_names() else PLAIN


def _open_room(
    given: argparse.Namespace,
    own: PlayerChoices,
    size: tuple[int, int] | None,
    keep: bool,
    first: NextTune,
    opening: ExitStack,
) -> _Room:
    """Open the record and the devices, and say what is missing."""
    record = open_record()
    opening.callback(record.close)
    pedals = load_pedals().listened
    listening = open_listening(
        given.port, None, standin=not given.no_standin and not own.by_ear, controls=pedals, pedal=given.pedal,
        microphone=given.microphone, may_record=not own.by_ear, box=load_box(own.box).id,
    )  # fmt: skip
    opening.callback(listening.close)
    window = open_window(size, theme=own.theme, look=own.look)
    opening.callback(window.close)
    unseen = bool(window.missing)
    speaker = _open_speaker(given, own, record=unseen or keep)
    if speaker.missing and not unseen and not keep:
        speaker.close()  # what cannot be heard is left behind, so it must be kept
        speaker = open_speaker(record=True)
    opening.callback(speaker.close)
    for notice in (record.notice, window.missing, speaker.missing, listening.missing):
        if notice:
            line(notice)
    _say_microphone(listening)
    join(speaker, listening.microphone)
    words, sounding = load_words(), RoundRenderer(speaker.rate)
    sounding.loudness(speaker, own.loudness)
    # A book that is named is what the player wants to choose from; else it is all of those at hand.
    shelf = Shelf([first.book.resolve()] if given.book else books_at_hand(), own.box, _past(record))
    opening.callback(shelf.close)

    def settings() -> SettingsPage:
        chosen = replace(load_choices(), box=shelf.box, device=speaker.device)
        return SettingsPage(chosen, speaker, sounding, listening, window, words)

    pages = Pages(
        window, words, shelf=shelf, settings=settings, calm_wait=0.0 if unseen else own.calm_wait, now=first,
        practised=lambda: report_of(record, load_box(shelf.box).id, here()),
    )  # fmt: skip
    seconds = given.seconds or (UNSEEN_SECONDS if unseen else None)
    until = None if seconds is None else time.monotonic() + seconds
    room = _Room(record, listening, window, speaker, sounding, pages, given.voice, given.minutes, until)
    _stop_on_signals(room)
    return room


def _say_microphone(listening: Listening) -> None:
    """Say that a microphone is listened to; the first time, what that means."""
    if listening.microphone is None:
        return
    line(f"You are heard through the microphone “{listening.microphone.name}”.")
    if listening.first_use:
        line("Nothing leaves this machine, and no sound of yours is kept.")
        line("Wear headphones if you can: then the microphone hears you and nothing else.")


def _open_speaker(given: argparse.Namespace, own: PlayerChoices, *, record: bool) -> DeviceSpeaker:
    """The sound device that is named, or the player's own where it is there, or the usual one."""
    if given.device is None and own.device:
        try:
            return open_speaker(record=record, device=own.device)
        except UserError as why:
            line(f"{why.message}; using the default device.")
    return open_speaker(record=record, device=given.device)


def _past(record: Record) -> Past:
    """What was practised on a box, by the tunes' fingerprints."""
    return lambda box: past_of(record.tunes(load_box(box).id, here()))


def _chosen(room: _Room, without: NextTune | None) -> NextTune | None:
    """What is chosen while nothing is practised; `without` where the player leaves that page."""
    window, pages = room.window, room.pages
    while pages.wanted is None and not room.stopped and room.left != 0.0:
        pages.asked()
        if pages.left:
            return None
        room.listening.new(room.speaker.time_of)
        pages.heard(room.listening.came, room.listening.meant, lambda _pitch: 0.0)
        page = pages.shown(room.speaker.now())
        if page is None:
            return without
        window.show(page)
        time.sleep(FRAME)
    wanted, pages.wanted = pages.wanted, None
    return wanted if not room.stopped else None


def _opened(room: _Room, wanted: NextTune) -> Opened | None:
    """The tune that was chosen; None where it cannot be played: then the page for choosing says why."""
    try:
        opened = _open(wanted, room.voice)
        if opened.fingering.playable:
            return opened
        why = _missing(opened.fingering, opened.tune.title)
    except UserError as fault:
        why = str(fault)
    room.pages.choose(why)
    return None


def _one_tune(room: _Room, wanted: NextTune, opened: Opened) -> NextTune | None:
    """A session on one tune, with a sitting of its own in the record; what was chosen in it to go on with."""
    rules = opened.tables.lesson
    remember(wanted.book)
    room.pages.take_up(wanted, opened.tune, opened.round)
    room.listening.take_up(opened.fingering)
    join(room.speaker, room.listening.microphone)
    standing = standing_of(room.record, opened, rules)
    if wanted.review:
        line(f"{opened.tune.title} comes back: once round.")
    elif room.own[0] is not None:
        say_own(opened, standing, room.listening.standin_on, rules, room.own)
    else:
        say_where(opened, standing, room.listening.standin_on, rules)
    sitting = room.record.begin(standing.tune, opened.box.id)
    words = load_words()
    length = _length(60 * (room.minutes or rules.minutes), room.practised, rules)
    devices = Devices(room.speaker, room.sounding, room.listening, room.window, room.record, sitting)
    lift = lift_of(opened.tune.rhythm, opened.tune.meter, opened.tables.dances, opened.tables.lifts)
    setting = SessionSetting(
        tune_in_hand(opened),
        opened.box,
        rules,
        words,
        partial(key_words, words),
        length,
        review=wanted.review,
        lift=lift,
    )
    session = Session(setting, standing.states, devices, room.pages, room.evening, room.choices)
    session.change_level = partial(_change_level, room)
    room.done.append((opened, session))
    if not wanted.review:
        for wish in wishes_of(opened, *room.own):
            session.tell(Wish(wish))
        room.own = (None, None, False)
    try:
        if not room.stopped:
            session.run(room.left)
    finally:
        session.finish()
    room.practised += session.practised
    room.evening, room.choices = session.state.evening, session.state.choices
    played = tries(session.rounds, setting.tune.target, opened.tables.marks)
    if played:
        room.record.review(standing.tune, opened.box.id, played, here(), opened.tables.memory)
    for sentence in session.gains if session.rounds else ():
        line(sentence)
    work = worth_working_on(session.rounds, opened.round, opened.pieces, words)
    for sentence in ("Most worth working on:", *work) if work else ():
        line(sentence)
    following, room.pages.wanted = room.pages.wanted, None
    if following is None and wanted.review and room.coming and not session.quitted:
        following = room.coming.pop(0)
    return following if not room.stopped and room.left != 0.0 else None


def _change_level(room: _Room, steps: int) -> int:
    """Louder or softer, and kept so; gives the level, in per cent."""
    before = load_choices()
    after = replace(before, level=min(100, max(0, before.level + LEVEL_STEP * steps)))
    keep_changes(before, after)
    room.sounding.loudness(room.speaker, after.loudness)
    return after.level


def _length(whole: float, practised: float, rules: LessonRules) -> float:
    """Seconds for the tune that comes now: what is left of the minutes; all of them anew for whoever goes on after."""
    left = whole - practised % whole
    return left if left > 2 * 60 * rules.ending_minutes else whole


def _coming(room: _Room, wanted: NextTune) -> list[NextTune]:
    """The tunes of the sitting: those that the player is about to forget, then the one that is wanted."""
    if room.listening.standin_on or not room.listening.can_hear:
        return [wanted]
    due = [one for one in room.record.due(wanted.box, here()) if one.days <= 0]
    if not due:
        return [wanted]
    rules = read_tables().lesson
    shelf = Shelf([wanted.book.resolve(), *books_at_hand()], wanted.box)  # what is due comes out of any book at hand
    first = due_first(due, shelf, wanted, 60 * (room.minutes or rules.minutes), rules)
    shelf.close()
    if first:
        line(f"{len(first)} tune{'s' * (len(first) > 1)} about to be forgotten come{'s' * (len(first) == 1)} first.")
    return [*first, wanted]


def _missing(fingering: Fingering, title: str) -> str:
    pitches = ", ".join(note_name(pitch) for pitch in fingering.missing)
    return f"“{title}” needs {pitches}, which your box ({fingering.box.id}) does not have; choose another tune or box"


def _size(text: str | None) -> tuple[int, int] | None:
    """The size that is asked for; None: as the screen has room."""
    if text is None:
        return None
    match = re.fullmatch(r"(\d{3,5})[xX×](\d{3,5})", text)
    if match is None:
        raise UserError(f"--size takes width and height in pixels, such as 1280x720, not “{text[:40]}”")
    return int(match[1]), int(match[2])


def _stop_on_signals(room: _Room) -> None:
    def stop(_number: int, _frame: object) -> None:
        room.stopped = True
        if room.done:
            room.done[-1][1].end_soon()

    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), stop)
