"""A tutor's own hand: the costs of a hand fitted to fingerings that the tutor has corrected.

Each corrected tune asks that the tutor's fingering be cheaper than every other, the more so the more notes the other
has different (a structured margin, as in Taskar, Guestrin and Koller, "Max-margin Markov networks", NIPS 16, 2003).
The exact search gives the way that breaks this most, with the margin taken off wherever a note differs; the costs are
then moved against it, each by a step of its own size (Duchi, Hazan and Singer, "Adaptive subgradient methods", JMLR
12, 2011), and never below nothing. What the tutor has left open is right as it was.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import log

from companion.box.alike_bars import cheapest_alike
from companion.box.box_tables import BoxTables
from companion.box.box_values import Box
from companion.box.choices import Choices, StateTable, choices
from companion.box.costs import HandState, note_parts, step_parts
from companion.box.fingering import finger_round
from companion.box.hand_costs import Hand
from companion.box.pins import Pin
from companion.box.search import Matrix, cheapest_ring
from companion.tune.tune_values import OnceThrough

# What is fitted. A move by one place is the measure of it all, and stays; hopping and crossing stay out of question.
FITTED = ("further", "lean", "stretch", "little", "little_ornament", "untapped", "ring", "change", "carried", "again",
          "turn", "row", "side")  # fmt: skip
_MARGIN = 0.2  # for each note that differs
_STEP, _TURNS = 0.25, 30
_SWEEPS, _FACTORS = 2, (0.5, 0.75, 1.3, 1.8)
# Corrections fit together where no more than this part of what was missed is left, and on tunes left out this part less
# is missed; or where nearly all is met, and hardly a note of those tunes is lost.
_LEFT, _GAINED, _NEARLY, _LOST = 0.67, 0.15, 0.95, 0.03
_MOST = 1000.0


@dataclass(frozen=True, slots=True)
class Corrected:
    """A tune as a tutor fingers it: its round, with the fingers that are written in it, and pins for single notes."""

    round: OnceThrough
    pins: tuple[Pin, ...] = ()

    @property
    def wanted(self) -> tuple[Pin | None, ...]:
        """What is wanted of each note of the round; None where it is left open."""
        pinned = {pin.written: pin for pin in self.pins}
        return tuple(
            pinned.get(note.written) or (Pin(note.written, finger=note.finger) if note.finger is not None else None)
            for note in self.round.notes
        )

    @property
    def bare(self) -> OnceThrough:
        """The round with no fingers written in it."""
        return replace(self.round, notes=tuple(replace(note, finger=None) for note in self.round.notes))


@dataclass(frozen=True, slots=True)
class LearntHand:
    """What came of fitting a hand: the hand, and the shares of what was wanted that is met.

    `before` is met by the hand that it began with, `after` by the fitted one; `unseen_before` and `unseen` are the same
    on tunes (or halves of the only one) that were left out of the fit in turn.
    """

    hand: Hand
    before: float
    after: float
    unseen_before: float
    unseen: float

    @property
    def fits(self) -> bool:
        """Whether the corrections fit together: what is learnt of some of them holds for the others."""
        missed, missed_unseen = 1 - self.before, 1 - self.unseen_before
        if not missed or 1 - self.after > _LEFT * missed:
            return False
        gained = self.unseen - self.unseen_before
        return gained >= _GAINED * missed_unseen or (self.after >= _NEARLY and gained >= -_LOST)


def learn_hand(corrected: Sequence[Corrected], box: Box, tables: BoxTables) -> LearntHand:
    """Fit the costs of `tables.hand` to corrected tunes that the box can play.

    Example
    -------
    >>> learnt = learn_hand([Corrected(round_, pins)], box, tables)  # doctest: +SKIP
    >>> learnt.fits, learnt.hand.little  # doctest: +SKIP
    (True, 1.8)
    """
    corrected = [_completed(one, box, tables) for one in corrected]
    before = _share([_met(one, box, tables) for one in corrected])
    if before == 1.0:
        return LearntHand(tables.hand, 1.0, 1.0, 1.0, 1.0)
    groups = [[one] for one in corrected] if len(corrected) > 1 else [[half] for half in _halves(corrected[0])]
    unseen_before, unseen = [], []
    for left_out in range(len(groups)):
        seen = [one for k, group in enumerate(groups) if k != left_out for one in group]
        fitted = _stepped(seen, box, tables)
        unseen_before += [_met(one, box, tables) for one in groups[left_out]]
        unseen += [_met(one, box, replace(tables, hand=fitted)) for one in groups[left_out]]
    hand = _told_apart(_stepped(corrected, box, tables), corrected, box, tables)
    return LearntHand(
        hand,
        before,
        _share([_met(one, box, replace(tables, hand=hand)) for one in corrected]),
        _share(unseen_before),
        _share(unseen),
    )


def _completed(one: Corrected, box: Box, tables: BoxTables) -> Corrected:
    """A tune with a finger for every note: what the tutor has left open is right as the hand has it around the rest."""
    found = finger_round(one.round, box, tables, one.pins).notes
    notes = [replace(note, finger=here.finger) for note, here in zip(one.round.notes, found, strict=True)]
    return Corrected(replace(one.round, notes=tuple(notes)), one.pins)


def _halves(one: Corrected) -> tuple[Corrected, Corrected]:
    """A tune with what is wanted of its first half of written notes, and with that of its second."""
    middle = max(note.written for note in one.round.notes) // 2

    def only(first: bool) -> Corrected:
        notes = [n if (n.written <= middle) is first else replace(n, finger=None) for n in one.round.notes]
        kept = tuple(pin for pin in one.pins if (pin.written <= middle) is first)
        return Corrected(replace(one.round, notes=tuple(notes)), kept)

    return only(True), only(False)


def _share(met: Sequence[tuple[int, int]]) -> float:
    wanted = sum(of for _, of in met)
    return sum(here for here, _ in met) / wanted if wanted else 1.0


def _met(one: Corrected, box: Box, tables: BoxTables) -> tuple[int, int]:
    """How many notes are fingered as is wanted, and of how many something is wanted."""
    found = finger_round(one.bare, box, tables).notes
    both = [(pin, note) for pin, note in zip(one.wanted, found, strict=True) if pin is not None]
    met = [
        pin.finger in (None, note.finger)
        and pin.row in (None, note.press.row)
        and pin.button in (None, note.press.button)
        and pin.bellows in (None, note.press.bellows)
        for pin, note in both
    ]
    return sum(met), len(met)


def _stepped(corrected: Sequence[Corrected], box: Box, tables: BoxTables) -> Hand:
    """The hand that meets most of what is wanted, of those that the steps pass."""
    hand = best = tables.hand
    met = _share([_met(one, box, tables) for one in corrected])
    steep = dict.fromkeys(FITTED, 1e-9)
    mean = dict.fromkeys(FITTED, 0.0)
    for turn in range(_TURNS):
        table = StateTable(box, hand)
        slopes = [_slope(one, table, tables) for one in corrected]
        slope = {name: sum(own[name] for own in slopes) for name in FITTED}
        count = sum(len(one.round.notes) for one in corrected)
        moved = {}
        for name in FITTED:
            pull = slope[name] / count
            steep[name] += pull * pull
            moved[name] = min(max(0.0, getattr(hand, name) - _STEP * pull / steep[name] ** 0.5), _MOST)
        hand = replace(hand, **moved)
        if turn >= _TURNS // 2:
            mean = {name: mean[name] + moved[name] for name in FITTED}
        if turn % 5 == 4:
            tried = [hand]
            if turn >= _TURNS // 2:
                tried.append(replace(hand, **{name: mean[name] / (turn + 1 - _TURNS // 2) for name in FITTED}))
            for other in tried:
                rounded = replace(other, **{name: round(getattr(other, name), 3) for name in FITTED})
                share = _share([_met(one, box, replace(tables, hand=rounded)) for one in corrected])
                if share > met:
                    met, best = share, rounded
    return best


def _told_apart(hand: Hand, corrected: Sequence[Corrected], box: Box, tables: BoxTables) -> Hand:
    """The hand with each cost tried by itself: back where it was, if that meets as much, or where more is met."""

    def score(tried: Hand) -> tuple[int, float]:
        met = sum(_met(one, box, replace(tables, hand=tried))[0] for one in corrected)
        return met, -sum(abs(log((getattr(tried, n) + 0.05) / (getattr(tables.hand, n) + 0.05))) for n in FITTED)

    best = score(hand)
    for _ in range(_SWEEPS):
        before = best
        for name in FITTED:
            now, first = getattr(hand, name), getattr(tables.hand, name)
            for value in dict.fromkeys(round(v, 3) for v in (first, *(k * now for k in _FACTORS), now + 0.2)):
                tried = replace(hand, **{name: value})
                if value != getattr(hand, name) and (found := score(tried)) > best:
                    best, hand = found, tried
        if best == before:
            break
    return hand


def _slope(one: Corrected, table: StateTable, tables: BoxTables) -> dict[str, float]:
    """By how much more each cost has of the tutor's way than of the way that breaks the margin most."""
    wanted = choices(one.round, table, tables.ornaments, one.pins)
    _, path = cheapest_ring(wanted.matrices)
    own = [column[state] for column, state in zip(wanted.columns, path, strict=True)]
    free = choices(one.bare, table, tables.ornaments)
    eased = replace(free, matrices=tuple(_eased(free, own)))
    _, path = cheapest_alike(one.bare.notes, eased, round(1000 * table.hand.same))
    found = [column[state] for column, state in zip(free.columns, path, strict=True)]
    more, less = _counted(own, free, table.hand), _counted(found, free, table.hand)
    return {name: more.get(name, 0.0) - less.get(name, 0.0) for name in FITTED}


