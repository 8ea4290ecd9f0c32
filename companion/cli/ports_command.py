"""`companion ports`: the MIDI ports, the sound devices and the microphones of this machine."""

from __future__ import annotations

import argparse
import time
from typing import Any

from companion.cli.show import as_json, line, note_name
from companion.errors import UserError
from companion.input.capture import list_microphones
from companion.input.chosen_ports import chosen_port
from companion.input.events import EventKind
from companion.input.midi_in import open_midi_in
from companion.input.ports import Ports, list_ports
from companion.sound.device import device_names

SCHEMA = "companion.ports/1"
SECONDS = 10.0  # for which a port is listened to
LOOK = 0.01  # seconds between two looks


def run(given: argparse.Namespace) -> None:
    """Print the ports, or with `--test` what comes in on one."""
    if given.test is not None:
        _test(given.test or chosen_port())
        return
    ports, sound, microphones = list_ports(), device_names(), list_microphones()
    if given.json:
        as_json({"schema": SCHEMA, **report(ports), "sound": list(sound), "microphones": list(microphones)})
        return
    if ports.problem:
        line(ports.problem)
    for kind, names in (("in", ports.inputs), ("out", ports.outputs)):
        for name in names:
            line(f"{kind:4}{name}")
    for name in sound:
        line(f"sound  {name}")
    for name in microphones:
        line(f"microphone  {name}")
    if not ports.problem and not ports.inputs and not ports.outputs:
        line("No MIDI port found. Connect an instrument and try again.")


def _test(name: str | None) -> None:
    """Say each note that comes in, for a while."""
    ear = open_midi_in(name)
    heard = 0
    try:
        line(f"Play on {ear.name}. For {SECONDS:.0f} seconds each note that comes in is shown here.")
        until = time.monotonic() + SECONDS
        while time.monotonic() < until:
            for event in ear.take_new():
                if event.what is EventKind.ON:
                    heard += 1
                    line(f"{note_name(event.pitch)}, loudness {event.velocity}, channel {event.channel + 1}")
            time.sleep(LOOK)
    finally:
        ear.close()
    if not heard:
        raise UserError(f"nothing came in on {ear.name}; check the cable and your box's MIDI settings")


def report(ports: Ports) -> dict[str, Any]:
    """The ports as plain values."""
    return {
        "backend": ports.backend or None,
        "inputs": list(ports.inputs),
        "outputs": list(ports.outputs),
        "problem": ports.problem or None,
    }
