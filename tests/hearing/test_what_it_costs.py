"""What disturbs, and what it costs: F1 against the same takes without it, on file.

`COSTS` is what may be lost, a little over what was measured (in brackets). Sampled sounds: the README of the benchmarks
says what they cannot show.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest

from companion.hearing.hear import hear
from tests.hearing import sounds
from tests.hearing.sounds import RATE, SOUNDFONTS, Place, Sound, Take, Voice, at_level, played, take
from tests.hearing.test_heard import made_tune
from tests.hearing.trials import Score, asked_of, ear_for, in_seconds

if not SOUNDFONTS["timgm"].exists() and not os.environ.get("COMPANION_NO_SKIPS"):
    pytest.skip("no sampled accordion here (Debian: timgm6mb-soundfont)", allow_module_level=True)

VOICES = (Voice("timgm", 23),)
QUAVERS = (0.167,)
LEARNT = Place(seed=5)
TUNES = (made_tune(31, 45),)
Made = tuple[Take, Sound, Place]


def melody(playing: Take, voice: Voice, bends: tuple[tuple[float, int, float], ...] = ()) -> Sound:
    """The take dry, at −20 dB."""
    return at_level(played(playing.notes, voice, playing.seconds, bends), -20.0)


def beside(make: Callable[[Take], Sound]) -> Callable[[Take, Voice], Made]:
    """Something else that sounds in the room."""
    return lambda playing, voice: (playing, melody(playing, voice) + make(playing), LEARNT)


def bellows(playing: Take, voice: Voice) -> Made:
    """The same take, its repeats in part by turning the bellows."""
    tune = [(at - 1.0, length, pitch) for at, length, pitch in playing.asked]
    turned = take(tune, seed=3, bellows=True)
    return turned, melody(turned, voice), LEARNT


def elsewhere(playing: Take, voice: Voice) -> Made:
    """The microphone further away, at another place."""
    return playing, melody(playing, voice) * 10 ** (-8 / 20), replace(LEARNT, direct=0.0, seed=55)


DISTURBED: dict[str, Callable[[Take, Voice], Made]] = {
    "nothing": lambda playing, voice: (playing, melody(playing, voice), LEARNT),
    "a foot tapping": beside(sounds.foot),
    "a click from the loudspeaker": beside(sounds.clicks),
    "talk between rounds": beside(sounds.talk),
    "a second box": beside(lambda playing: sounds.other_box(playing, in_seconds(made_tune(77), 0.22))),
    "the microphone elsewhere": elsewhere,
    "slow attacks": lambda p, voice: (p, sounds.swelled(p, melody(p, voice)), LEARNT),
    "reeds that bend": lambda p, voice: (p, melody(p, voice, tuple(sounds.bent(p))), LEARNT),
    "turning the bellows": bellows,
    "air and buttons": beside(sounds.button_noise),
}


COSTS = {
    "a foot tapping": 0.015,  # (0)
    "a click from the loudspeaker": 0.015,  # (0)
    "talk between rounds": 0.02,  # (0.006: a syllable taken for a note)
    "a second box": 0.045,  # (0.027: its notes taken for the player's)
    "the microphone elsewhere": 0.015,  # (0)
    "slow attacks": 0.015,  # (0)
    "reeds that bend": 0.03,  # (0; at half this tempo long notes seem to begin again)
    "turning the bellows": 0.03,  # (0)
    "air and buttons": 0.015,  # (0)
}


@cache
def heard_in(what: str) -> Score:
    """The takes, heard."""
    score = Score()
    for number, voice in enumerate(VOICES):
        plain = take(in_seconds(TUNES[number], QUAVERS[number]), seed=3)
        playing, dry, place = DISTURBED[what](plain, voice)
        found = hear(sounds.heard(dry, place), RATE, ear_for(voice, LEARNT, False), asked_of(playing)).notes
        score.take(playing, [(note.seconds, note.pitch) for note in found])
    return score


@pytest.mark.parametrize("what", COSTS)
def test_what_disturbs_costs_no_more_than_this(what: str) -> None:
    plain = heard_in("nothing").f1
    assert plain >= 0.98
    assert plain - heard_in(what).f1 <= COSTS[what]
