"""Makers of sound for the tests of hearing: sampled accordions, rooms, microphones, and what a player does.

The accordions are those of free General MIDI soundfonts (Debian: timgm6mb-soundfont, csound-soundfont,
fluid-soundfont-gm), programs 21 to 23 counted from 0, played by FluidSynth without its effects. What they cannot show:
how a reed's sound hangs on the pressure of the bellows, and air and button noise; `Playing` models some of it.

Conventions: sound is float32 of shape (frames,) at RATE; seconds from its beginning; levels in decibels.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Sound = NDArray[np.float32]
RATE = 44100
SOUNDFONTS = {
    "timgm": Path("/usr/share/sounds/sf2/TimGM6mb.sf2"),
    "csound": Path("/usr/share/sounds/sf2/sf_GMbank.sf2"),
    "fluid": Path("/usr/share/sounds/sf2/FluidR3_GM.sf2"),
}


@dataclass(frozen=True)
class Note:
    """A note that is really played: seconds, pitch, MIDI velocity."""

    start: float
    end: float
    pitch: int
    velocity: int = 90


@dataclass(frozen=True)
class Voice:
    """Which sampled accordion, and how its reeds are tuned: `wet` cents between two of them, `octaves` beside them."""

    font: str = "timgm"
    program: int = 21
    wet: float = 0.0
    octaves: tuple[int, ...] = ()


@dataclass(frozen=True)
class Place:
    """A room and a microphone: reverberation time (s), direct sound over reverberation and over noise (dB)."""

    reverb: float = 0.4
    direct: float = 3.0
    noise: float = 30.0
    microphone: bool = True
    seed: int = 0


@cache
def _synth(font: str):  # type: ignore[no-untyped-def]
    import fluidsynth

    synth = fluidsynth.Synth(samplerate=float(RATE), gain=0.3)
    synth.setting("synth.reverb.active", 0)
    synth.setting("synth.chorus.active", 0)
    synth.setting("synth.polyphony", 256)
    return synth, synth.sfload(str(SOUNDFONTS[font]))


def played(
    notes: Sequence[Note], voice: Voice, seconds: float, bends: Sequence[tuple[float, int, float]] = ()
) -> Sound:
    """The notes as the accordion sounds them, dry; `bends`: (seconds, channel, cents) beside the wet tuning."""
    synth, bank = _synth(voice.font)
    synth.system_reset()
    layers = [(shift, cents) for shift in (0, *voice.octaves) for cents in ((0.0, voice.wet) if voice.wet else (0.0,))]
    for channel, (_, cents) in enumerate(layers):
        synth.program_select(channel, bank, 0, voice.program)
        synth.pitch_bend(channel, round(cents / 200 * 8192))
    events: list[tuple[float, int, int, int, int]] = []
    for note in notes:
        for channel, (shift, _) in enumerate(layers):
            events.append((note.start, 1, channel, note.pitch + shift, note.velocity - (12 if shift else 0)))
            events.append((note.end, 0, channel, note.pitch + shift, 0))
    events += [(at, 2, channel, 0, round(cents / 200 * 8192)) for at, channel, cents in bends]
    events.sort(key=lambda event: (event[0], event[1]))
    parts, now = [], 0
    for at, kind, channel, pitch, value in events:
        frame = round(at * RATE)
        if frame > now:
            parts.append(synth.get_samples(frame - now))
            now = frame
        if kind == 1:
            synth.noteon(channel, pitch, value)
        elif kind == 0:
            synth.noteoff(channel, pitch)
        else:
            synth.pitch_bend(channel, value)
    rest = round(seconds * RATE) - now
    if rest > 0:
        parts.append(synth.get_samples(rest))
    both = np.concatenate(parts).reshape(-1, 2).astype(np.float32) / 32768
    synth.system_reset()
    mono: Sound = both.mean(1)[: round(seconds * RATE)]
    return mono


def level(sound: Sound) -> float:
    """Its root mean square where it sounds, in decibels of full scale."""
    power = sound[np.abs(sound) > 1e-4].astype(np.float64) ** 2
    return 10 * np.log10(power.mean()) if len(power) else -120.0


def at_level(sound: Sound, decibels: float) -> Sound:
    """The sound made as loud as that."""
    louder: Sound = (sound * 10 ** ((decibels - level(sound)) / 20)).astype(np.float32)
    return louder


def room(place: Place) -> Sound:
    """The impulse response: the direct sound, and a noise that dies away by 60 dB in the reverberation time."""
    if not place.reverb:
        return np.ones(1, np.float32)
    rng = np.random.default_rng(place.seed + 1000)
    n = round(place.reverb * 1.2 * RATE)
    tail = rng.standard_normal(n) * 10 ** (-3 * np.arange(n) / (place.reverb * RATE))
    tail[: round(0.002 * RATE)] = 0
    tail *= 10 ** (-place.direct / 20) / np.sqrt((tail**2).sum())
    tail[0] = 1.0
    return tail.astype(np.float32)


def convolved(sound: Sound, response: Sound) -> Sound:
    """The sound through a response, as long as before."""
    n = 1 << (len(sound) + len(response)).bit_length()
    out = np.fft.irfft(np.fft.rfft(sound, n) * np.fft.rfft(response, n), n)[: len(sound)]
    return out.astype(np.float32)


def heard(sound: Sound, place: Place, beside: Sound | None = None) -> Sound:
    """What the microphone gives: the room, noise, 140 to 8,500 Hz, a slow compressor and soft clipping."""
    rng = np.random.default_rng(place.seed)
    wet = convolved(sound, room(place))
    if beside is not None:
        wet = wet + beside
    hum = rng.standard_normal(len(wet))
    spectrum = np.fft.rfft(hum)
    spectrum /= np.maximum(1, np.sqrt(np.arange(len(spectrum)) * RATE / len(wet) / 200))
    hum = np.fft.irfft(spectrum, len(wet))
    hum *= 10 ** ((level(wet) - place.noise) / 20) / np.sqrt((hum**2).mean())
    wet = (wet + hum).astype(np.float32)
    if not place.microphone:
        return wet
    frequencies = np.fft.rfftfreq(len(wet), 1 / RATE)
    band = 1 / np.sqrt(1 + (140 / np.maximum(frequencies, 1)) ** 4) / np.sqrt(1 + (frequencies / 8500) ** 8)
    wet = np.fft.irfft(np.fft.rfft(wet) * band, len(wet))
    return np.tanh(2 * _compressed(wet) / 2).astype(np.float32)


def _compressed(sound: NDArray[np.float64]) -> NDArray[np.float64]:
    hop = 441
    blocks = np.sqrt((sound[: len(sound) // hop * hop].reshape(-1, hop) ** 2).mean(1) + 1e-12)
    gains, now = [], 0.0
    for block in blocks:
        rate = 0.2 if block > now else 0.02
        now += rate * (block - now)
        gains.append((max(now, 0.01) / 0.1) ** -0.3)
    gain = np.interp(np.arange(len(sound)), np.arange(len(gains)) * hop + hop / 2, gains)
    out: NDArray[np.float64] = sound * gain
    return out


@dataclass(frozen=True)
class Take:
    """What was played, note by note, and what the tune asks: (seconds, length, pitch)."""

    asked: tuple[tuple[float, float, int], ...]
    notes: tuple[Note, ...]
    wrong: tuple[int, ...] = ()  # asked notes played wrong, by number
    missed: tuple[int, ...] = ()
    extra: tuple[int, ...] = ()  # played notes, by number, that nobody asked for
    left: tuple[Note, ...] = ()
    seconds: float = field(default=0.0)


def take(
    tune: Sequence[tuple[float, float, int]],
    *,
    seed: int,
    wrong: float = 0.0,
    missed: float = 0.0,
    extra: float = 0.0,
    timing: float = 0.010,
    low: int = 57,
    high: int = 88,
    left: bool = False,
    bellows: bool = False,
) -> Take:
    """A human playing of a tune given as (seconds, length, pitch): 10 ms of spread, and a gap of 25 to 60 ms before
    the same note again. With `bellows` a fifth of the repeats come by turning them, with a gap of 5 to 20 ms."""
    rng = np.random.default_rng(seed)
    notes: list[Note] = []
    wrongs, misses, extras = [], [], []
    starts = [at + 1.0 + rng.normal(0, timing) for at, _, _ in tune]
    for k, (_, length, pitch) in enumerate(tune):
        roll = rng.random()
        following = starts[k + 1] if k + 1 < len(tune) else starts[k] + length
        if roll < missed and 0 < k < len(tune) - 1:
            misses.append(k)
            if notes and rng.random() < 0.5:  # the note before is held on, or not
                last = notes.pop()
                notes.append(replace(last, end=following - 0.01))
            continue
        sounding = pitch
        if missed <= roll < missed + wrong:
            step = int(rng.choice([-3, -2, -1, 1, 2, 3, 4]))
            sounding = min(max(pitch + step, low), high)
            if sounding == pitch or (k + 1 < len(tune) and False):
                sounding = pitch
            if sounding != pitch:
                wrongs.append(k)
        end = following - rng.uniform(-0.005, 0.015)
        notes.append(Note(starts[k], max(end, starts[k] + 0.05), sounding, int(rng.integers(78, 104))))
        if missed + wrong <= roll < missed + wrong + extra and following - starts[k] > 0.12:
            middle = starts[k] + (following - starts[k]) * rng.uniform(0.4, 0.6)
            other = min(max(pitch + int(rng.choice([-4, -2, 2, 3, 5])), low), high)
            notes[-1] = replace(notes[-1], end=middle - 0.005)
            extras.append(len(notes))
            notes.append(Note(middle, max(end, middle + 0.05), other, 90))
    for k in range(len(notes) - 1):
        if notes[k].pitch == notes[k + 1].pitch:
            gap = rng.uniform(0.025, 0.060)
            if bellows and rng.random() < 0.2:
                gap = rng.uniform(0.005, 0.020)
            notes[k] = replace(notes[k], end=max(notes[k + 1].start - gap, notes[k].start + 0.03))
    return Take(
        tuple((at + 1.0, length, pitch) for at, length, pitch in tune),
        tuple(notes), tuple(wrongs), tuple(misses), tuple(extras),
        _left_hand(tune, rng) if left else (), (tune[-1][0] + tune[-1][1]) + 2.2,
    )  # fmt: skip


def _left_hand(tune: Sequence[tuple[float, float, int]], rng: np.random.Generator) -> tuple[Note, ...]:
    """A bass and a chord, in turn, four tenths of a second apart."""
    notes = []
    at, turn = 1.0, 0
    while at < tune[-1][0] + 1.0:
        root = (38, 43, 45)[(turn // 4) % 3]
        for pitch in (root,) if turn % 2 == 0 else (root + 12, root + 16, root + 19):
            begin = max(0.0, at + rng.normal(0, 0.008))
            notes.append(Note(begin, begin + 0.25, pitch, 90))
        at, turn = at + 0.4, turn + 1
    return tuple(notes)


LEFT = ((38,), (50, 54, 57), (43,), (55, 59, 62), (45,), (57, 61, 64))


def left_voice(voice: Voice) -> Voice:
    """The left hand's reeds: the same, without wet tuning and octaves."""
    return replace(voice, wet=0.0, octaves=())


