"""What you ask for with no hand free, found in what the instrument sends. Pure: events and times in.

A pedal acts when it goes down, once, however its value then moves; one that can be left anywhere sets the tempo. A
button of the box acts when it has been held for longer than the round asks. Neither is a note: a pedal never was one,
and a button that is held is watched from the moment it is longer down than asked (`holding`), so that the round it
falls into can wait to be judged.
"""

from __future__ import annotations

from collections.abc import Callable

from companion.input.events import Event, EventKind
from companion.screen.actions import Action, ChosenTempo
from companion.screen.pedal_table import PedalTable

DOWN = 64  # MIDI 1.0 Detailed Specification: a switch is off below 64, on from 64
TEMPI = (40.0, 110.0)  # per cent of the tune's tempo, at the two ends of a pedal that can be left anywhere
MOST = 127  # MIDI 1.0: a controller's highest value
DOUBT = 0.5  # seconds longer than asked, after which a note that sounds on may be meant as a held button

Asked = Callable[[int], float]
"""How many seconds the round asks of a pitch at most; 0 where it does not ask for it."""


class Pedals:
    """Keeps which pedals are down and which notes sound."""

    def __init__(self, feet: PedalTable) -> None:
        self.feet = feet
        self._down: set[tuple[int, int]] = set()
        self._sounding: dict[tuple[int, int], float] = {}

    def take(self, event: Event) -> Action | ChosenTempo | None:
        """Take one event of the instrument's; what it asks for."""
        if event.what is EventKind.CONTROL and event.control in self.feet.tempo:
            slow, fast = TEMPI
            return ChosenTempo(round(slow + (fast - slow) * event.velocity / MOST))
        if event.what is EventKind.CONTROL:
            return self._pedal((event.channel, event.control), event.velocity >= DOWN)
        if event.what is EventKind.SILENCE:
            self._sounding.clear()
            self._down.clear()
        elif event.what is EventKind.ON:
            # If you play on, you hold nothing: only the last note can be meant as a held button.
            self._sounding = {key: since for key, since in self._sounding.items() if key[0] != event.channel}
            self._sounding[event.channel, event.pitch] = event.stamp
        else:
            self._sounding.pop((event.channel, event.pitch), None)
        return None

    def held(self, now: float, asked: Asked) -> Action | None:
        """What a button that has been held for long enough asks for; it does so once."""
        if not self.feet.seconds:
            return None
        for key, since in self._sounding.items():
            if now - since >= self.feet.seconds + asked(key[1]):
                del self._sounding[key]
                return self.feet.held
        return None

    def holding(self, now: float, asked: Asked) -> bool:
        """Whether a button has been down for so long that it may be meant so."""
        doubt = min(DOUBT, self.feet.seconds)
        return bool(self.feet.seconds) and any(
            now - since >= doubt + asked(pitch) for (_, pitch), since in self._sounding.items()
        )

    def let_go(self) -> None:
        """Forget what sounds: it is of no meaning on the page that is open."""
        self._sounding.clear()

    def _pedal(self, which: tuple[int, int], down: bool) -> Action | None:
        was = which in self._down
        (self._down.add if down else self._down.discard)(which)
        return self.feet.controls.get(which[1]) if down and not was else None
