"""Five minutes of a looped piece under load, recorded from the sound server: ``python -m benchmarks.five_minutes``.

The window redraws, MIDI comes in over JACK, another process keeps a core busy, the tempo rises every four clean rounds.
Needs a JACK server, a PulseAudio server and an X display (DEVELOPERS.md). ``… five_minutes 60`` runs for 60 s.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.servers import looped


def main() -> int:
    """Run it and print what was found. Gives 1 where anything was wrong."""
    seconds = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    with tempfile.TemporaryDirectory() as folder:
        found = looped.run(Path(folder), seconds)
    print(f"rounds {found.rounds}, at {found.tempi} tempi, {found.seconds:.1f} s held to the frame")
    print(f"onsets {found.onsets}, not there {found.lost}, the worst {1000 * found.worst:.3f} ms off its place")
    print(f"seams  {found.seams} of {found.rounds - 1} exact")
    print(f"drop-outs {found.breaks}, frames that are not as they should be {found.wrong}")
    return int(found.worst > 0.001 or found.lost > 0 or found.wrong > 0 or found.seams < found.rounds - 1)


if __name__ == "__main__":
    sys.exit(main())
