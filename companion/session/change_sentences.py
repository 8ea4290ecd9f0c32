"""What is said when something changes: the step, the tempo, the piece, and what is known of a new piece already."""

from __future__ import annotations

from companion.box.pitch_names import name_of
from companion.lesson.lesson_rules import LessonRules
from companion.lesson.lesson_values import Piece
from companion.practice.player_state import AGAIN, BY_HEART, ENDING, IN_ORDER, PieceState, PlayerState, task
from companion.practice.sitting import Change
from companion.screen.words import Say
from companion.tune.tune_values import OnceThrough


def of_change(change: Change, round_: OnceThrough, rules: LessonRules, words: Say) -> str:
    """What is new after a round, in a sentence; "" where nothing is."""
    before, after = change.before, change.after
    if change.what == "turn":
        return words("said_turn", piece=after.piece.name)
    if change.what == ENDING:
        return words("said_ending", piece=after.piece.name)
    new = after.piece != before.piece
    if new and change.news in ("next", "smaller", AGAIN, "lost"):
        known = about(after.piece, after, round_, words)
        if known:
            return known
    in_order = task(after, rules).step == IN_ORDER
    said = {
        "step": "said_step_in_order" if in_order else "said_step_in_time",
        "faster": "said_faster",
        "slower": "said_slower",
        BY_HEART: "said_by_heart",
        "shown": "said_shown",
        "next": "said_next_piece" if after.standing == PieceState() else "said_next_round",
        "shrunk": "said_shrunk",
        "smaller": "said_smaller",
        "grown": "said_grown",
        AGAIN: "said_again",
        ENDING: "said_again",
        "lost": "said_lost",
    }
    if change.news not in said:
        return ""
    return words(said[change.news], piece=before.piece.name if change.news == "lost" else after.piece.name)


def about(piece: Piece, state: PlayerState, round_: OnceThrough, words: Say) -> str:
    """What the player should know of a piece: the tutor's sentence, or what it is nearly the same as; else ""."""
    told = state.lesson.sentences.get(piece.name, "")
    if told or piece.like is None or piece.differs is None:
        return told
    note = note_words(round_.notes[piece.differs].pitch, round_, words)
    notes = piece.notes(state.lesson.count)
    if piece.differs == notes[-1]:
        return words("said_like_ends", piece=piece.name, like=piece.like, note=note)
    if piece.differs == notes[0]:
        return words("said_like_begins", piece=piece.name, like=piece.like, note=note)
    place = piece.differs - piece.first + 1
    return words("said_like", piece=piece.name, like=piece.like, note=note, place=place)


def note_words(pitch: int, round_: OnceThrough, words: Say) -> str:
    """A note's name, and which of them it is where the tune has several of that name: "the high D"."""
    name = name_of(pitch, octave=False, signature=round_.signature)
    same = sorted({note.pitch for note in round_.notes if note.pitch % 12 == pitch % 12})
    if len(same) < 2:
        return name
    which = "low_note" if pitch == same[0] else "high_note" if pitch == same[-1] else "middle_note"
    return words(which, note=name)