def _eased(ring: Choices, own: Sequence[HandState]) -> list[Matrix]:
    """The costs with the margin taken off wherever a note differs from the tutor's."""
    off = round(1000 * _MARGIN)
    eased: list[Matrix] = []
    for step, matrix in enumerate(ring.matrices):
        after = (step + 1) % len(own)
        given = own[after]
        eased.append(
            [
                [cost - (0 if (state.finger, state.press) == (given.finger, given.press) else off) for cost in into]
                for state, into in zip(ring.columns[after], matrix, strict=True)
            ]
        )
    return eased


def _counted(way: Sequence[HandState], ring: Choices, hand: Hand) -> dict[str, float]:
    """How often a way has each cost, eased by the time that there is."""
    ones = replace(hand, **dict.fromkeys(FITTED, 1.0))
    carrying = replace(ones, further=hand.further)  # what a move in a change of finger is a part of
    counted: dict[str, float] = {}
    for index, gap in enumerate(ring.gaps):
        before, after = way[index - 1], way[index]
        parts = step_parts(before, after, gap, ones) | note_parts(after, ring.wants[index], ones)
        if "carried" in parts:
            parts["carried"] = step_parts(before, after, gap, carrying)["carried"]
        for name, cost in parts.items():
            counted[name] = counted.get(name, 0.0) + cost
    return counted
