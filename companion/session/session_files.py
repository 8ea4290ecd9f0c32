"""What a session leaves behind: a picture of the window, the sound, the take and the marks; and what to work on."""

from __future__ import annotations

import json
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

from companion.lesson.lesson_values import Piece
from companion.marking.marks_json import note_report
from companion.marking.summary import worst_three
from companion.screen.words import Say
from companion.session.round_sentences import to_work_on
from companion.store.record import RoundKept
from companion.tune.tune_values import OnceThrough
from companion.whole_file import whole_file

SCHEMA = "companion.session/1"


def worth_working_on(
    rounds: Sequence[RoundKept], round_: OnceThrough, pieces: Sequence[Piece], words: Say
) -> tuple[str, ...]:
    """The three things most worth working on, a sentence each, over the rounds that the player played.

    What the stand-in player did says nothing about the player. Nothing went wrong, or nobody played: nothing is said.
    """
    played = [one.marks for one in rounds if not one.standin]
    return to_work_on(worst_three(played, round_), pieces, words)


def write_marks(path: Path, title: str, box: str, beat: Fraction, rounds: Sequence[RoundKept]) -> None:
    """Write the session's marks as JSON, whole or not at all. Raises `UserError` where that cannot be."""
    plain: dict[str, Any] = {
        "schema": SCHEMA,
        "title": title,
        "box": box,
        "beat": str(beat),
        "rounds": [
            {
                "piece": one.piece,
                "step": one.step,
                "bpm": one.bpm,
                "player": "stand-in player" if one.standin else "player",
                "clean": one.marks.clean,
                "notes": [note_report(note) for note in one.marks.notes],
            }
            for one in rounds
        ],
    }
    with whole_file(path) as beside:
        beside.write_text(json.dumps(plain, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
