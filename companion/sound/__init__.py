"""The reed voice, rendering, the click, the output device.

tempi       what the beat is, how fast it goes
stretch     a piece cut out of a round, with its beats
score       stretch and tempo -> tones, to the frame
render      tones -> sound, with any soundfont
speaker     sound -> the device, gapless; and the clock
files       sound and MIDI files
build       the reed soundfont itself
"""
