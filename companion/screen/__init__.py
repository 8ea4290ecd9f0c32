"""What the player sees: draws what it is given, decides nothing."""

import os
import sys

os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
if sys.platform == "linux":
    # The picture is made in software; passing it through a renderer took ten times as long as straight to X.
    os.environ.setdefault("SDL_FRAMEBUFFER_ACCELERATION", "0")
os.environ.setdefault("SDL_WINDOWS_DPI_AWARENESS", "permonitorv2")  # every pixel of a high-DPI screen is ours