def sound_of(playing: Take, voice: Voice, place: Place, *, left_db: float = -4.0, beside: Sound | None = None) -> Sound:
    """A take as the microphone gives it; the melody at −20 dB of full scale before the room. `beside`: what else sounds
    there, as it comes to the microphone."""
    dry = at_level(played(playing.notes, voice, playing.seconds), -20.0)
    if playing.left:
        dry = dry + at_level(played(playing.left, left_voice(voice), playing.seconds), -20.0 + left_db)
    return heard(dry, place, beside)


def lesson_of(
    voice: Voice, place: Place, pitches: Sequence[int] = range(57, 89), *, left: bool = False, each: float = 0.7,
    rest: float = 0.5, left_db: float = -4.0,
) -> Sound:  # fmt: skip
    """Each note once, in order, as an ear learns it; then the left hand's."""
    notes = [Note(0.6 + k * (each + rest), 0.6 + k * (each + rest) + each, p, 90) for k, p in enumerate(pitches)]
    end = 0.6 + len(notes) * (each + rest)
    total = end + (len(LEFT) * (each + rest) if left else 0.0) + 0.3
    dry = at_level(played(notes, voice, total), -20.0)
    if left:
        begin = [end + k * (each + rest) for k in range(len(LEFT))]
        hands = [Note(at, at + each, p, 90) for at, chord in zip(begin, LEFT, strict=True) for p in chord]
        dry = dry + at_level(played(hands, left_voice(voice), total), -20.0 + left_db)
    return heard(dry, replace(place, seed=place.seed))


