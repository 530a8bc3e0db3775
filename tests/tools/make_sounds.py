"""Makes the program's sounds: ``python -m tests.tools.make_sounds [FOLDER]``.

Sine waves with soft ends, 16 bits, one channel. Their pitch lies between 500 and 1500 Hz, where
also an older ear and one in a noisy room hears well (ISO 7731 asks for 500 to 2500 Hz of a danger
signal, and for much of it under 1500 Hz; value from memory).
"""

import sys
import wave
from pathlib import Path

import numpy as np

from washmon import data

RATE_HZ = 22_050
_SOFT_S = 0.012
"""How long a tone takes to begin and to end: without a click."""

Tone = tuple[float, float]
"""Pitch in Hz (0 is silence) and length in seconds."""

SOUNDS: dict[str, tuple[tuple[Tone, ...], float, float]] = {
    # Two notes upward that fade away: look when you have a moment.
    "wait-over": (((587.3, 0.22), (784.0, 0.45)), 6.0, 0.45),
    # Three even notes: somebody is waited for.
    "overdue": (((698.5, 0.2), (0.0, 0.1)) * 2 + ((698.5, 0.35),), 0.8, 0.9),
    # Two pitches in turn: stop.
    "stop": (((932.3, 0.16), (0.0, 0.04), (698.5, 0.16), (0.0, 0.04)) * 3, 0.0, 0.9),
}
"""The tones of each sound, how fast each fades (1/s), and its peak, of full scale."""


def tone(pitch_hz: float, length_s: float, fade_per_s: float) -> np.ndarray:
    """Return one tone as samples between -1 and 1; a fifth of it sounds an octave higher."""
    at = np.arange(round(length_s * RATE_HZ)) / RATE_HZ
    wave_ = 0.8 * np.sin(2 * np.pi * pitch_hz * at) + 0.2 * np.sin(4 * np.pi * pitch_hz * at)
    ends = np.minimum(1.0, np.minimum(at, at[::-1]) / _SOFT_S)
    return np.asarray(wave_ * ends * np.exp(-fade_per_s * at))


def sound(name: str) -> bytes:
    """Return the samples of a sound, little-endian."""
    tones, fade, peak = SOUNDS[name]
    whole = np.concatenate([tone(pitch, length, fade) for pitch, length in tones])
    scaled = whole / np.abs(whole).max() * peak * (2**15 - 1)
    return bytes(scaled.round().astype("<i2").tobytes())


def main(folder: Path) -> None:
    """Write every sound."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in SOUNDS:
        with wave.open(str(folder / f"{name}.wav"), "wb") as file:
            file.setparams((1, 2, RATE_HZ, 0, "NONE", "not compressed"))
            file.writeframes(sound(name))


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else data.folder("resources") / "sounds")
