"""What takes the chlorine out of water that is drained."""

from washmon.chemistry.neutralising import Neutraliser, neutraliser_g
from washmon.line.fill_water import FillWater
from washmon.line.message import Figure, Message
from washmon.line.state import order, value_of
from washmon.units import Kind

_LEAST_MG_L = 0.1


def before_discharge(water: FillWater) -> tuple[Message, ...]:
    """Return how much thiosulfate takes the chlorine out of a fill; nothing where there is none.

    Total chlorine counts where it was read last; else free chlorine is the least there is. Amounts
    by the AWWA table that :mod:`washmon.chemistry.neutralising` names.
    """
    if water.spec.peracetic is not None:
        return ()
    level = _level_mg_l(water)
    if level is None or level < _LEAST_MG_L:
        return ()
    grams = neutraliser_g(water.fill.volume_l, level, Neutraliser.SODIUM_THIOSULFATE_PENTAHYDRATE)
    return (
        Message(
            "Before it is drained: about {amount} sodium thiosulfate (pentahydrate) takes {level} "
            "chlorine out of {volume}. Test with a strip after it. Discharge rules are local: ask.",
            {
                "amount": Figure(grams, Kind.MASS),
                "level": Figure(level, Kind.CONCENTRATION),
                "volume": Figure(water.fill.volume_l, Kind.VOLUME),
            },
        ),
    )


def _level_mg_l(water: FillWater) -> float | None:
    free, total = water.latest("fac_mg_l"), water.latest("total_mg_l")
    if total is not None and (free is None or order(total) >= order(free)):
        known = water.chlorine_mg_l()
        read = value_of(total, "total_mg_l")
        return read if known is None else max(read, known)
    return water.chlorine_mg_l()
