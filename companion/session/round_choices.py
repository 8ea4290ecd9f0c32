"""What the player can choose about the rounds, whether the lesson asks for them or they do."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from companion.playback.round_renderer import RoundSounds
from companion.screen.actions import Action
from companion.screen.page_values import RoundChoice, Shown
from companion.screen.words import Say
from companion.sound.lift import DanceLift

MOST_BARS_IN = 2
_SWITCHES = (
    Action.MELODY, Action.CLICK, Action.BASSES, Action.ORNAMENTS, Action.LIFT,
    Action.ANSWER, Action.BEAT, Action.CLIMB, Action.MARKS,
)  # fmt: skip
# What is heard at once. The lift moves what is asked as well, and so comes with the next round.
SOUNDS = frozenset((Action.MELODY, Action.CLICK, Action.BASSES, Action.ORNAMENTS))


@dataclass(frozen=True, slots=True)
class RoundChoices:
    """What sounds, what is shown, and how rounds follow each other.

    Parameters
    ----------
    answer : each round is played to the player first, then room is left for it.
    beat : in time; without it the right notes in order, at any pace.
    climb : faster by itself, after the clean rounds that the lesson's rules ask for.
    marks : whether what is heard is marked.
    count_in : bars that are counted in where something new begins.
    """

    melody: bool = True
    click: bool = True
    basses: bool = False
    ornaments: bool = True
    lift: bool = False
    answer: bool = False
    beat: bool = True
    climb: bool = False
    marks: bool = True
    count_in: int = 1
    shown: Shown = Shown.ALL

    def after(self, action: Action) -> RoundChoices:
        """The same, once the player has asked for `action`; as it is where that is nothing of this."""
        if action in _SWITCHES:
            switched: dict[str, Any] = {action.value: not getattr(self, action.value)}
            return replace(self, **switched)
        if action is Action.COUNT_IN:
            return replace(self, count_in=(self.count_in + 1) % (MOST_BARS_IN + 1))
        if action is Action.BY_HEART:
            ways = list(Shown)
            return replace(self, shown=ways[(ways.index(self.shown) + 1) % len(ways)])
        return self

    def sounds(self, lift: DanceLift | None, *, answering: bool = False) -> RoundSounds:
        """What of a round sounds; `answering`: it is the player's turn, and the tune is left to them."""
        return RoundSounds(
            melody=self.melody and not answering,
            basses=self.basses and not answering,
            ornaments=self.ornaments,
            click=self.click,
            lift=lift if self.lift else None,
        )

    def listed(self, words: Say, *, own: bool) -> tuple[RoundChoice, ...]:
        """The choices in words, in the order in which the window lists them; some are there in own rounds only."""
        actions = [*_SWITCHES[:5]] if not own else [*_SWITCHES]
        listed = [
            RoundChoice(action, words("choice.on" if getattr(self, action.value) else "choice.off"),
                        getattr(self, action.value))
            for action in actions
        ]  # fmt: skip
        listed.append(RoundChoice(Action.COUNT_IN, words("choice.bars", n=self.count_in)))
        listed.append(RoundChoice(Action.BY_HEART, words(f"choice.shown_{self.shown.name.lower()}")))
        return tuple(listed)


CHOICES = frozenset((*_SWITCHES, Action.COUNT_IN, Action.BY_HEART))
