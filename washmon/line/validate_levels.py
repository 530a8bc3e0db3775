"""What the limits of a sanitizer's level must keep, whichever sanitizer it is."""

import math

from washmon.line.setup import ChlorineLimits, PeraceticLimits
from washmon.line.setup_fault import Found, fault, ppm, rising
from washmon.units import Kind

MOST_MG_L = 1_000.0
"""Above any wash water; only tools and floors are cleaned with more."""
_LADDER = (
    ("critical_low_mg_l", "low_mg_l", "Critical low ({less}) must be under low ({more})."),
    ("low_mg_l", "target_mg_l", "Low ({less}) must be under the target ({more})."),
    ("target_mg_l", "high_mg_l", "The target ({less}) must be under high ({more})."),
)


def levels_rise(path: str, limits: ChlorineLimits | PeraceticLimits) -> Found:
    """Yield what does not rise from critical low to label, is below nothing, or beyond sense."""
    yield from rising(path, limits, _LADDER, Kind.CONCENTRATION)
    if math.inf > limits.high_mg_l > limits.label_max_mg_l > -math.inf:
        for field in ("high_mg_l", "label_max_mg_l"):
            yield fault(
                f"{path}.{field}",
                "High ({high}) must not be over what the label allows ({most}).",
                high=ppm(limits.high_mg_l),
                most=ppm(limits.label_max_mg_l),
            )
    if limits.critical_low_mg_l < 0:
        yield fault(f"{path}.critical_low_mg_l", "A level cannot be below 0.")
    if math.isfinite(limits.label_max_mg_l) and limits.label_max_mg_l > MOST_MG_L:
        yield fault(
            f"{path}.label_max_mg_l",
            "No label allows more than {most} in wash water: read it again.",
            most=ppm(MOST_MG_L),
        )
