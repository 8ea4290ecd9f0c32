"""What a session knows, what it is told, and what it orders: values, and nothing that does anything.

`companion.session.session_machine` goes from one state to the next; `companion.session.session` tells it what happens
and carries out its orders.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from enum import Enum
from fractions import Fraction

from companion.box.box_values import Box, Press
from companion.hearing.weigh import Sounded
from companion.lesson.lesson_rules import LessonRules
from companion.marking.mark_values import Heard, Marks
from companion.playback.round_renderer import RoundSounds
from companion.practice.evening import Evening
from companion.practice.own_rounds import OwnRounds
from companion.practice.player_sitting import PlayerSitting
from companion.practice.player_state import PlayerState, RoundTask
from companion.practice.round_plan import RoundPlan, TuneInHand
from companion.screen.actions import Action, Asked
from companion.screen.look import Look
from companion.screen.page_values import BreakPage
from companion.screen.words import Say
from companion.session.round_choices import RoundChoices
from companion.session.round_in_play import RoundInPlay
from companion.sound.lift import DanceLift
from companion.store.record import RoundKept


class Mode(Enum):
    """Whether rounds follow each other, or what they wait for."""

    PLAYING = "playing"
    PAUSED = "paused"  # for the player to go on
    IDLE = "idle"  # paused by itself, since nobody played: a note goes on too
    NO_SOUND = "no sound"  # for the sound device to come back
    OVER = "over"  # for nothing: the session on this tune has ended


class Sound(Enum):
    """Whether there is a sound device."""

    THERE = "there"
    GONE = "gone"
    DONE_WITHOUT = "done without"  # it is gone, the player knows, and plays on


class Page(Enum):
    """Which kind of page lies over the practice."""

    NONE = "none"
    BREAK = "break"  # between two rounds; what sounds still ends
    OTHER = "other"  # one for which the round in play is broken off


@dataclass(frozen=True, slots=True)
class SessionSetting:
    """What does not change while one tune is practised.

    Parameters
    ----------
    words : gives a sentence by its key; `key_of` how the key of an action is shown.
    lift : the lift of the tune's dance; None where it has none.
    length : how long the sitting is to be, in seconds; None: open.
    review : the tune only comes back to be kept in memory: once through, and no more.
    """

    tune: TuneInHand
    box: Box
    rules: LessonRules
    words: Say
    key_of: Callable[[Action], str]
    length: float | None = None
    review: bool = False
    lift: DanceLift | None = None


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What the devices are now: whether there is sound, whether the demonstration plays, whether anybody can be heard,
    whether the window is seen."""

    sound: bool = True
    demonstration: bool = False
    can_hear: bool = True
    seen: bool = True


@dataclass(frozen=True, slots=True)
class SessionState:
    """Where a session is.

    Parameters
    ----------
    players : the player's own standing, then the demonstration's.
    in_play : the rounds in play, the one begun first in front; two where the next one is queued already.
    asked, number : the task of the round begun last, and which round of it that was, counted from 1.
    came : how many notes have come in; `first` is the first of them that belongs to no round yet.
    kept : the rounds marked so far, by either player.
    began, stirred : when the session began, and when the player last did anything, in seconds on the session's clock.
    own : what the player has chosen to play in place of the lesson; None: the lesson goes on.
    free : no tune is asked for; what is pressed is shown.
    choices : what sounds, what is shown, and how rounds follow each other.
    begins_at : where a run of notes that is being chosen begins, as an index into the tune; None: none is.
    taps : when the tempo was tapped last, in seconds.
    sentence : what is said below the picture; until `held_until` a wrong note takes nothing of it away.
    answered : when a wrong note was answered last, in seconds.
    tried : the presses that may have given the wrong note heard last; none once a right one has come.
    """

    mode: Mode
    sound: Sound
    around: Surroundings
    players: tuple[PlayerSitting, PlayerSitting]
    evening: Evening
    began: float
    stirred: float
    page: Page = Page.NONE
    in_play: tuple[RoundInPlay, ...] = ()
    asked: RoundTask | None = None
    number: int = 0
    came: int = 0
    first: int = 0
    own: OwnRounds | None = None
    free: bool = False
    choices: RoundChoices = field(default_factory=RoundChoices)
    begins_at: int | None = None
    taps: tuple[float, ...] = ()
    kept: tuple[RoundKept, ...] = ()
    sentence: str = ""
    held_until: float = 0.0
    answered: float = -math.inf
    tried: tuple[Press, ...] = ()

    @property
    def player(self) -> PlayerSitting:
        """The standing of whoever plays now."""
        return self.players[self.around.demonstration]

    def marked(self, one: RoundInPlay) -> bool:
        """Whether what is heard in a round is marked: always, but in own rounds where the player wants none."""
        return self.choices.marks or not one.own

    @property
    def mine(self) -> tuple[RoundKept, ...]:
        """The rounds of this sitting by whoever plays now."""
        return tuple(one for one in self.kept if one.standin == self.around.demonstration)


# What a session is told


@dataclass(frozen=True, slots=True)
class Wish:
    """The player asks for something that no open page has taken."""

    asked: Asked


@dataclass(frozen=True, slots=True)
class NoteCame:
    """A note was heard."""

    note: Heard


