"""The colours of the states are told apart by eyes of each kind, besides by shape and word.

Eyes are simulated by colorspacious, after Machado, Oliveira, Fernandes: A physiologically-based
model for simulation of color vision deficiency, IEEE Trans. Vis. Comput. Graph. 15(6), 2009, at
full severity. Distances are CIE76 in CIELAB, D65, by the same library.
"""

from itertools import combinations

import numpy as np
import pytest
from colorspacious import cspace_convert, deltaE

from washmon.gui.kit.state_mark import MarkState
from washmon.gui.kit.theme import THEMES, Theme

EYES = ("all cones", "protanomaly", "deuteranomaly", "tritanomaly")
"""By what is weak in them, here to the full: red, green or blue cones."""
APART = 20.0
"""Nearly ten times what an eye just tells side by side (2.3: Mahy et al., Color Res. Appl. 19,
1994, value from memory), since the marks stand columns apart; chosen here, no published source."""


def seen(colour: str, eyes: str) -> np.ndarray:
    """Return what eyes see of a colour, as sRGB from 0 to 1."""
    whole = np.array([int(colour[at : at + 2], 16) for at in (1, 3, 5)]) / 255
    if eyes == EYES[0]:
        return whole
    weak = {"name": "sRGB1+CVD", "cvd_type": eyes, "severity": 100}
    return np.asarray(np.clip(cspace_convert(whole, weak, "sRGB1"), 0, 1), dtype=float)


def apart(one: str, other: str, eyes: str) -> float:
    """Return the distance of two colours as these eyes see them."""
    return float(
        deltaE(seen(one, eyes), seen(other, eyes), input_space="sRGB1", uniform_space="CIELab")
    )


def test_the_distance_agrees_with_its_ends() -> None:
    """White and black are 100 apart in L* by definition (CIE 15), for all eyes."""
    for eyes in EYES:
        assert apart("#FFFFFF", "#000000", eyes) == pytest.approx(100, abs=0.2)
        assert apart("#777777", "#777777", eyes) == 0


def test_a_pair_that_colour_blind_eyes_confuse_is_found() -> None:
    """A red and a green of one lightness: far apart for most, close without green cones."""
    assert apart("#B35A5A", "#75752F", "all cones") > 2 * APART
    assert apart("#B35A5A", "#75752F", "deuteranomaly") < APART


@pytest.mark.parametrize("eyes", EYES)
@pytest.mark.parametrize("shades", THEMES.values(), ids=THEMES)
def test_states_are_told_apart_by_their_colours(shades: Theme, eyes: str) -> None:
    shown = {
        look: look.colour(shades) or shades.ink
        for look in (MarkState.WATCH, MarkState.ACT, MarkState.STOP)
    }
    shown[MarkState.IN_LIMITS] = shades.ink
    for one, other in combinations(shown, 2):
        assert apart(shown[one], shown[other], eyes) >= APART, (one, other)


@pytest.mark.parametrize("eyes", EYES)
@pytest.mark.parametrize("shades", THEMES.values(), ids=THEMES)
def test_what_is_drawn_into_a_plot_is_told_apart(shades: Theme, eyes: str) -> None:
    for one, other in combinations((shades.forecast, shades.critical, shades.target), 2):
        assert apart(one, other, eyes) >= APART
