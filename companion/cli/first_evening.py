"""The very first start of `companion practise`: the questions nobody has answered yet, and what is kept of them."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import replace

from companion.input.listening import Listening
from companion.pages.first_questions import FirstQuestions, Question
from companion.pages.pages import Pages
from companion.pages.player_choices import PlayerChoices, chosen_before, keep_own, load_choices
from companion.places import own_data
from companion.screen.window import Window
from companion.screen.words import load_words
from companion.store.record import FILE


def nothing_kept() -> bool:
    """Whether this is the very first start: nothing chosen and nothing practised yet."""
    return not chosen_before() and not (own_data() / FILE).exists()


def ask_first(
    given: argparse.Namespace,
    own: PlayerChoices,
    pages: Pages,
    listening: Listening,
    window: Window,
    until_answered: Callable[[], object],
) -> PlayerChoices:
    """Ask what the command line does not answer, and keep it; gives the choices as they now are.

    Parameters
    ----------
    own : the choices so far; what the command line says of them holds for once and is not kept.
    until_answered : shows the pages until the last question is answered or left for later.
    """
    answered = {Question.BOX: given.box, Question.HEARD: given.port or given.microphone, Question.HELD: None}
    asking = [question for question in Question if not answered[question]]
    questions = FirstQuestions(own, asking, listening, load_words())
    pages.ask(questions)
    until_answered()
    chosen, before = questions.own, load_choices()
    box = before.box if given.box else chosen.box
    keep_own(replace(before, box=box, by_ear=chosen.by_ear, left_handed=chosen.left_handed, facing=chosen.facing))
    window.wear(window.theme, chosen.look)
    if listening.instrument is None:
        listening.standin_on = not chosen.by_ear and not given.no_standin
    return chosen
