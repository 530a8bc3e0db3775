"""What the strength on a container comes to, said while it is written."""

import math
from typing import NamedTuple

from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.hypochlorite import (
    StrengthBasis,
    available_chlorine_g_l,
    solid_available_chlorine_g_kg,
    typical_density_kg_l,
)
from washmon.gui.i18n import tr
from washmon.gui.setup_guide.writing import Writing
from washmon.units import Kind


class WrittenStrength(NamedTuple):
    """A number that was written, NaN where none was, and what it counts, if that is known."""

    number: float
    basis: StrengthBasis | None
    writing: Writing

    def usual_density(self) -> str:
        """Say where the density stands, and what it usually is."""
        if self.basis is None:
            return tr("On the container or its data sheet.")
        try:
            usual = typical_density_kg_l(self.number, self.basis)
        except ChemistryError:
            return tr("On the container or its data sheet.")
        return tr(
            "On the container or its data sheet; usually about {usual}.",
            usual=self.writing.show(round(usual, 2), Kind.DENSITY),
        )

    def as_peracetic(self, density_kg_l: float) -> str:
        """Say how much peracetic acid a litre holds; nothing while that is not known."""
        held = 10 * self.number * density_kg_l
        if not math.isfinite(held):
            return ""
        return tr("= {level} peracetic acid", level=self.writing.show(held, Kind.STRENGTH))

    def as_solid(self) -> str:
        """Say how much available chlorine a kilogram holds; nothing while that is not known."""
        if not math.isfinite(self.number):
            return ""
        try:
            held = solid_available_chlorine_g_kg(self.number)
        except ChemistryError:
            return ""
        return tr("= {level} available chlorine", level=f"{held:.0f} g/kg")

    def as_liquid(self, density_kg_l: float) -> str:
        """Say how much available chlorine a litre holds, or how far apart two readings of it are.

        Args:
            density_kg_l: that of the product; NaN where it is needed and not written.
        """
        if not math.isfinite(self.number):
            return ""
        try:
            if self.basis is None:
                return self._two_readings()
            if not math.isfinite(density_kg_l):
                return ""
            held = available_chlorine_g_l(self.number, self.basis, density_kg_l)
        except ChemistryError:
            return ""
        return tr("= {level} available chlorine", level=self.writing.show(held, Kind.STRENGTH))

    def _two_readings(self) -> str:
        by_weight = StrengthBasis.WEIGHT_PCT_NAOCL
        heavy = available_chlorine_g_l(
            self.number, by_weight, typical_density_kg_l(self.number, by_weight)
        )
        trade = available_chlorine_g_l(self.number, StrengthBasis.TRADE_PCT, 1.0)
        low, high = sorted((heavy, trade))
        return tr(
            "{low} or {high}: which one?",
            low=self.writing.show(low, Kind.STRENGTH),
            high=self.writing.show(high, Kind.STRENGTH),
        )
