"""How the player wants the window to look, whatever is on it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Facing(StrEnum):
    """From where the keyboard is seen.

    PLAYER: as the player sees it looking down, the chin end to the left, the outer row at the top. MIRRORED: as in a
    mirror. PUPIL: as someone sees it who sits facing the player.
    """

    PLAYER = "player"
    MIRRORED = "mirrored"
    PUPIL = "pupil"


@dataclass(frozen=True, slots=True)
class Look:
    """What the player chose.

    Parameters
    ----------
    facing : from where the keyboard is seen.
    left_handed : the box is built the other way round, for a left-handed player.
    text : size of the text beside the usual one, 1.0 to 1.4.
    reduced_motion : pages turn at once instead of sliding.
    names : the name of the note now stands beside its finger and on its button.
    staff : the piece stands in notes above the bellows line.
    language : a table of `config/words.toml`.
    """

    facing: Facing = Facing.PLAYER
    left_handed: bool = False
    text: float = 1.0
    reduced_motion: bool = False
    names: bool = False
    staff: bool = False
    language: str = "en"

    @property
    def chin_right(self) -> bool:
        """Whether button 1 is drawn at the right."""
        return (self.facing is not Facing.PLAYER) != self.left_handed

    @property
    def outer_below(self) -> bool:
        """Whether the outer row is drawn below the inner one."""
        return self.facing is Facing.PUPIL
