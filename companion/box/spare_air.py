"""Which choice of direction saves air: for each note that could be had the other way, what that costs and saves."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from companion.box.box_tables import BoxTables
from companion.box.box_values import Bellows, Fingering
from companion.box.explain import Explainer, button_name
from companion.box.pins import Pin
from companion.tune.tune_values import OnceThrough


@dataclass(frozen=True, slots=True)
class AirChoice:
    """A note that could go the other way.

    `index` is the note of the round, `other` the button and direction instead, `cost` what the cheapest fingering with
    it costs more, `seconds` by how many seconds of ordinary sound the bellows would be less open after it (negative:
    more open), with all that changes along with it.
    """

    index: int
    other: str
    cost: float
    seconds: float


def spare_air(
    round_: OnceThrough, fingering: Fingering, tables: BoxTables, pins: Iterable[Pin] = ()
) -> tuple[AirChoice, ...]:
    """For each note that could go the other way, what that would cost and how much air it would save."""
    if not fingering.notes:
        return ()
    ways = Explainer(round_, fingering, tables, pins)
    found = []
    for index in range(len(fingering.notes)):
        chosen = ways.state(index, ways.path)
        go, come = ways.ring.columns[index], ways.ring.columns[index - 1]
        other_way = [[state.press.bellows is not chosen.press.bellows for _ in come] for state in go]
        if not any(row[0] for row in other_way):
            continue
        cost, path = ways.without(index - 1, other_way)
        if path is None:
            continue
        seconds = 0.0
        for at in range(len(path)):
            was, now = ways.state(at, ways.path).press.bellows, ways.state(at, path).press.bellows
            if was is not now:
                length = ways.ring.times.seconds(ways.ring.times.lengths[at])
                seconds += 2 * length if was is Bellows.PULL else -2 * length
        instead = ways.state(index, path)
        other = f"{button_name(instead)}, {instead.press.bellows.value}"
        found.append(AirChoice(index, other, (cost - ways.cost) / 1000, seconds))
    return tuple(found)
