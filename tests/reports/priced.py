"""A shift of which it is known what all costs."""

from msgspec.structs import replace

from tests.shed import Shed, a_setup
from washmon.line.events import WaterExchanged
from washmon.line.setup import LineSetup, Price

BLEACH = a_setup().sanitizers[0]  # 1.17 kg/L


VINEGAR = a_setup().acids[0]


def priced() -> LineSetup:
    """Hypochlorite at 30 for 20 L, vinegar at 6 for 5 L, water at 2.40 for a cubic metre."""
    return a_setup(
        currency="EUR",
        water_price=Price(cost=2.4, amount=1000.0),
        sanitizers=(replace(BLEACH, price=Price(cost=30.0, amount=20.0)),),
        acids=(replace(VINEGAR, price=Price(cost=6.0, amount=5.0)),),
    )


def a_shift(setup: LineSetup) -> Shed:
    """Two fills of 500 L, an exchange of 100 L, 200 + 60 mL of hypochlorite, 50 mL of vinegar."""
    shed = Shed(setup)
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(fac=50, ph=7.6)
    shed.wash(3)
    shed.acid(ml=50)
    shed.wait(6)
    shed.tell(WaterExchanged(at=shed.now, by="RM", tank=1, volume_l=100.0))
    shed.wait(6).fill()
    shed.dose(ml=60)
    return shed