def playback_of(playing: Take, place: Place, decibels: float, *, first: float = 0.0) -> tuple[Sound, Sound]:
    """The tune as the program plays it along, and that as it comes to the microphone: `decibels` under the melody, late
    by 40 ms, by another way through the room. `first`: seconds of the take before the player's first note."""
    notes = [Note(at + first, at + first + 0.95 * length, pitch) for at, length, pitch in playing.asked]
    clean = at_level(played(notes, Voice("timgm", 20), playing.seconds + first), -20.0)
    way = replace(place, direct=1.0, seed=place.seed + 77)
    came = convolved(np.concatenate([np.zeros(round(0.040 * RATE), np.float32), clean])[: len(clean)], room(way))
    return clean, at_level(came, -20.0 + decibels)


# What disturbs. Each gives a sound as long as the take's, in front of the room, or another take.


def foot(playing: Take, decibels: float = -10.0, seed: int = 0) -> Sound:
    """A foot on every beat of half a second: thumps of 60 to 90 Hz that die away in a tenth of a second."""
    rng = np.random.default_rng(seed)
    out = np.zeros(round(playing.seconds * RATE), np.float32)
    at = np.arange(round(0.12 * RATE)) / RATE
    for beat in np.arange(1.0, playing.seconds - 0.3, 0.5):
        thump = np.sin(2 * np.pi * rng.uniform(60, 90) * at) + 0.2 * rng.standard_normal(len(at)) * np.exp(-at / 0.004)
        first = round((beat + rng.normal(0, 0.015)) * RATE)
        out[first : first + len(at)] += (thump * np.exp(-at / 0.03)).astype(np.float32)
    return at_level(out, -20.0 + decibels)


