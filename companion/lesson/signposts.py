"""Where phrases begin and where the air button is used, as the bellows line shows it: in whole notes of a piece.

What is so in the round is so in a piece of it: the air button is where the player needs it when playing the whole.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from companion.box.box_tables import BoxTables
from companion.box.box_values import Fingering
from companion.box.choices import phrase_starts
from companion.box.fingering import bellows_of
from companion.lesson.stretch import Stretch
from companion.tune.part_bars import in_pickup
from companion.tune.tune_values import OnceThrough


@dataclass(frozen=True, slots=True)
class Signposts:
    """Of a round: the notes on which phrases begin, and those on which the air button is used.

    `air` maps the note to how long after its beginning that is, in whole notes.
    """

    phrases: frozenset[int]
    air: tuple[tuple[int, Fraction], ...]

    def phrases_in(self, laid: Stretch) -> tuple[float, ...]:
        """Where phrases begin in a piece."""
        return tuple(float(one.at) for one in laid.notes if one.index in self.phrases)

    def air_in(self, laid: Stretch) -> tuple[float, ...]:
        """Where the air button is used in a piece."""
        after = dict(self.air)
        found = (float(one.at + after[one.index]) for one in laid.notes if one.index in after)
        return tuple(at for at in found if at < float(laid.length))


NONE = Signposts(frozenset(), ())


def signposts(round_: OnceThrough, fingering: Fingering, tables: BoxTables) -> Signposts:
    """The signposts of a fingered round."""
    if not fingering.notes:
        return NONE
    uses = bellows_of(round_, fingering, tables).air
    air = tuple((use.index, round_.notes[use.index].length if use.in_rest else Fraction(0)) for use in uses)
    return Signposts(frozenset(_begun(round_)), air)


def _begun(round_: OnceThrough) -> list[int]:
    """The first note of each phrase; after a pick-up the one behind its bar line, where the eye looks for it."""
    found = []
    pickup = in_pickup(round_)
    for index, starts in enumerate(phrase_starts(round_)):
        if not starts:
            continue
        while pickup[index]:
            index += 1
        found.append(index)
    return found
