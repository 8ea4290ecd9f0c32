"""The map of a tune: its parts and bars in small, where the player is, what is known, what keeps failing. Pure."""

from __future__ import annotations

from companion.lesson.lesson_rules import LessonRules
from companion.lesson.lesson_values import Kind, Piece
from companion.practice.own_rounds import bar_of
from companion.practice.player_state import PlayerState
from companion.practice.round_plan import TuneInHand
from companion.screen.page_values import BarProgress, MapBar, MapPart, TuneMap

OFTEN = 2  # times that a move went wrong of late: it keeps failing


def tune_map(tune: TuneInHand, state: PlayerState, piece: Piece, at: int | None, rules: LessonRules) -> TuneMap:
    """The map.

    Parameters
    ----------
    piece : what is practised. `at` : the note that is played now, by index in the tune.
    """
    parts: dict[str, list[tuple[int, MapBar]]] = {}
    for bar, (first, last) in tune.spans.items():
        cell = MapBar(bar.number, first, last, _progress(state, first, last, rules))
        parts.setdefault(bar.part, []).append((bar.time, cell))
    drawn = tuple(_part(name, cells, tune.signposts.phrases) for name, cells in parts.items())
    here = _first_time(tune, piece.first), _first_time(tune, piece.last)
    if len(piece.notes(len(tune.bars))) == len(tune.bars):
        here = 0, max(last for _, last in tune.spans.values())
    return TuneMap(drawn, here, None if at is None else _first_time(tune, at % len(tune.bars)))


def _part(name: str, cells: list[tuple[int, MapBar]], phrases: frozenset[int]) -> MapPart:
    bars = tuple(cell for _, cell in sorted(cells, key=lambda one: (one[1].number, one[0])))
    begins = tuple(n for n, bar in enumerate(bars) if any(bar.first <= note <= bar.last for note in phrases))
    return MapPart(name, bars, begins)


def _first_time(tune: TuneInHand, note: int) -> int:
    """The note at the same place of its bar where that stands for the first time."""
    first, last = tune.spans[tune.bars[note]]
    return min(first + note - bar_of(note, tune.round, tune.bars)[0], last)


def _progress(state: PlayerState, first: int, last: int, rules: LessonRules) -> BarProgress:
    """How far a bar is, by the moves to its notes."""
    known = [state.known[state.lesson.moves[k]] for k in range(max(first, 1), last + 1)]
    if any(one.wrong >= OFTEN for one in known):
        return BarProgress.FAILING
    top = rules.top_rung(Kind.BAR)
    if known and all(one.right >= rules.known_needed and one.rung >= top for one in known):
        return BarProgress.KNOWN
    return BarProgress.BEGUN if any(one.right or one.wrong for one in known) else BarProgress.NEW
