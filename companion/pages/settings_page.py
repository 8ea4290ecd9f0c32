"""The settings page with its devices: what each row offers, what a change does at once, and the test beside it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from companion.box.layout import box_names, load_box
from companion.errors import UserError
from companion.input.capture import list_microphones
from companion.input.ear_files import ear_path
from companion.input.events import Event
from companion.input.listening import Listening
from companion.input.midi_in import instruments_of
from companion.input.ports import base_name, list_ports
from companion.pages.learn_box import LearnBox, meter
from companion.pages.player_choices import PlayerChoices, keep_changes
from companion.pages.settings_tests import HeardTest, ListenTest, MeasureTest, MicrophoneTest, PlayTest, SettingTest
from companion.playback.measure_delay import join, keep_heard
from companion.playback.round_renderer import RoundRenderer
from companion.screen.actions import Asked
from companion.screen.list_state import Setting, Settings
from companion.screen.list_values import SettingsList
from companion.screen.look import Facing, Look
from companion.screen.theme import load_themes
from companion.screen.window import TEXT_SIZES, Window
from companion.screen.words import Say
from companion.sound.delays import keep_delay
from companion.sound.device import device_names
from companion.tables import hand_names

if TYPE_CHECKING:
    from companion.sound.speaker import DeviceSpeaker

LEVELS = tuple(range(10, 101, 10))  # per cent
DELAYS = tuple(range(0, 405, 5))  # milliseconds
WAITS = (0, 4, 8, 12, 20)  # seconds


class SettingsPage:
    """The page while it is open.

    `own` is what the player has chosen so far; `box` names a box that was chosen here ("" for none).
    """

    def __init__(
        self,
        own: PlayerChoices,
        speaker: DeviceSpeaker,
        sounding: RoundRenderer,
        listening: Listening,
        window: Window,
        words: Say,
    ) -> None:
        self.own = own
        self.box = ""
        self._speaker, self._sounding, self._listening = speaker, sounding, listening
        self._window, self._words = window, words
        self._trial: SettingTest | None = None
        self._hands = hand_names()
        self._boxes = list(dict.fromkeys([*box_names(), own.box]))
        self._devices = ["", *device_names()]
        if own.device not in self._devices:
            self._devices.append(own.device)
        self._microphones = list(list_microphones())
        now = listening.microphone
        if now is not None and now.name not in self._microphones:
            self._microphones.append(now.name)
        self._learning = False
        self._ports = instruments_of(list_ports().inputs)
        self._feet = list(dict.fromkeys([*map(base_name, self._ports), *filter(None, [self._foot])]))
        if self._port not in ["", *map(base_name, self._ports)]:
            self._ports.append(self._port)  # the player named it, whatever it is called
        self._themes = list(load_themes())
        self._page = Settings(self._rows())
        self.glance: SettingsList = self._page.glance

    @property
    def left(self) -> bool:
        """Whether the page was left."""
        return self._page.left

    @property
    def testing(self) -> bool:
        """Whether a test is under way."""
        return self._trial is not None

    def learning(self) -> LearnBox | None:
        """The page for getting to know the box, where that was just asked for."""
        asked, self._learning = self._learning, False
        return LearnBox(load_box(self.own.box), self._listening, self._words) if asked else None

    def learnt(self) -> None:
        """The box may be known better now."""
        self._again("ear", "")
        self.glance = self._page.glance

    def take(self, asked: Asked) -> None:
        """Do what the player asks for on the page."""
        before = self._page.at
        self._page = self._page.after(asked)
        if self._page.at != before or self._page.testing or self._page.changed or self._page.left:
            self.stop()
        if self._page.changed:
            self._apply(self._page.changed)
        elif self._page.testing == "ear":
            self._ask_to_learn()
        elif self._page.testing:
            self._trial = self._begin(self._page.testing)
        self.glance = self._page.glance

    def step(self, events: Sequence[Event]) -> None:
        """Let the test go on that is under way."""
        self._show_level()
        if self._trial is None:
            return
        said = self._trial.step(events)
        if self._trial.over:
            self._trial = None
        here = self._page.settings[self._page.at]
        if said != here.result:
            self._page = self._page.tested(said)
            if here.id == "delay" and self._trial is None:
                self._again("delay", said)
            self.glance = self._page.glance

    def stop(self) -> None:
        """Stop the test that is under way."""
        if self._trial is not None:
            self._trial = None
            self._speaker.cut()

    @property
    def _delay(self) -> float:
        """How late what is played comes in, in seconds, as it is allowed for."""
        microphone = self._listening.microphone
        return self._speaker.delay + (microphone.late if microphone is not None else 0.0)

    def _show_level(self) -> None:
        """How loud the microphone is now, beside its row."""
        microphone = self._listening.microphone
        level = meter(microphone.level) if microphone is not None else None
        at = next(n for n, row in enumerate(self._page.settings) if row.id == "microphone")
        if self._page.settings[at].level != level:
            rows = tuple(replace(row, level=level) if n == at else row for n, row in enumerate(self._page.settings))
            self._page = replace(self._page, settings=rows)
            self.glance = self._page.glance

    @property
    def _port(self) -> str:
        """The MIDI input of the instrument, "" without one."""
        ear = self._listening.instrument
        return base_name(ear.name) if ear is not None and self._listening.microphone is None else ""

    @property
    def _microphone(self) -> str:
        """The microphone that is listened to, "" for none."""
        return self._listening.microphone.name if self._listening.microphone is not None else ""

    @property
    def _foot(self) -> str:
        """The input of the pedal, "" where it has none of its own."""
        pedal = self._listening.pedal
        return base_name(pedal.name) if pedal is not None else ""

    def _rows(self) -> tuple[Setting, ...]:
        w, own = self._words, self.own
        port, foot = self._port, self._foot
        ports = [base_name(name) for name in self._ports]
        return (
            Setting("box", w("setting.box"), self._box_words(), self._boxes.index(own.box), w("setting.try")),
            Setting(
                "fingering", w("setting.fingering"), tuple(name.replace("-", " ") for name in self._hands),
                self._hands.index(own.hand) if own.hand in self._hands else 0,
            ),
            Setting(
                "port", w("setting.port"), tuple(ports) if port else (w("setting.none"), *ports),
                ports.index(port) if port else 0, w("setting.listen_to"),
            ),
            Setting(
                "microphone", w("setting.microphone"), (w("setting.none"), *self._microphones),
                self._microphones.index(self._microphone) + 1 if self._microphone else 0, w("setting.listen_to"),
            ),
            Setting(
                "ear", w("setting.ear"), (w("setting.learnt" if self._is_learnt else "setting.not_learnt"),), 0,
                w("setting.learn") if self._microphones else "",
            ),
            Setting(
                "pedal", w("setting.pedal_port"), (w("setting.on_instrument"), *self._feet),
                self._feet.index(foot) + 1 if foot else 0, w("setting.listen_to"),
            ),
            Setting(
                "device", w("setting.device"), tuple(name or w("setting.usual_device") for name in self._devices),
                self._devices.index(own.device), w("setting.play"),
            ),
            Setting(
                "level", w("setting.level"), tuple(w("setting.per_cent", n=n) for n in LEVELS),
                _nearest(LEVELS, own.level), w("setting.play"),
            ),
            Setting(
                "delay", w("setting.delay"), tuple(w("setting.ms", n=n) for n in DELAYS),
                _nearest(DELAYS, 1000 * self._delay), w("setting.measure"),
            ),
            Setting(
                "wait", w("setting.wait"),
                tuple(w("setting.seconds", n=n) if n else w("setting.no_wait") for n in WAITS),
                _nearest(WAITS, own.calm_wait),
            ),
            Setting(
                "theme", w("setting.theme"), tuple(name.replace("-", " ") for name in self._themes),
                self._themes.index(self._window.theme),
            ),
            Setting(
                "text", w("setting.text"), tuple(w("setting.per_cent", n=round(100 * size)) for size in TEXT_SIZES),
                _nearest(TEXT_SIZES, self._window.look.text),
            ),
            Setting(
                "facing", w("setting.facing"), tuple(w(f"setting.facing_{way.value}") for way in Facing),
                list(Facing).index(self._window.look.facing),
            ),
            Setting(
                "hand", w("setting.hand"), (w("setting.right"), w("setting.left")), int(self._window.look.left_handed)
            ),
            Setting("motion", w("setting.motion"), (w("setting.full"), w("setting.less")),
                    int(self._window.look.reduced_motion)),
            Setting("names", w("setting.names"), (w("setting.less"), w("setting.full")), int(self._window.look.names)),
            Setting("staff", w("setting.staff"), (w("setting.less"), w("setting.full")), int(self._window.look.staff)),
        )  # fmt: skip

    def _box_words(self) -> tuple[str, ...]:
        return tuple(load_box(name).name for name in self._boxes)

    def _begin(self, which: str) -> SettingTest:
        there = self._listening.instrument is not None
        if which == "microphone":
            return MicrophoneTest(self._words, self._listening.microphone)
        if which == "box":
            return ListenTest(self._words, there, load_box(self.own.box))
        if which in ("port", "pedal"):
            return ListenTest(self._words, bool(self._port) or bool(self._foot and which == "pedal"))
        if which == "delay" and self._listening.microphone is not None:
            return HeardTest(self._words, self._speaker, self._listening.microphone)
        if which == "delay":
            return MeasureTest(self._words, self._speaker, self.own.device, there)
        return PlayTest(self._words, self._speaker, self._sounding)

    def _apply(self, which: str) -> None:
        """Do what a change of a row means, and keep it. What cannot be done is said beside the row."""
        at = next(one.at for one in self._page.settings if one.id == which)
        doing: dict[str, Callable[[int], None]] = {
            "box": self._take_box, "fingering": lambda at: self._keep(replace(self.own, hand=self._hands[at])),
            "port": self._take_port, "pedal": self._take_pedal,
            "microphone": self._take_microphone, "device": self._take_device,
            "level": self._take_level, "delay": self._take_delay,
            "wait": lambda at: self._keep(replace(self.own, wait=float(WAITS[at]))),
        }  # fmt: skip
        try:
            if which in doing:
                doing[which](at)
            else:
                self._take_look(which, at)
        except UserError as why:
            self._again(which, why.message)

    def _take_box(self, at: int) -> None:
        self.box = self._boxes[at]
        self._keep(replace(self.own, box=self.box))

    def _take_port(self, at: int) -> None:
        if not self._port:
            if at == 0:
                return
            at -= 1
        self._listening.listen_to(self._ports[at])
        self._again("port", "")

    def _take_microphone(self, at: int) -> None:
        self._listening.hear_box(load_box(self.own.box).id)
        self._listening.listen_through(self._microphones[at - 1] if at else "")
        self._again("microphone", "")

    def _ask_to_learn(self) -> None:
        """Get to know the box: through the first microphone, where none is listened to yet."""
        try:
            if not self._microphone:
                self._take_microphone(1)
            self._learning = True
        except UserError as why:
            self._again("ear", why.message)

    @property
    def _is_learnt(self) -> bool:
        """Whether the box is known through the microphone."""
        return bool(self._microphone) and ear_path(load_box(self.own.box).id, self._microphone).is_file()

    def _take_pedal(self, at: int) -> None:
        self._listening.take_pedal(self._feet[at - 1] if at else "")
        self._again("pedal", "")

    def _take_device(self, at: int) -> None:
        if not self._speaker.use(self._devices[at] or None):
            self._again("device", self._words("setting.does_not_open"))
            return
        self._keep(replace(self.own, device=self._devices[at]))
        self._again("device", "")  # the delay is another's now

    def _take_level(self, at: int) -> None:
        self._keep(replace(self.own, level=LEVELS[at]))
        self._sounding.loudness(self._speaker, self.own.loudness)

    def _take_delay(self, at: int) -> None:
        seconds = DELAYS[at] / 1000
        microphone = self._listening.microphone
        if microphone is not None:
            keep_heard(self._speaker, microphone, seconds)
            return
        keep_delay("sound", self.own.device, seconds)
        self._speaker.delay = seconds

    def _take_look(self, which: str, at: int) -> None:
        window, look = self._window, self._window.look
        looks: dict[str, Look] = {
            "text": replace(look, text=TEXT_SIZES[min(at, len(TEXT_SIZES) - 1)]),
            "facing": replace(look, facing=list(Facing)[min(at, len(Facing) - 1)]),
            "hand": replace(look, left_handed=bool(at)),
            "motion": replace(look, reduced_motion=bool(at)),
            "names": replace(look, names=bool(at)),
            "staff": replace(look, staff=bool(at)),
        }
        window.wear(self._themes[at] if which == "theme" else window.theme, looks.get(which, look))
        self._keep(looks_of(window, self.own))

    def _keep(self, own: PlayerChoices) -> None:
        before, self.own = self.own, own
        keep_changes(before, own)

    def _again(self, which: str, result: str) -> None:
        """Show the rows as they now are, with what is to be said beside one of them."""
        join(self._speaker, self._listening.microphone)  # either may be another now
        rows = tuple(replace(row, result=result) if row.id == which else row for row in self._rows())
        self._page = replace(self._page, settings=rows)


def looks_of(window: Window, own: PlayerChoices) -> PlayerChoices:
    """The player's choices with how the window looks now."""
    look = window.look
    return replace(
        own, theme=window.theme, text=look.text, facing=look.facing.value, left_handed=look.left_handed,
        reduced_motion=look.reduced_motion, names=look.names, staff=look.staff,
    )  # fmt: skip


def keep_looks(window: Window, begun: PlayerChoices) -> None:
    """Keep how the window looks where the player has changed that since it `begun`, by keys."""
    keep_changes(begun, looks_of(window, begun))


def _nearest(values: Sequence[float], wanted: float) -> int:
    return min(range(len(values)), key=lambda n: abs(values[n] - wanted))
