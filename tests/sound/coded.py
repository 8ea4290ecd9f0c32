"""Sound files as phones make them."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np

RATE = 44100


def coded(path: Path, sound: np.ndarray, *, video: bool = False, cover: bool = False, **options: str) -> None:
    """Write sound, of shape (frames, 2), as phones keep it: AAC, in the container that the ending names; beside it a
    video or a picture on the cover."""
    with av.open(str(path), "w", options=options) as file:
        stream = file.add_stream("aac", rate=RATE)
        stream.layout = "stereo"
        if video or cover:
            pictures = file.add_stream("mpeg4" if video else "mjpeg", rate=5)
            pictures.width = pictures.height = 64
            pictures.pix_fmt = "yuv420p" if video else "yuvj420p"
            if cover:
                pictures.disposition = av.stream.Disposition.attached_pic
            picture = av.VideoFrame.from_ndarray(np.zeros((64, 64, 3), np.uint8), format="rgb24")
            for packet in [*pictures.encode(picture.reformat(format=pictures.pix_fmt)), *pictures.encode(None)]:
                file.mux(packet)
        frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(sound.T), format="fltp", layout="stereo")
        frame.sample_rate, frame.pts = RATE, 0
        cut = av.AudioResampler("fltp", "stereo", RATE, frame_size=1024)
        for part in [*cut.resample(frame), *cut.resample(None)]:
            for packet in stream.encode(part):
                file.mux(packet)
        for packet in stream.encode(None):
            file.mux(packet)