@dataclass(frozen=True, slots=True)
class InstrumentLearnt:
    """What a round has taught of the instrument: `what` is "channel" (the melody's, as `n` from 1), or "heard" or
    "confirmed" (it sounds `n` semitones above what is written; negative: below)."""

    what: str
    n: int


@dataclass(frozen=True, slots=True)
class PortMoved:
    """The instrument went away, or came back."""


@dataclass(frozen=True, slots=True)
class PageIs:
    """What lies over the practice from now on."""

    page: Page


@dataclass(frozen=True, slots=True)
class LookIs:
    """How the window looks, now that `action` was done."""

    action: Action
    look: Look


@dataclass(frozen=True, slots=True)
class LevelIs:
    """How loud everything is, now that it was changed, in per cent."""

    per_cent: int


@dataclass(frozen=True, slots=True)
class RoundLaid:
    """The round ordered last, with its timeline on the very frame on which it sounds."""

    plan: RoundPlan


@dataclass(frozen=True, slots=True)
class RoundRelaid:
    """The round that sounds, as it goes on: at another tempo, or with other sounds."""

    plan: RoundPlan


@dataclass(frozen=True, slots=True)
class Tick:
    """Time has gone by.

    Parameters
    ----------
    tape : the notes heard so far, in order of onset, each with its end once it has ended; `forgotten` came before them.
    in_doubt : a note sounds that may turn out to be a held button: its round is not to be judged yet.
    sounded : heard through a microphone, whether a pitch may have sounded all the same (None: what comes in is sure).
    """

    tape: Sequence[Heard] = ()
    forgotten: int = 0
    in_doubt: bool = False
    sounded: Sounded | None = field(default=None, kw_only=True)


@dataclass(frozen=True, slots=True)
class Free(Tick):
    """Time has gone by and nothing lies over the practice, so the next round may be ordered. It would begin at `free`
    seconds at the earliest, where what is queued ends."""

    free: float = 0.0


@dataclass(frozen=True, slots=True)
class Ended:
    """The player has left, chosen another tune, or let the last page run out."""


Told = (
    Wish
    | NoteCame
    | InstrumentLearnt
    | PortMoved
    | PageIs
    | LookIs
    | LevelIs
    | Surroundings
    | RoundLaid
    | RoundRelaid
    | Tick
    | Free
    | Ended
)


# What a session orders


@dataclass(frozen=True, slots=True)
class SoundRound:
    """Queue a round, and tell where it lies (`RoundLaid`). With no clock nothing sounds, and it begins now."""

    plan: RoundPlan
    sounds: RoundSounds


@dataclass(frozen=True, slots=True)
class RelayRound:
    """Let the round that sounds go on from the place `since` (whole notes) as its plan now is; what was queued after it
    goes. Tell where it lies (`RoundRelaid`)."""

    plan: RoundPlan
    since: Fraction
    sounds: RoundSounds


@dataclass(frozen=True, slots=True)
class ChangeLevel:
    """Be louder or softer from now on, by so many steps, and tell how loud that is (`LevelIs`)."""

    steps: int


@dataclass(frozen=True, slots=True)
class Silence:
    """Stop what sounds, and what the demonstration plays."""


@dataclass(frozen=True, slots=True)
class Demonstrate:
    """Let the demonstration play a round."""

    plan: RoundPlan


@dataclass(frozen=True, slots=True)
class DemonstrationLearns:
    """Let the demonstration learn from its marks."""

    marks: Marks


@dataclass(frozen=True, slots=True)
class SwitchDemonstration:
    """Let the demonstration play from now on, or the player."""

    on: bool


@dataclass(frozen=True, slots=True)
class SwitchClick:
    """Let the click be heard, or not, at once."""

    on: bool


@dataclass(frozen=True, slots=True)
class KeepRound:
    """Keep a round in the record, with where the player now stands, all or nothing."""

    kept: RoundKept
    state: PlayerState


@dataclass(frozen=True, slots=True)
class KeepState:
    """Keep where a player stands, without a round."""

    state: PlayerState
    demonstration: bool


@dataclass(frozen=True, slots=True)
class ChangeLook:
    """Change how the window looks, and tell how it looks then (`LookIs`)."""

    action: Action


@dataclass(frozen=True, slots=True)
class ShowBreak:
    """Show the page between two pieces; it goes on by itself."""

    page: BreakPage


@dataclass(frozen=True, slots=True)
class ShowRest:
    """Show the page for a rest: why, and for how many seconds."""

    page: BreakPage
    why: str
    seconds: float


@dataclass(frozen=True, slots=True)
class ShowFarewell:
    """Show the page at the end of the sitting, with a sentence; it ends by itself unless the player goes on."""

    page: BreakPage
    why: str


@dataclass(frozen=True, slots=True)
class AskToLeave:
    """Show the page that asks once whether to leave."""


Order = (
    SoundRound
    | RelayRound
    | ChangeLevel
    | Silence
    | Demonstrate
    | DemonstrationLearns
    | SwitchDemonstration
    | SwitchClick
    | KeepRound
    | KeepState
    | ChangeLook
    | ShowBreak
    | ShowRest
    | ShowFarewell
    | AskToLeave
)
