"""The fingering of a round: for every note the button, the direction of the bellows, the finger and the hand's place.

The cheapest of all fingerings of the round and of the way back into the next one, under the costs of
`config/hand.toml` (an exact search, see `companion.box.search`), with bars of the same notes made alike where that
costs next to nothing (see `companion.box.alike_bars`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from companion.box.alike_bars import cheapest_alike
from companion.box.bellows import AirNote, BellowsPlan, BellowsTable, plan_bellows
from companion.box.box_tables import BoxTables
from companion.box.box_values import Bellows, Box, Fingered, Fingering
from companion.box.choices import Choices, StateTable, choices, phrase_starts, table_of
from companion.box.costs import HandState, air_part, note_parts, step_parts
from companion.box.pins import Pin
from companion.box.times import Times, times_of
from companion.tune.fast_values import no_collection
from companion.tune.tune_values import OnceThrough

__all__ = ["Pin", "bellows_of", "cost_parts", "finger_round"]


@no_collection()
def finger_round(round_: OnceThrough, box: Box, tables: BoxTables, pins: Iterable[Pin] = ()) -> Fingering:
    """The cheapest fingering of a round on a box, and back into the next round.

    Parameters
    ----------
    round_ : the tune, unfolded.
    box : the layout.
    tables : the costs of the hand, the ornaments, the bellows.
    pins : what a tutor wants of single notes; stands above the fingers that the tune itself asks for. A pin that
        cannot be is left out and named in `Fingering.refused`.

    Returns
    -------
    The fingering; with `missing` and no notes where the box lacks a pitch.
    """
    hand = tables.hand
    notes = round_.notes
    table = table_of(box, hand)
    missing = tuple(sorted({note.pitch for note in notes} - table.states.keys()))
    if missing or not notes:
        return Fingering(box, (), missing, 0.0, 0, 0, 0, False)
    ring = choices(round_, table, tables.ornaments, pins)
    cost, path = cheapest_alike(notes, ring, round(1000 * hand.same))
    states = [column[index] for column, index in zip(ring.columns, path, strict=True)]
    return _fingering(round_, box, states, cost, ring, tables.bellows)


def cost_parts(round_: OnceThrough, fingering: Fingering, tables: BoxTables) -> list[dict[str, float]]:
    """What each note of a fingering costs, by the names of `config/hand.toml`.

    Returns
    -------
    For each note, the parts of getting there from the note before (for the first: from the last, a round before) and
    of the note itself. Their sum, each part rounded to a thousandth, is the fingering's cost.
    """
    hand = tables.hand
    table = table_of(fingering.box, hand)
    states = [_state_of(table, note) for note in fingering.notes]
    ring = choices(round_, table, tables.ornaments)
    found = []
    for index, gap in enumerate(ring.gaps):
        seconds = ring.times.seconds(ring.times.lengths[index])
        found.append(
            step_parts(states[index - 1], states[index], gap, hand)
            | note_parts(states[index], ring.wants[index], hand)
            | air_part(states[index], ring.drift[index], seconds, hand)
        )
    return found


def bellows_of(
    round_: OnceThrough,
    fingering: Fingering,
    tables: BoxTables,
    dynamic: str = "mf",
) -> BellowsPlan:
    """What the bellows do in a fingering: the line of their openings, where to use the air button, where they run out.

    Parameters
    ----------
    round_, fingering : the round and its fingering.
    tables : the bellows, and the hand for the length of a whole note.
    dynamic : how loud, as a dynamic mark of the table ("mf").
    """
    table = tables.bellows
    if not fingering.notes:
        return plan_bellows((), table)
    directions = [note.press.bellows for note in fingering.notes]
    times = times_of(round_, tables.hand.whole_note)
    return _plan(directions, phrase_starts(round_), times, table, table.flow(dynamic))


def _plan(
    directions: Sequence[Bellows], starts: Sequence[bool], times: Times, table: BellowsTable, flow: float = 1.0
) -> BellowsPlan:
    """The plan of the bellows for a direction a note; `starts` says on which notes phrases start."""
    sounding = []
    for index, (direction, length) in enumerate(zip(directions, times.lengths, strict=True)):
        following = times.starts[index + 1] if index + 1 < len(times.starts) else times.starts[0] + times.lap
        rest = max(0, following - times.starts[index] - length)
        ends = starts[(index + 1) % len(starts)]
        sounding.append(AirNote(direction, times.seconds(length), times.seconds(rest), ends, flow))
    return plan_bellows(sounding, table)


def _state_of(table: StateTable, note: Fingered) -> HandState:
    """The state that a fingered note stands for."""
    for state in table.states[note.note.pitch]:
        if (state.press, state.finger, state.place) == (note.press, note.finger, note.place):
            return state
    raise ValueError(f"{note.press} does not sound {note.note.pitch} from place {note.place}")


def _fingering(
    round_: OnceThrough, box: Box, states: Sequence[HandState], cost: int, ring: Choices, bellows: BellowsTable
) -> Fingering:
    """The found states as a `Fingering`."""
    phrases = [gap.phrase for gap in ring.gaps]
    opening = _plan([state.press.bellows for state in states], phrases, ring.times, bellows).openings
    places = [state.place for state in states]
    reaches = [0] + [after - before for before, after in pairwise(places)]
    turns = [a.press.bellows is not b.press.bellows for a, b in pairwise(states)]
    fingered = tuple(
        Fingered(note, state.press, state.finger, place, reach, opened)
        for note, state, place, reach, opened in zip(round_.notes, states, places, reaches, opening, strict=True)
    )
    return Fingering(
        box=box,
        notes=fingered,
        missing=(),
        cost=cost / 1000,
        reaches=sum(reach != 0 for reach in reaches),
        reversals=sum(turns),
        back_reach=places[0] - places[-1],
        back_turn=states[0].press.bellows is not states[-1].press.bellows,
        refused=ring.refused,
    )
