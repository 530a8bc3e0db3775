"""The calculator's jobs: what each asks for, and what it answers; no window, no command line.

The screen and ``washmon calc`` both draw their fields from here, so that they always agree.
"""

from washmon.line.calculations.acid import ACID
from washmon.line.calculations.active import ACTIVE
from washmon.line.calculations.alkalinity import ALKALINITY_FROM_RESPONSE
from washmon.line.calculations.container import CONTAINER
from washmon.line.calculations.dose import DOSE
from washmon.line.calculations.exposure import EXPOSURE
from washmon.line.calculations.lower import LOWER
from washmon.line.calculations.neutralise import NEUTRALISE
from washmon.line.calculations.peracetic import PERACETIC
from washmon.line.calculations.rise import RISE
from washmon.line.calculations.strength import STRENGTH_ON_A_LABEL

CALCULATIONS = (
    DOSE,
    RISE,
    STRENGTH_ON_A_LABEL,
    CONTAINER,
    ACTIVE,
    ACID,
    ALKALINITY_FROM_RESPONSE,
    LOWER,
    NEUTRALISE,
    PERACETIC,
    EXPOSURE,
)
__all__ = ["CALCULATIONS"]
