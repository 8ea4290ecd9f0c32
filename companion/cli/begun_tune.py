"""A tune that is to be practised: what a session needs of it, where the player is in it, and what is said of that."""

from __future__ import annotations

from dataclasses import dataclass

from companion.cli.ready_tune import Opened
from companion.cli.show import line
from companion.lesson.lesson_rules import LessonRules
from companion.lesson.pieces import piece_named
from companion.lesson.signposts import signposts
from companion.lesson.tutor import piece_or_bars
from companion.practice.player_state import IN_ORDER, PlayerState, start, task
from companion.practice.round_plan import TuneInHand
from companion.practice.state_json import from_plain
from companion.screen.actions import Action, Asked, ChosenNotes, ChosenTempo
from companion.screen.words import spoken_piece, stored_piece
from companion.sound.tempi import parse_tempo
from companion.store.record import Record
from companion.tune.beat_names import beat_name


@dataclass(frozen=True, slots=True)
class BothPlayers:
    """Where the player and the stand-in are in the tune, and under which numbers the record keeps it."""

    tune: int
    states: dict[bool, PlayerState]
    rounds: int


def standing_of(record: Record, opened: Opened, rules: LessonRules) -> BothPlayers:
    """Where the record says that everybody is; the beginning where it says nothing."""
    tune = record.tune(opened.round, opened.tune.title, opened.tune.rhythm, opened.target[0])
    steps = opened.lesson
    states = {}
    for standin in (False, True):
        plain = record.state(tune, opened.box.id, standin)
        states[standin] = start(steps, rules) if plain is None else from_plain(steps, plain, rules)
    return BothPlayers(tune, states, record.rounds(tune))


def say_where(opened: Opened, standing: BothPlayers, standin: bool, rules: LessonRules) -> None:
    """Say with which piece the lesson begins or goes on, and at which tempo."""
    state = standing.states[standin]
    asked = task(state, rules)
    target, beat = opened.target
    who = "The demonstration" if standin else "You"
    begins = "goes on" if standing.rounds else "begins"
    begins = begins if standin else begins.replace("goes", "go").replace("begins", "begin")
    tempo = "" if asked.step == IN_ORDER else f" at {target * asked.share:.0f} {beat_name(beat)}s a minute"
    line(f"{opened.tune.title}: {who} {begins} with {spoken_piece(asked.piece.name)} ({asked.step}{tempo}).")


def wishes_of(opened: Opened, piece: str | None, tempo: str | None, no_clock: bool = False) -> list[Asked]:
    """What is asked for by name, as the window would ask for it. Raises `UserError` where it is not there."""
    found: list[Asked] = []
    if piece is not None:
        wanted = stored_piece(piece)
        named = piece_or_bars(wanted, opened.pieces) or piece_named(opened.pieces, wanted)
        found.append(ChosenNotes(named.first, named.last))
    if tempo is not None:
        target = opened.target[0]
        found.append(ChosenTempo(100 * parse_tempo(tempo, target) / target))
    if no_clock:
        found.append(Action.BEAT)
    return found


def tune_in_hand(opened: Opened) -> TuneInHand:
    """The tune as its rounds need it, with its phrases and where the air button is used."""
    tune = opened.tune
    target, beat = opened.target
    posts = signposts(opened.round, opened.fingering, opened.tables)
    return TuneInHand(
        tune.title, opened.round, opened.fingering, tune.meter, tune.key, beat, target, posts, opened.later,
        marking=opened.tables.marks, ornaments=opened.tables.ornaments,
    )  # fmt: skip


def say_own(
    opened: Opened, standing: BothPlayers, standin: bool, rules: LessonRules, own: tuple[str | None, str | None, bool]
) -> None:
    """Say what goes round and round from the start; `own` are the piece, the tempo and no beat, as they were asked
    for."""
    piece, asked, no_beat = own
    target, beat = opened.target
    usual = task(standing.states[standin], rules).share
    share = parse_tempo(asked, target) / target if asked is not None else usual
    tempo = "with no beat" if no_beat else f"at {target * share:.0f} {beat_name(beat)}s a minute"
    line(f"{opened.tune.title}: {spoken_piece(stored_piece(piece or ''))}, round and round, {tempo}.")
