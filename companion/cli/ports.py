"""`companion ports`: the MIDI ports and the sound devices of this machine."""

from __future__ import annotations

import argparse
from typing import Any

from companion.cli.show import as_json, line
from companion.hearing.ports import Ports, list_ports
from companion.sound.device import device_names

SCHEMA = "companion.ports/1"


def run(given: argparse.Namespace) -> None:
    """Print the ports."""
    ports, sound = list_ports(), device_names()
    if given.json:
        as_json({"schema": SCHEMA, **report(ports), "sound": list(sound)})
        return
    if ports.problem:
        line(ports.problem)
    for kind, names in (("in", ports.inputs), ("out", ports.outputs)):
        for name in names:
            line(f"{kind:4}{name}")
    for name in sound:
        line(f"sound  {name}")
    if not ports.problem and not ports.inputs and not ports.outputs:
        line("No MIDI port is there: connect an instrument and try again.")


def report(ports: Ports) -> dict[str, Any]:
    """The ports as plain values."""
    return {
        "backend": ports.backend or None,
        "inputs": list(ports.inputs),
        "outputs": list(ports.outputs),
        "problem": ports.problem or None,
    }
