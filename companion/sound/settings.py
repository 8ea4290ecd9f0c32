"""What a player may set about the sound: `config/sound.toml` as values.

Keys that a player's own file leaves out keep theirs.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any, TypeVar

from companion.errors import Place, UserError
from companion.places import shipped, table

_Table = TypeVar("_Table", "ScoreSettings", "VoiceSettings", "SpeakerSettings")


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
class SoundSettings:
    """All of them."""

    score: ScoreSettings
    voices: VoiceSettings
    speaker: SpeakerSettings


def sound_settings() -> SoundSettings:
    """Read the settings, the player's own where there are any.

    Raises
    ------
    UserError : the file is not TOML, or a value is not of the kind that it should be.
    """
    path = table("sound.toml")
    given, ours = _toml(path), _toml(shipped("config", "sound.toml"))
    return SoundSettings(
        _table(ScoreSettings, "score", path, given, ours),
        _table(VoiceSettings, "voices", path, given, ours),
        _table(SpeakerSettings, "speaker", path, given, ours),
    )


def soundfont_path(voices: VoiceSettings) -> Path:
    """Where the soundfont is: a name without a folder is one of those that come with the program."""
    named = Path(voices.soundfont).expanduser()
    return named if named.is_absolute() or len(named.parts) > 1 else shipped("soundfonts", voices.soundfont)


def _toml(path: Path) -> dict[str, Any]:
    try:
        with path.open("rb") as file:
            return tomllib.load(file)
    except OSError as error:
        raise UserError("the sound settings cannot be read; restore the file.", Place(path)) from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise UserError(f"these sound settings are not TOML: {error}.", Place(path)) from error


def _table(kind: type[_Table], name: str, path: Path, given: dict[str, Any], ours: dict[str, Any]) -> _Table:
    own = given.get(name, {})
    if not isinstance(own, dict):
        raise UserError(f"{name} should be a table, [{name}].", Place(path))
    values: dict[str, Any] = {}
    for field in fields(kind):
        default = ours[name][field.name]
        value = own.get(field.name, default)
        number = isinstance(value, (int, float)) and not isinstance(value, bool)
        if isinstance(default, float) and number and value >= 0:
            values[field.name] = float(value)
        elif type(value) is type(default) and (not number or value >= 0):
            values[field.name] = value
        else:
            raise UserError(f"[{name}] {field.name} should be like {default!r}, not {value!r}.", Place(path))
    return kind(**values)
