"""What a player may set about the sound: `config/sound.toml` as values.

Keys that a player's own file leaves out keep theirs.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from companion.places import shipped, table
from companion.toml_file import read_toml


@dataclass(frozen=True, slots=True)
class ScoreSettings:
    """The `[score]` table: how notes are cut, graced and stressed. Seconds, shares of a note, MIDI velocities."""

    gap_s: float
    repeat_gap_s: float
    gap_share: float
    staccato: float
    grace_s: float
    grace_share: float
    velocity: int
    accent: int
    beat: int
    left: int
    left_share: float


@dataclass(frozen=True, slots=True)
class VoiceSettings:
    """The `[voices]` table: the soundfont and which of its programs plays what, how far a take lies apart (0 to 1)."""

    soundfont: str
    melody: int
    bass: int
    chord: int
    click: int
    take: int
    apart: float
    release_s: float


@dataclass(frozen=True, slots=True)
class SpeakerSettings:
    """The `[speaker]` table: the device's buffer in frames, and the fade of a stop in seconds."""

    frames: int
    fade_s: float


@dataclass(frozen=True, slots=True)
class KeptSettings:
    """The `[kept]` table: of how many sessions without a sound device what they left stays; 0 for all."""

    sessions: int


@dataclass(frozen=True, slots=True)
class SoundSettings:
    """All of them."""

    score: ScoreSettings
    voices: VoiceSettings
    speaker: SpeakerSettings
    kept: KeptSettings


def sound_settings() -> SoundSettings:
    """Read the settings, the player's own where there are any.

    Raises
    ------
    UserError : the file is not TOML, or a value is not of the kind that it should be.
    """
    given, ours = read_toml(table("sound.toml")), read_toml(shipped("config", "sound.toml"))
    return SoundSettings(
        given.section(ScoreSettings, "score", least=0, default=ours.section(ScoreSettings, "score")),
        given.section(VoiceSettings, "voices", least=0, default=ours.section(VoiceSettings, "voices")),
        given.section(SpeakerSettings, "speaker", least=0, default=ours.section(SpeakerSettings, "speaker")),
        given.section(KeptSettings, "kept", least=0, default=ours.section(KeptSettings, "kept")),
    )


def soundfont_path(voices: VoiceSettings) -> Path:
    """Where the soundfont is: a name without a folder is one of those that come with the program."""
    named = Path(voices.soundfont).expanduser()
    return named if named.is_absolute() or len(named.parts) > 1 else shipped("soundfonts", voices.soundfont)
