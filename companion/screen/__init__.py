"""What the player sees: draws a state, decides nothing."""

import os

os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
os.environ.setdefault("SDL_WINDOWS_DPI_AWARENESS", "permonitorv2")  # every pixel of a high-DPI screen is ours
