"""Which notes a player can really play for an ornament, with which fingers, in one direction of the bellows.

The cut and the tap are taken from the buttons that sound in the direction in which the note goes: the next note of the
scale where it is there, else the next best. A finger must be free on that side of the note: above it for a cut, below
it for a tap. Where one is not, the nearest ornament that can be played stands in, and the reason is said.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from companion.box.box_values import Bellows, Box, Fingered, Press
from companion.box.costs import FINGERS, FingerNeeds, HandState, states_of
from companion.box.pitch_names import name_of
from companion.toml_file import TomlFile, read_toml

_KINDS = {"N", "U", "V", "L"}
_SIDES = {"U": "above", "V": "above", "L": "below"}
_STEP = 2  # semitones of the widest step of a scale


@dataclass(frozen=True, slots=True)
class Ornament:
    """One ornament of `config/ornaments.toml`: what is played, for which names, and what stands in for it."""

    name: str
    notes: tuple[str, ...]
    names: tuple[str, ...]
    long: float
    instead: str
    means: str


@dataclass(frozen=True, slots=True)
class OrnamentTable:
    """All ornaments, and how far their notes may lie (semitones above and below, buttons of stretch)."""

    ornaments: tuple[Ornament, ...]
    above: int
    below: int
    stretch: float

    @property
    def names(self) -> frozenset[str]:
        """All that a tune may call an ornament."""
        return frozenset(name for ornament in self.ornaments for name in ornament.names)

    def named(self, name: str) -> Ornament:
        """The ornament of a name in the table."""
        return next(ornament for ornament in self.ornaments if ornament.name == name)

    def asked(self, mark: str, length: float) -> Ornament | None:
        """The ornament that a mark of a tune asks for on a note of that length (whole notes); None if it is none."""
        fitting = [o for o in self.ornaments if mark in o.names and length >= o.long]
        return max(fitting, key=lambda o: o.long, default=None)


@dataclass(frozen=True, slots=True)
class OrnamentNote:
    """One note of an ornament: what it is ("N" the note, "U" or "V" above, "L" below), its pitch, press and finger."""

    role: str
    pitch: int
    press: Press
    finger: int


@dataclass(frozen=True, slots=True)
class OrnamentPlayed:
    """An ornament as it can be played.

    `asked` and `played` are names of the table; they differ where something stands in, and `reason` then says why.
    `reason` also says where a note outside the scale or a skip had to be taken; it is "" where nothing is to be said.
    """

    asked: str
    played: str
    touches: tuple[OrnamentNote, ...]
    reason: str


def read_ornaments(path: Path) -> OrnamentTable:
    """Read the table of ornaments. Raises `UserError` where it is broken, with its line and what to do."""
    file = read_toml(path)
    ornaments = tuple(_ornament(file, name) for name in file.data if name != "reach")
    table = OrnamentTable(
        ornaments,
        file.count("reach", "above", least=0),
        file.count("reach", "below", least=0),
        file.number("reach", "stretch", least=0),
    )
    known = {ornament.name for ornament in ornaments}
    for ornament in ornaments:
        seen = [ornament.name]
        while (instead := table.named(seen[-1]).instead) and instead in known and instead not in seen:
            seen.append(instead)
        if instead:
            raise file.wrong(f"what stands in for “{seen[-1]}” leads nowhere; correct its `else`", seen[-1], "else")
    return table


def _ornament(file: TomlFile, name: str) -> Ornament:
    """One table of the file."""
    entry = file.table(name)
    notes = tuple(file.string(name, "notes").split())
    if not notes or set(notes) - _KINDS:
        raise file.wrong(f"the notes of “{name}” must be made of N, U, V and L; correct them", name, "notes")
    return Ornament(
        name,
        notes,
        tuple(file.string(*one) for one in file.each(name, "names")),
        file.number(name, "long", least=0) if "long" in entry else 0.0,
        file.string(name, "else") if "else" in entry else "",
        file.string(name, "means"),
    )


def wanted(marks: Collection[str], length: float, table: OrnamentTable) -> FingerNeeds:
    """On which sides of a note the ornaments of its marks need a finger; `length` in whole notes."""
    notes = {role for mark in marks if (asked := table.asked(mark, length)) is not None for role in asked.notes}
    return FingerNeeds("U" in notes, "L" in notes)


def ornament_of(note: Fingered, box: Box, scale: Collection[int], table: OrnamentTable) -> tuple[OrnamentPlayed, ...]:
    """What to play for each ornament mark on a note.

    Parameters
    ----------
    note : a fingered note; marks that are no ornaments are passed over.
    box : its box.
    scale : the pitch classes of the tune (0 is C), from which cuts and taps are taken where they can be.
    table : the ornaments.
    """
    found = []
    for mark in dict.fromkeys(note.note.ornaments):
        asked = table.asked(mark, float(note.note.length))
        if asked is not None:
            found.append(_played(asked, note, box, scale, table))
    return tuple(found)


def _played(asked: Ornament, note: Fingered, box: Box, scale: Collection[int], table: OrnamentTable) -> OrnamentPlayed:
    """The ornament, or what stands in for it."""
    why: list[str] = []
    ornament = asked
    while True:
        touches, reason = _touches(ornament, note, box, scale, table)
        if touches:
            break
        why.append(f"the {ornament.name} cannot be played: {reason}")
        if not ornament.instead:
            return OrnamentPlayed(asked.name, "plain", (_itself(note),), f"{'; '.join(why)}; play the note plain")
        ornament = table.named(ornament.instead)
    words = [*why, f"instead: {ornament.name}" if why else "", reason]
    return OrnamentPlayed(asked.name, ornament.name, touches, "; ".join(word for word in words if word))


def _itself(note: Fingered) -> OrnamentNote:
    return OrnamentNote("N", note.note.pitch, note.press, note.finger)


def _touches(
    ornament: Ornament, note: Fingered, box: Box, scale: Collection[int], table: OrnamentTable
) -> tuple[tuple[OrnamentNote, ...], str]:
    """The notes of an ornament with a remark, or no notes and why not."""
    if set(ornament.notes) == {"N"}:
        return _treble(ornament, note), ""
    roles: dict[str, OrnamentNote] = {"N": _itself(note)}
    remarks = []
    for role in ("U", "V", "L"):
        if role not in ornament.notes:
            continue
        taken = {touch.pitch for touch in roles.values()}
        near = neighbours(note.note.pitch, note.press, box, scale, _SIDES[role], table)
        choices = [pitch for pitch in near if pitch not in taken]
        if not choices:
            which = "no other note" if role == "V" else "no note"
            name, way = name_of(note.note.pitch), note.press.bellows.value
            return (), f"{which} close enough {_SIDES[role]} {name} is on the {way}"
        touch = next((t for pitch in choices if (t := _in_hand(role, pitch, note, box, table))), None)
        if touch is None:
            return (), f"finger {note.finger} leaves no finger free {_SIDES[role]} it"
        roles[role] = touch
        remarks.append(_remark(note, touch, scale))
    return tuple(roles[role] for role in ornament.notes), "; ".join(remark for remark in remarks if remark)


def _treble(ornament: Ornament, note: Fingered) -> tuple[OrnamentNote, ...]:
    """The note again and again on one button, two fingers by turns."""
    other = note.finger + 1 if note.finger < FINGERS[-1] - 1 else note.finger - 1
    fingers = (note.finger, other)
    return tuple(
        OrnamentNote("N", note.note.pitch, note.press, fingers[index % 2]) for index in range(len(ornament.notes))
    )


def neighbours(
    pitch: int, press: Press, box: Box, scale: Collection[int], side: str, table: OrnamentTable
) -> list[int]:
    """The pitches above or below a note that sound in its direction and lie close enough, the best first.

    A step of the scale comes first, then other notes of the scale, then any, the nearer the better.
    """
    low, high = (pitch + 1, pitch + table.above) if side == "above" else (pitch - table.below, pitch - 1)
    here = [p for p in _sounding(box, press.bellows) if low <= p <= high]
    return sorted(here, key=lambda p: (p % 12 not in scale, abs(p - pitch) > _STEP, abs(p - pitch)))


def _sounding(box: Box, bellows: Bellows) -> set[int]:
    """All pitches that a direction has."""
    sides = [row.push if bellows is Bellows.PUSH else row.pull for row in box.rows]
    return {pitch for side in sides for pitch in side if pitch is not None}


@lru_cache(maxsize=16)
def _states(box: Box) -> dict[int, tuple[HandState, ...]]:
    return states_of(box)


def _in_hand(role: str, pitch: int, note: Fingered, box: Box, table: OrnamentTable) -> OrnamentNote | None:
    """The button and finger for a neighbour with the hand where it is, None where no finger gets there."""
    main = next(s for s in _states(box)[note.note.pitch] if s.press == note.press and s.finger == note.finger)
    best: tuple[float, int, HandState] | None = None
    for state in _states(box)[pitch]:
        if state.press.bellows is not note.press.bellows or state.finger == note.finger:
            continue
        along, spread = state.x - main.x, state.finger - main.finger
        stretch = abs(along - spread)
        if along * spread <= 0 or stretch > table.stretch:
            continue
        candidate = (stretch, state.finger, state)
        if best is None or candidate[:2] < best[:2]:
            best = candidate
    return OrnamentNote(role, pitch, best[2].press, best[2].finger) if best is not None else None


def _remark(note: Fingered, touch: OrnamentNote, scale: Collection[int]) -> str:
    """What is to be said of a neighbour that is not the next note of the scale."""
    side, name, way = _SIDES[touch.role], name_of(touch.pitch), touch.press.bellows.value
    if touch.pitch % 12 not in scale:
        return f"{name} {side}, outside the scale: no note of it is at hand there on the {way}"
    if abs(touch.pitch - note.note.pitch) > _STEP:
        return f"{name} {side}, a skip: the next note of the scale is not at hand on the {way}"
    return ""


def scale_of(signature: Collection[tuple[str, int]]) -> frozenset[int]:
    """The pitch classes of a key signature, as in `Key.signature`."""
    letters = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
    changes = dict(signature)
    return frozenset((step + changes.get(letter, 0)) % 12 for letter, step in letters.items())
