"""Why the hand moves where it does, and why a note is on the row it is on: a sentence for each.

Every reason is found by asking for the next best: the round is searched again, exactly, with that one move (or that
one button) ruled out. What the other way would have cost more of is the reason.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from companion.box.alike_bars import way_cost
from companion.box.box_tables import BoxTables
from companion.box.box_values import Fingering
from companion.box.choices import Choices, choices, table_of
from companion.box.costs import HandState, air_part, note_parts, step_parts
from companion.box.pins import Pin
from companion.box.pitch_names import name_of
from companion.box.search import FORBIDDEN, Matrix, Path, cheapest_ring
from companion.tune.tune_values import OnceThrough


@dataclass(frozen=True, slots=True)
class Reason:
    """Why one thing is as it is.

    `index` is the note of the round (for the way back into the next round: 0, with `kind` "back"); `sentence` says what
    and why; `next_best` is what the cheapest other way would cost more (less than 0 where a dearer way was taken to
    keep bars alike; None where there is no other way), and `other` what that would be.
    """

    index: int
    kind: Literal["reach", "back", "row"]
    sentence: str
    next_best: float | None
    other: str


# What the other way has more of, in words; the first that fits best is taken.
_WHY = {
    "hop": "one finger would have to hop from button to button",
    "cross": "the fingers would cross",
    "place": "the hand would move more elsewhere",
    "further": "the hand would move further elsewhere",
    "little": "the little finger would play more",
    "little_ornament": "the little finger would have an ornament to play",
    "turn": "the bellows would turn more often",
    "air": "the bellows would go on too long one way",
    "side": "more notes would be off the home row",
    "row": "the hand would change rows more often",
    "change": "a finger would have to change on a button elsewhere",
    "carried": "the hand would be carried further in a change of finger",
    "again": "one finger would have to play a quick note again",
    "stretch": "two fingers would have to stretch",
    "lean": "the fingers would lean out of their places more",
    "untapped": "a roll would have no finger free below it",
    "ring": "the ring finger would play more",
    "off": "the index finger would be off the keyboard",
}


def explain(
    round_: OnceThrough, fingering: Fingering, tables: BoxTables, pins: Iterable[Pin] = ()
) -> tuple[Reason, ...]:
    """A reason for each reach and for each note that is on more than one button, in the order of the round.

    Parameters
    ----------
    round_, fingering : a round and its fingering, of the same `tables` and `pins`.
    """
    if not fingering.notes:
        return ()
    return Explainer(round_, fingering, tables, pins).reasons()


def wondered(reasons: Iterable[Reason], most: int) -> tuple[Reason, ...]:
    """The few places where a player would wonder, in the order of the round.

    What is as it is elsewhere, though another way would be easier, comes first; then moves of the hand, then buttons;
    of each the closest choices. What comes again counts once.
    """

    def matters(reason: Reason) -> tuple[int, float]:
        dearer = reason.next_best is not None and reason.next_best < 0
        move = reason.kind != "row"
        return (0 if dearer else 1 if move else 2), abs(reason.next_best or 0.0)

    once = list({reason.sentence: reason for reason in reversed(list(reasons))}.values())
    return tuple(sorted(sorted(once, key=matters)[:most], key=lambda reason: reason.index))


class Explainer:
    """A fingering laid over the ring that it was found in, to ask what other ways there are."""

    def __init__(self, round_: OnceThrough, fingering: Fingering, tables: BoxTables, pins: Iterable[Pin]) -> None:
        self.notes, self.fingering, self.hand = round_.notes, fingering, tables.hand
        self.signature = round_.signature
        self.ring: Choices = choices(round_, table_of(fingering.box, tables.hand), tables.ornaments, pins)
        self.path: Path = [
            next(
                i for i, s in enumerate(column) if (s.press, s.finger, s.place) == (note.press, note.finger, note.place)
            )
            for column, note in zip(self.ring.columns, fingering.notes, strict=True)
        ]
        self.cost = way_cost(self.ring.matrices, self.path)

    def state(self, index: int, path: Path) -> HandState:
        return self.ring.columns[index][path[index]]

    def reasons(self) -> tuple[Reason, ...]:
        found = []
        for index, note in enumerate(self.fingering.notes):
            reach = note.reach if index else self.fingering.back_reach
            if reach:
                found.append(self._reach(index, reach))
            if len({state.press for state in self.ring.columns[index]}) > 1:
                found.append(self._row(index))
        return tuple(found)

    def _reach(self, index: int, reach: int) -> Reason:
        """The reason for the move before a note."""
        step = index - 1  # the step into this note; -1 is the last one, back to the beginning
        come, go = self.ring.columns[step], self.ring.columns[index]
        before, after = self.state(step, self.path), self.state(index, self.path)
        allowed = [[b.place - a.place != reach for a in come] for b in go]
        cost, path = self.without(step, allowed)
        direction = "up" if reach > 0 else "down"
        where = self._where(index)
        places = "one button" if abs(reach) == 1 else f"{abs(reach)} buttons"
        head = f"{where}: the hand moves {direction} {places}, to finger {after.finger} on {button_name(after)}"
        how = self._how(index, before, after)
        other = ""
        if path is not None:
            moved = self.state(index, path).place - self.state(step, path).place
            ways = _ways(self.state(step, path), self.state(index, path))
            other = f"{'staying in place' if moved == 0 else _moving(moved)}, {ways}"
        return self._reason(index, "reach" if index else "back", f"{head}{how}", cost, path, other)

    def _row(self, index: int) -> Reason:
        """The reason for the button of a note that is on more than one."""
        chosen = self.state(index, self.path)
        go = self.ring.columns[index]
        come = self.ring.columns[index - 1]
        cost, path = self.without(index - 1, [[b.press != chosen.press for _ in come] for b in go])
        head = f"{self._where(index)}: {button_name(chosen)}, {chosen.press.bellows.value}"
        other = ""
        if path is not None:
            instead = self.state(index, path)
            other = f"{button_name(instead)}, {instead.press.bellows.value}"
        return self._reason(index, "row", head, cost, path, other)

    def _reason(
        self, index: int, kind: Literal["reach", "back", "row"], head: str, cost: int, path: Path | None, other: str
    ) -> Reason:
        if path is None:
            return Reason(index, kind, f"{head}; you pinned it, or there is no other way.", None, "")
        more = (cost - self.cost) / 1000
        why = self._why(path)
        if more < 0:
            tail = f"kept like the same bar elsewhere; by itself {other} would cost {-more:.2f} less"
        elif more == 0:
            tail = f"{other} would be as good"
        else:
            because = f": {why}" if why else ""
            tail = f"the next best, {other}, would cost {more:.2f} more{because}"
        return Reason(index, kind, f"{head}; {tail}.", more, other)

    def without(self, step: int, allowed: Sequence[Sequence[bool]]) -> tuple[int, Path | None]:
        """The cheapest way that takes an allowed pair of states at a step: cost and states (None: there is none)."""
        step %= len(self.ring.matrices)
        matrices: list[Matrix] = list(self.ring.matrices)
        matrices[step] = [
            [cost if may else FORBIDDEN for cost, may in zip(into, row, strict=True)]
            for into, row in zip(matrices[step], allowed, strict=True)
        ]
        cost, path = cheapest_ring(matrices)
        return (cost, path) if cost < FORBIDDEN else (cost, None)

    def _why(self, path: Path) -> str:
        """What the other way has more of than the one taken, in words."""
        more: Counter[str] = Counter()
        for index in range(len(path)):
            if path[index] != self.path[index] or path[index - 1] != self.path[index - 1]:
                more.update(self._parts(index, path))
                more.subtract(self._parts(index, self.path))
        worst = max(_WHY, key=lambda name: more[name])
        return _WHY[worst] if more[worst] > 1e-9 else ""

    def _parts(self, index: int, path: Path) -> dict[str, float]:
        before, after = self.state(index - 1, path), self.state(index, path)
        seconds = self.ring.times.seconds(self.ring.times.lengths[index])
        return (
            step_parts(before, after, self.ring.gaps[index], self.hand)
            | note_parts(after, self.ring.wants[index], self.hand)
            | air_part(after, self.ring.drift[index], seconds, self.hand)
        )

    def _where(self, index: int) -> str:
        note = self.notes[index]
        name = f"{note.part} part, bar {note.bar}, note {name_of(note.pitch, signature=self.signature)}"
        if index == 0:
            return f"back to the start ({name})"
        before = self.notes[index - 1]
        if before.part != note.part:
            return f"from the end of the {before.part} part to the start of the {note.part} part ({name})"
        return name if before.turn == note.turn else f"back to the start of the {note.part} part ({name})"

    def _how(self, index: int, before: HandState, after: HandState) -> str:
        """What makes the move easy, in words."""
        gap = self.ring.gaps[index]
        if (before.press.row, before.press.button) == (after.press.row, after.press.button):
            if before.finger == after.finger:
                return ", the finger staying on its button"
            if before.press.bellows is after.press.bellows:
                return f", as finger {after.finger} takes over from {before.finger} on the repeated note"
            return f", as finger {after.finger} takes over from {before.finger} while the bellows turn on one button"
        if gap.seconds > self.hand.quick:
            much = "time for it" if gap.seconds >= self.hand.slow else "a little time for it"
            return f", with {much} {'after the longer note' if self._held(index) else 'in the rest'}"
        return ", where a phrase starts" if gap.phrase else ""

    def _held(self, index: int) -> bool:
        """Whether the time before a note is that of a long note rather than of a rest."""
        length = self.ring.times.seconds(self.ring.times.lengths[index - 1])
        return length > self.hand.quick


def button_name(state: HandState) -> str:
    """The button of a state: "C row, button 5"."""
    return f"{state.press.row} row, button {state.press.button}"


def _moving(places: int) -> str:
    return f"moving {'up' if places > 0 else 'down'} {abs(places)}"


def _ways(before: HandState, after: HandState) -> str:
    return f"finger {before.finger} on {button_name(before)} and then {after.finger} on {button_name(after)}"
