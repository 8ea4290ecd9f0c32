"""Every cause of a mistake, a row each: its name, how it is tested, what it weighs and the words for it.

To add one, write its test (in `wrong_pitches.py` or `out_of_time.py`), its row here, its weight in `config/marks.toml`
where it has one, and its sentences in `config/words.toml`.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass

from companion.box.box_values import Box, Press
from companion.marking import out_of_time, wrong_pitches
from companion.marking.out_of_time import TimedRound
from companion.marking.wrong_pitches import AskedRound


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One cause, with one test: `slip`, `instead`, `run_of` or `late`.

    Attributes
    ----------
    name : as kept in the record and in JSON.
    means : what it is, in the words of `companion mark`.
    said, work : the keys of its sentences in `config/words.toml`: after a round, and as what to work on.
    now : the key of what is said at once; of causes that one note can show.
    weight : the key of its weight under `[cause]` in `config/marks.toml`; for causes of wrong pitches.
    slip : the presses that it makes of the right one.
    instead : the pitch that it sounds in place of the note at a position.
    borne_out : whether the notes round that position speak for it.
    run_of : the cause that a run of notes must share for it to be this one; its own name where a run bears it out.
    late : the positions of the right notes that came at the wrong time by it.
    join : whether it is practised in the join that it lies in, rather than in the bar.
    """

    name: str
    means: str
    said: str
    work: str
    now: str = ""
    weight: str | None = None
    slip: Callable[[Box, Press], Sequence[Press]] | None = None
    instead: Callable[[AskedRound, int], int | None] | None = None
    borne_out: Callable[[AskedRound, int], bool] | None = None
    run_of: str | None = None
    late: Callable[[TimedRound], Collection[int]] | None = None
    join: bool = False


_ROWS = (
    Cause(
        name="other-direction",
        means="the right button, with the bellows going the other way",
        said="said_other_direction",
        work="work_other_direction",
        now="now_other_direction",
        weight="other_direction",
        slip=wrong_pitches.other_direction,
    ),
    Cause(
        name="button-below",
        means="the next button down the row (towards the chin)",
        said="said_button_below",
        work="work_button_below",
        now="now_button_below",
        weight="button_below",
        slip=wrong_pitches.button_below,
    ),
    Cause(
        name="button-above",
        means="the next button up the row",
        said="said_button_above",
        work="work_button_above",
        now="now_button_above",
        weight="button_above",
        slip=wrong_pitches.button_above,
    ),
    Cause(
        name="other-row",
        means="the button beside it in the other row",
        said="said_other_row",
        work="work_other_row",
        now="now_other_row",
        weight="other_row",
        slip=wrong_pitches.other_row,
    ),
    Cause(
        name="next-note",
        means="the right note too early: the next written note",
        said="said_next_note",
        work="work_next_note",
        now="now_next_note",
        weight="next_note",
        instead=wrong_pitches.next_note,
        borne_out=wrong_pitches.next_is_missing,
    ),
    Cause(
        name="note-before",
        means="the note before, again",
        said="said_note_before",
        work="work_note_before",
        now="now_note_before",
        weight="note_before",
        instead=wrong_pitches.note_before,
    ),
    Cause(
        name="bar-before",
        means="the note at this place in the bar before: the place was lost",
        said="said_bar_before",
        work="work_bar_before",
        now="now_wrong",
        weight="bar_before",
        instead=wrong_pitches.bar_before,
        run_of="bar-before",
    ),
    Cause(
        name="hand-below",
        means="the whole hand one button too low, for a run of notes",
        said="said_hand_below",
        work="work_hand_below",
        run_of="button-below",
    ),
    Cause(
        name="hand-above",
        means="the whole hand one button too high, for a run of notes",
        said="said_hand_above",
        work="work_hand_above",
        run_of="button-above",
    ),
    Cause(
        name="late-turn",
        means="the right note, late where the bellows turn",
        said="said_late_turn",
        work="work_late_turn",
        late=out_of_time.late_turns,
    ),
    Cause(
        name="hesitation",
        means="the right note, after a wait where the hand moves or a part begins",
        said="said_hesitation",
        work="work_hesitation",
        late=out_of_time.hesitations,
        join=True,
    ),
    Cause(
        name="rushed-bar",
        means="right notes that come sooner and sooner through a bar",
        said="said_rushed_bar",
        work="work_rushed_bar",
        late=out_of_time.rushed_bars,
    ),
    Cause(
        name="dragged-bar",
        means="right notes that come later and later through a bar",
        said="said_dragged_bar",
        work="work_dragged_bar",
        late=out_of_time.dragged_bars,
    ),
)

CAUSES: dict[str, Cause] = {row.name: row for row in _ROWS}
"""Every cause that a mark can carry, by name, in the order in which equally good ones are said, joined by "+"."""

WEIGHTS = tuple(row.weight for row in _ROWS if row.weight is not None)
"""The keys of all weights in `config/marks.toml`."""