def clicks(playing: Take, decibels: float = -10.0) -> Sound:
    """A click on every beat, as a loudspeaker gives it: 12 ms of 1,500 Hz."""
    out = np.zeros(round(playing.seconds * RATE), np.float32)
    at = np.arange(round(0.012 * RATE)) / RATE
    click = (np.sin(2 * np.pi * 1500 * at) * np.exp(-at / 0.004)).astype(np.float32)
    for beat in np.arange(1.04, playing.seconds - 0.3, 0.5):
        first = round(beat * RATE)
        out[first : first + len(click)] += click
    return at_level(out, -20.0 + decibels)


def talk(playing: Take, decibels: float = -6.0, seed: int = 0) -> Sound:
    """Syllables before the first note and after the last: a voice of 120 Hz with breath, through moving formants."""
    rng = np.random.default_rng(seed)
    out = np.zeros(round(playing.seconds * RATE), np.float32)
    first, last = playing.notes[0].start, playing.notes[-1].end
    for begin, end in ((0.1, first - 0.15), (last + 0.2, playing.seconds - 0.1)):
        now = begin
        while now + 0.12 < end:
            length = min(rng.uniform(0.12, 0.25), end - now)
            at = np.arange(round(length * RATE)) / RATE
            phase = 120 * at * rng.uniform(0.85, 1.2)
            source = 2 * (phase % 1) - 1 + 0.3 * rng.standard_normal(len(at))
            spectrum, hertz = np.fft.rfft(source), np.fft.rfftfreq(len(at), 1 / RATE)
            formants = (rng.uniform(300, 750), rng.uniform(900, 2200), 2600.0)
            gain = sum(1 / (1 + ((hertz - middle) / 90) ** 2) for middle in formants)
            made = np.fft.irfft(spectrum * gain, len(at)) * np.hanning(len(at))
            place = round(now * RATE)
            out[place : place + len(at)] += made.astype(np.float32)
            now += length + rng.uniform(0.03, 0.1)
    return at_level(out, -20.0 + decibels)


def button_noise(playing: Take, decibels: float = -10.0, seed: int = 0) -> Sound:
    """A clack of 15 ms at the beginning and, softer, at the end of each note; air all along, 14 dB under the clacks."""
    rng = np.random.default_rng(seed)
    frames = round(playing.seconds * RATE)
    out = np.zeros(frames)
    shape = np.exp(-np.arange(round(0.015 * RATE)) / (0.004 * RATE))
    for note in playing.notes:
        for moment, loud in ((note.start - 0.005, 1.0), (note.end, 0.5)):
            first = round(moment * RATE)
            out[first : first + len(shape)] += loud * shape * rng.standard_normal(len(shape))
    air = rng.standard_normal(frames) * 10 ** ((decibels - 34.0) / 20)
    air[: round((playing.notes[0].start - 0.1) * RATE)] = 0
    made: Sound = at_level(out.astype(np.float32), -20.0 + decibels) + air.astype(np.float32)
    return made


def other_box(playing: Take, tune: Sequence[tuple[float, float, int]], decibels: float = -15.0) -> Sound:
    """A second box in the room, which plays another tune."""
    notes = [Note(at + 1.1, at + 1.1 + 0.9 * length, pitch) for at, length, pitch in tune]
    notes = [note for note in notes if note.end < playing.seconds - 0.2]
    return at_level(played(notes, Voice("csound", 23), playing.seconds), -20.0 + decibels)


def swelled(playing: Take, dry: Sound, seed: int = 0) -> Sound:
    """Slow attacks: each note swells for 30 to 80 ms."""
    rng = np.random.default_rng(seed)
    out = dry.copy()
    for note in playing.notes:
        first = round(note.start * RATE)
        frames = min(round(rng.uniform(0.03, 0.08) * RATE), round((note.end - note.start) * RATE), len(out) - first)
        out[first : first + frames] *= np.linspace(0, 1, frames, dtype=np.float32) ** 1.5
    return out


def bent(playing: Take, seed: int = 0) -> list[tuple[float, int, float]]:
    """Bends for `played`: each note goes flat by up to 20 cents in its course, as a reed under pressure."""
    rng = np.random.default_rng(seed)
    found = []
    for note in playing.notes:
        depth, length = rng.uniform(5, 20), note.end - note.start
        found += [(note.start + length * part / 6, 0, -depth * np.sin(np.pi * part / 6)) for part in range(6)]
    return found
