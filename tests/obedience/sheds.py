"""Random set-ups: what a shed wrote down of its tanks, products, acids and measures."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import TypeVar

import numpy as np
from msgspec import structs

from washmon.chemistry.acid import AcidKind
from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.line.events import Method
from washmon.line.setup import (
    Acid,
    ChlorineLimits,
    LabelBasis,
    LineSetup,
    PeraceticLimits,
    Person,
    PhLimits,
    Role,
    Sanitizer,
    SanitizerKind,
    SourceWater,
    Stage,
    Tank,
)
from washmon.units import UnitSystem

Picked = TypeVar("Picked")

WHO = "OB"
DAY = date(2026, 5, 7)
TUB_L = 40.0
"""Up to this a vessel is dosed with spoons."""
SOLID_L = 150.0
"""From this some dose with calcium hypochlorite."""
HUGE_L = 2000.0
_TANKS = (0.46, 0.33, 0.12, 0.05, 0.02, 0.01, 0.0, 0.01)
_LIMITS = (
    (25.0, 35.0, 50.0, 75.0, 100.0),
    (25.0, 35.0, 50.0, 75.0, 200.0),
    (50.0, 70.0, 100.0, 150.0, 200.0),
    (60.0, 80.0, 120.0, 160.0, 200.0),
    (30.0, 45.0, 75.0, 110.0, 150.0),
    (15.0, 20.0, 30.0, 50.0, 80.0),
)
_CHECKS = (
    (6, 30.0),
    (8, 60.0),
    (10, 30.0),
    (10, 60.0),
    (10, None),
    (15, 30.0),
    (None, 30.0),
    (None, 60.0),
)
_RINSE = (5.0, 7.0, 10.0, 15.0, 25.0)
_LEAFY = ("baby chard", "leaf lettuce", "cut kale", "carrots", "peppers", "pears", "mixed greens")
_SPOONS = (
    ("quarter_teaspoon", "half_teaspoon", "teaspoon", "tablespoon", "quarter_cup", "cup"),
    ("quarter_teaspoon", "teaspoon", "tablespoon", "kitchen_scale"),
    ("teaspoon", "tablespoon", "half_cup"),
    ("cylinder_10_ml", "cylinder_100_ml", "spoon_scale"),
    ("half_teaspoon", "cylinder_100_ml", "spoon_scale"),
    (),
)
_JUGS = (
    ("cylinder_100_ml", "jug_1000_ml", "kitchen_scale"),
    ("cylinder_250_ml", "jug_1000_ml", "bucket_10_l", "kitchen_scale"),
    ("tablespoon", "quarter_cup", "half_cup", "cup", "kitchen_scale"),
    ("fluid_ounce_jug", "cup", "kitchen_scale"),
    ("cup", "kitchen_scale"),
    ("jug_1000_ml", "spoon_scale"),
    (),
)


class SetupDrawing:
    """Draws one set-up after another from one stream of chance."""

    def __init__(self, random: np.random.Generator) -> None:
        self._random = random

    def setup(self, level_by: Method) -> LineSetup:
        """Return a whole set-up for a shed that measures its level by this method."""
        volume = self._between(15.0, 5000.0)
        peracetic = volume > TUB_L and self._chance(0.1)
        sanitizer = self._peracetic() if peracetic else self._hypochlorite(volume)
        acid = None if peracetic or self._chance(0.03) else self._acid(volume)
        count = 1 + int(self._random.choice(len(_TANKS), p=_TANKS))
        measures = _SPOONS if volume <= TUB_L else _JUGS
        return LineSetup(
            site="Drawn shed",
            location="Bay 1",
            line="Line",
            commodity=str(self._pick(_LEAFY)),
            people=(Person(initials=WHO, name="O. B.", role=Role.SUPERVISOR),),
            tanks=self._tanks(count, volume, sanitizer, acid, level_by),
            sanitizers=(sanitizer,),
            acids=() if acid is None else (acid,),
            measures=measures[int(self._random.integers(len(measures)))],
            taste=UnitSystem.US if self._chance(0.5) else UnitSystem.METRIC,
            strips_use_by=DAY + timedelta(days=200),
            meter_checked_on=DAY,
        )

    def told_source(self, alkalinity_mg_l: float, ph: float) -> SourceWater:
        """Return what the set-up says of the source, of which this is true."""
        if self._chance(0.5):
            return SourceWater()
        off = 1.0 + 0.12 * float(self._random.standard_normal())
        told_ph = round(ph + 0.1 * float(self._random.standard_normal()), 1)
        return SourceWater(
            alkalinity_mg_l=float(round(max(1.0, alkalinity_mg_l * off))),
            ph=told_ph if self._chance(0.7) else None,
        )

    # -- tanks ----------------------------------------------------------------------------------

    def _tanks(
        self, count: int, volume: float, sanitizer: Sanitizer, acid: Acid | None, by: Method
    ) -> tuple[Tank, ...]:
        wash = self._limits(by)
        rinses = count > 1 and by is not Method.STRIP and self._chance(0.3)
        peracetic = self._peracetic_limits() if acid is None and _is_peracetic(sanitizer) else None
        same = self._common(volume)
        tanks = []
        for number in range(1, count + 1):
            rinse = rinses and number == count
            litres = float(f"{volume * float(self._random.uniform(0.8, 1.1)):.3g}")
            second = litres if volume > TUB_L and self._chance(0.06) else None
            tank = Tank(
                number=number,
                name=f"Tank {number}",
                stage=Stage.RINSE if rinse else Stage.WASH,
                volume_l=litres,
                sanitizer=sanitizer.key,
                chlorine=_chlorine(_RINSE if rinse else wash),
                acid=None if acid is None else acid.key,
                peracetic=peracetic,
                second_volume_l=second,
            )
            tanks.append(structs.replace(tank, **same))
        return tuple(tanks)

    def _common(self, volume: float) -> dict[str, object]:
        """Return what is alike in all tanks of a line: schedule, checks, mixing."""
        batches, minutes = self._pick(_CHECKS)
        ph = self._pick((PhLimits(), PhLimits(), PhLimits(low=6.5, target=7.2, high=7.8)))
        return {
            "ph": ph,
            "mix_minutes": float(self._pick((3, 5, 5, 5, 8 if volume > HUGE_L else 6))),
            "check_batches": batches,
            "check_minutes": minutes,
            "batches_per_fill": self._pick((None, 20, 30, 40, 60)),
            "hours_per_fill": self._pick((None, None, 3.0, 4.0)),
            "turbidity_max_ntu": self._pick((None, 40.0, 60.0, 100.0)),
        }

    def _limits(self, by: Method) -> tuple[float, ...]:
        known = _LIMITS[:3] if by is Method.STRIP else _LIMITS
        limits = known[int(self._random.integers(len(known)))]
        if by is Method.STRIP or self._chance(0.6):
            return limits
        factor = float(self._random.uniform(0.9, 1.1))
        return (*(round(factor * one) for one in limits[:4]), 1.1 * limits[4])

    def _peracetic_limits(self) -> PeraceticLimits:
        low, critical = self._pick(((50.0, 40.0), (30.0, 20.0)))
        return PeraceticLimits(
            critical_low_mg_l=critical,
            low_mg_l=low,
            target_mg_l=low + 15.0,
            high_mg_l=75.0,
            label_max_mg_l=80.0,
        )

    # -- products -------------------------------------------------------------------------------

    def _hypochlorite(self, volume: float) -> Sanitizer:
        if volume > SOLID_L and self._chance(0.15):
            return Sanitizer(
                key="cal",
                name="calcium hypochlorite",
                kind=SanitizerKind.CALCIUM,
                strength=float(self._pick((65, 68, 73))),
                basis=StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE,
            )
        strength = float(
            self._pick((6.0, 8.25)) if volume <= TUB_L else self._pick((8.25, 10, 12.5))
        )
        weight = StrengthBasis.WEIGHT_PCT_NAOCL
        bases = (
            weight,
            weight,
            StrengthBasis.TRADE_PCT,
            StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE,
        )
        made = DAY - timedelta(days=int(self._random.integers(5, 60)))
        return Sanitizer(
            key="bleach",
            name="bleach",
            kind=SanitizerKind.SODIUM,
            strength=strength,
            basis=self._pick(bases),
            density_kg_l=round(1.0 + 0.0135 * strength, 3),
            made_on=made if self._chance(0.15) else None,
            storage_c=20.0,
        )

    def _peracetic(self) -> Sanitizer:
        paa, peroxide, hedp = self._pick(((15.0, 10.0, 0.6), (22.0, 5.0, 0.8), (12.0, 7.0, 0.5)))
        return Sanitizer(
            key="paa",
            name="peracetic acid",
            kind=SanitizerKind.PERACETIC,
            strength=paa,
            density_kg_l=1.12,
            peroxide_pct=peroxide,
            hedp_pct=hedp,
        )

    def _acid(self, volume: float) -> Acid:
        small = (AcidKind.VINEGAR, AcidKind.VINEGAR, AcidKind.CITRIC)
        kind = self._pick(small if volume <= TUB_L else tuple(AcidKind))
        strength = {
            AcidKind.VINEGAR: 5.0,
            AcidKind.CITRIC: 100.0,
            AcidKind.HYDROCHLORIC: 31.45,
            AcidKind.PHOSPHORIC: 75.0,
            AcidKind.SODIUM_BISULFATE: 93.0,
        }[kind]
        name = kind.value.replace("_", " ")
        return Acid(key="acid", name=name, kind=kind, strength_pct=strength)

    # -- chance ---------------------------------------------------------------------------------

    def _chance(self, share: float) -> bool:
        return float(self._random.random()) < share

    def _between(self, low: float, high: float) -> float:
        return float(np.exp(self._random.uniform(np.log(low), np.log(high))))

    def _pick(self, known: Sequence[Picked]) -> Picked:
        return known[int(self._random.integers(len(known)))]


def _is_peracetic(sanitizer: Sanitizer) -> bool:
    return sanitizer.kind is SanitizerKind.PERACETIC


def _chlorine(limits: tuple[float, ...]) -> ChlorineLimits:
    critical, low, target, high, label = limits
    return ChlorineLimits(
        critical_low_mg_l=critical,
        low_mg_l=low,
        target_mg_l=target,
        high_mg_l=high,
        label_max_mg_l=label,
        label_basis=LabelBasis.FREE,
    )


def three_tubs() -> LineSetup:
    """Return the smallest and commonest shed: three tubs, strips, bleach and vinegar in spoons.

    The volumes and strengths are the check world of its issue; a pair of limits of the trade.
    """
    bleach = Sanitizer(
        key="bleach",
        name="household bleach",
        kind=SanitizerKind.SODIUM,
        strength=8.25,
        basis=StrengthBasis.WEIGHT_PCT_NAOCL,
        density_kg_l=1.11,
    )
    vinegar = Acid(key="acid", name="vinegar", kind=AcidKind.VINEGAR, strength_pct=5.0)
    tanks = tuple(
        Tank(
            number=number,
            name=f"Tub {number}",
            stage=Stage.WASH,
            volume_l=17.8,
            sanitizer="bleach",
            acid="acid",
            chlorine=_chlorine(_LIMITS[0]),
            batches_per_fill=20,
            hours_per_fill=4.0,
            check_batches=6,
            check_minutes=30.0,
        )
        for number in (1, 2, 3)
    )
    return LineSetup(
        site="Drawn shed",
        location="Bay 1",
        line="Tubs",
        commodity="mixed greens",
        people=(Person(initials=WHO, name="O. B.", role=Role.SUPERVISOR),),
        tanks=tanks,
        sanitizers=(bleach,),
        acids=(vinegar,),
        measures=_SPOONS[0],
        taste=UnitSystem.US,
        strips_use_by=DAY + timedelta(days=200),
        meter_checked_on=DAY,
    )
