"""A second fill in a story: made ready beside its tank while the line washes, then swapped in."""

from msgspec.structs import replace

from tests.tools.demo_shed import DemoShed
from tests.tools.demo_water import TankWater
from washmon.line.events import DoseAdded, SecondSwapped, TankFilled
from washmon.line.flags import Amount
from washmon.line.measure import measured
from washmon.line.product import rise


def fill_and_dose(shed: DemoShed, tank: int) -> None:
    """Fill the vessel beside a tank and add what the Board asks for there."""
    volume = shed.setup.tank(tank).second_volume_l
    if volume is None:
        raise ValueError(f"Tank {tank} has no second vessel.")
    shed.enter(TankFilled(at=shed.now, by=shed.by, tank=tank, volume_l=volume, second=True))
    water = shed.water[-tank] = TankWater(shed.water[tank].source, volume)
    step = shed.second_step(tank)
    if step.amount is None:
        raise ValueError(f"{shed.now:%H:%M}: the Board asks for {step.kind}.")
    to_measure, product = measured(step.amount, shed.setup), shed.setup.sanitizers[0]
    amount = Amount(round(to_measure.actual, 3), "mL")
    shed.enter(
        DoseAdded(
            at=shed.now,
            by=shed.by,
            tank=tank,
            product=product.key,
            amount=amount,
            as_entered=to_measure.describe(),
            second=True,
        )
    )
    water.dose(rise(product, volume, amount))


def read(shed: DemoShed, tank: int) -> None:
    """Measure the second fill of a tank."""
    shed.enter(replace(shed.seen(tank, "water", water=shed.water[-tank]), second=True))


def swap(shed: DemoShed, tank: int) -> None:
    """Let the old water go and put the second fill in its place."""
    shed.enter(SecondSwapped(at=shed.now, by=shed.by, tank=tank))
    shed.water[tank] = shed.water.pop(-tank)
