"""What would be played, measured: pitch, loudness, length, and the loudness asked for."""

import sys
import wave
from pathlib import Path

import numpy as np
import pytest
from pytestqt.qtbot import QtBot

from tests.tools.make_sounds import SOUNDS, sound
from washmon import data
from washmon.gui.sound import sound_out as players
from washmon.gui.sound.alarm import RISE_DB, Cue, Sound, Volume
from washmon.gui.sound.sound_out import PROGRAMS, Program, SoundOut

FULL = 2**15
SMALLEST_HZ, LARGEST_HZ = 500, 1500
"""ISO 7731, danger signals: 500 to 2500 Hz, with much of it under 1500 Hz for those who hear
little of high notes (value from memory)."""


def samples(path: Path) -> tuple[np.ndarray, int]:
    """Return what a file holds, between -1 and 1, and its rate."""
    with wave.open(str(path)) as file:
        assert (file.getnchannels(), file.getsampwidth()) == (1, 2)
        raw = np.frombuffer(file.readframes(file.getnframes()), "<i2")
        return raw / FULL, file.getframerate()


def rms_db(path: Path) -> float:
    """Return the loudness of a whole file against full scale."""
    heard, _ = samples(path)
    return float(20 * np.log10(np.sqrt(np.mean(heard**2))))


def file_of(which: Sound) -> Path:
    return data.resource("sounds", f"{which}.wav")


@pytest.mark.parametrize("which", list(Sound))
def test_each_sound_lies_where_ears_hear_well_and_clips_nowhere(which: Sound) -> None:
    heard, rate = samples(file_of(which))
    spectrum = np.abs(np.fft.rfft(heard)) ** 2
    pitch = np.fft.rfftfreq(heard.size, 1 / rate)
    inside = spectrum[(pitch >= SMALLEST_HZ) & (pitch <= LARGEST_HZ)].sum()
    assert SMALLEST_HZ <= pitch[spectrum.argmax()] <= LARGEST_HZ
    assert inside >= 0.9 * spectrum.sum()
    assert np.abs(heard).max() == pytest.approx(SOUNDS[which][2], abs=0.001)
    assert np.abs(heard).max() < 0.91
    assert 0.4 <= heard.size / rate <= 1.5
    assert abs(heard[0]) < 0.01  # it begins without a click
    assert abs(heard[-1]) < 0.01


def test_the_end_of_a_wait_is_the_softest_and_a_stop_the_loudest() -> None:
    loud = [rms_db(file_of(one)) for one in (Sound.WAIT_OVER, Sound.OVERDUE, Sound.STOP)]
    assert loud == sorted(loud)
    assert loud[-1] - loud[0] > 9


@pytest.mark.parametrize("which", list(Sound))
def test_the_files_are_what_the_script_makes(which: Sound) -> None:
    made = np.frombuffer(sound(which), "<i2").astype(int)
    kept = np.round(samples(file_of(which))[0] * FULL).astype(int)
    assert set(SOUNDS) == set(Sound)
    assert np.abs(made - kept).max() <= 1  # the last bit differs between mathematical libraries


# --- through the player's process

COPY = """#!/bin/sh
for last; do :; done
cp "$last" "{log}/$(date +%s%N).wav"
"""


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A player that keeps what it was told to play, where this system has a shell for it."""
    if sys.platform == "win32":
        pytest.skip("The stand-in for a player is a shell script.")
    kept, tools = tmp_path / "heard", tmp_path / "tools"
    kept.mkdir()
    tools.mkdir()
    script(tools / "keeps", COPY.format(log=kept))
    script(tools / "refuses", "#!/bin/sh\nexit 1\n")
    monkeypatch.setenv("PATH", f"{tools}:/usr/bin:/bin")
    return kept


def script(path: Path, text: str) -> None:
    path.write_text(text)
    path.chmod(0o755)


def use(monkeypatch: pytest.MonkeyPatch, *names: str) -> None:
    programs = tuple(Program(name, ("{file}",)) for name in names)
    monkeypatch.setattr(players, "PROGRAMS", {sys.platform: programs, "linux": programs})


def played(qtbot: QtBot, player: SoundOut, log: Path, cue: Cue, volume: Volume) -> Path:
    before = len(list(log.iterdir()))
    player.play(cue, volume)
    qtbot.waitUntil(lambda: len(list(log.iterdir())) > before)
    qtbot.waitUntil(lambda: player._process.state() is player._process.ProcessState.NotRunning)
    return max(log.iterdir())


def test_the_player_is_given_the_file_as_loud_as_was_asked_for(
    qtbot: QtBot, log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    use(monkeypatch, "keeps")
    player = SoundOut()
    assert player.program == "keeps"
    full = rms_db(file_of(Sound.STOP))
    for volume in Volume:
        loud = rms_db(played(qtbot, player, log, Cue(Sound.STOP), volume))
        assert loud - full == pytest.approx(volume, abs=0.05)
    rising = [
        rms_db(played(qtbot, player, log, Cue(Sound.STOP, db), Volume.LOUD)) for db in RISE_DB
    ]
    assert rising == sorted(rising)
    assert rising[-1] - rising[0] == pytest.approx(18, abs=0.1)
    assert np.diff(rising) == pytest.approx([6, 6, 6], abs=0.1)
    player.close()


def test_a_player_that_fails_gives_way_to_the_next_and_at_last_to_a_beep(
    qtbot: QtBot, log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    use(monkeypatch, "missing", "refuses", "keeps")
    beeps: list[str] = []
    player = SoundOut(beep=lambda: beeps.append("beep"))
    assert rms_db(played(qtbot, player, log, Cue(Sound.STOP), Volume.LOUD)) > -20
    assert (player.program, beeps) == ("keeps", [])
    player.close()
    use(monkeypatch, "refuses")
    player = SoundOut(beep=lambda: beeps.append("beep"))
    player.play(Cue(Sound.STOP), Volume.LOUD)
    qtbot.waitUntil(lambda: beeps == ["beep"])
    assert player.program == ""
    player.close()


def test_without_any_player_it_beeps(monkeypatch: pytest.MonkeyPatch) -> None:
    use(monkeypatch)
    beeps: list[str] = []
    player = SoundOut(beep=lambda: beeps.append("beep"))
    player.play(Cue(Sound.OVERDUE), Volume.SOFT)
    assert beeps == ["beep"]


def test_each_system_has_a_player_that_takes_a_file() -> None:
    for programs in PROGRAMS.values():
        for program in programs:
            assert any(
                "it's.wav" in word or "it''s.wav" in word
                for word in program.arguments(Path("it's.wav"))
            )
    (windows,) = PROGRAMS["win32"]
    assert "'it''s.wav'" in windows.arguments(Path("it's.wav"))[-1]
