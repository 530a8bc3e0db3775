"""The hypochlorite that several calculations ask for, read from its label."""

from typing import NamedTuple

from washmon.chemistry.hypochlorite import (
    STRONGEST_LIQUID_G_L,
    StrengthBasis,
    available_chlorine_g_l,
    solid_available_chlorine_g_kg,
    typical_density_kg_l,
)
from washmon.line.calculations.asking import (
    NO,
    YES,
    Answers,
    Choice,
    Field,
    Instead,
    OnlyWhere,
    beside,
    between,
)
from washmon.line.calculations.fields import THE_PRODUCT
from washmon.line.message import Figure, Message
from washmon.line.setup import LineSetup, SanitizerKind, Tank
from washmon.units import Kind

BASIS_WORDS = {
    StrengthBasis.WEIGHT_PCT_NAOCL: "Percent sodium hypochlorite, by weight",
    StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE: "Percent available chlorine, by weight",
    StrengthBasis.TRADE_PCT: "Trade percent",
    StrengthBasis.G_PER_L_AVAILABLE_CHLORINE: "Grams per litre of available chlorine",
}
BY_WEIGHT = frozenset(
    {StrengthBasis.WEIGHT_PCT_NAOCL.value, StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE.value}
)

SOLID = Field(
    "solid",
    "Kind",
    choices=(Choice(NO, "Liquid (sodium)"), Choice(YES, "Solid (calcium)")),
    group=THE_PRODUCT,
    usual=NO,
)
LIQUID = OnlyWhere("solid", frozenset({NO}))
STRENGTH = Field(
    "strength",
    "Strength on the label",
    Kind.PERCENT,
    group=THE_PRODUCT,
    check=between("strength", 1e-3, STRONGEST_LIQUID_G_L),
    instead=Instead(
        "basis", frozenset({StrengthBasis.G_PER_L_AVAILABLE_CHLORINE.value}), Kind.STRENGTH
    ),
)
BASIS = Field(
    "basis",
    "What the strength counts",
    choices=tuple(Choice(basis.value, words) for basis, words in BASIS_WORDS.items()),
    group=THE_PRODUCT,
    only=(LIQUID,),
)
DENSITY = Field(
    "density",
    "Density",
    Kind.DENSITY,
    group=THE_PRODUCT,
    hint="From the data sheet; else a usual one is taken.",
    optional=True,
    check=between("density of the product", 0.95, 1.45, "kg/L"),
    only=(OnlyWhere("basis", BY_WEIGHT),),
)
PRODUCT = (SOLID, STRENGTH, BASIS, DENSITY)


class Product(NamedTuple):
    """Available chlorine, g/L of a liquid or g/kg of a solid, and where its density is from."""

    strength: float
    solid: bool
    density_kg_l: float | None
    guessed: bool

    @property
    def unit(self) -> str:
        """The unit of the strength."""
        return "g/kg" if self.solid else "g/L"

    def how(self, decimal_point: str) -> Message:
        """Say what strength was used, and with what density."""
        figure = f"{self.strength:.1f}".replace(".", decimal_point)
        values: dict[str, str | int | Figure] = {"strength": f"{figure} {self.unit}"}
        if self.density_kg_l is None:
            return Message("The product holds {strength} of available chlorine.", {**values})
        values["density"] = Figure(self.density_kg_l, Kind.DENSITY)
        text = "The product holds {strength} of available chlorine, at {density}."
        if self.guessed:
            text = (
                "The product holds {strength} of available chlorine, if its density is the usual "
                "{density} (value from memory, good to 0.02: the data sheet is better)."
            )
        return Message(text, {**values})


def product_of(answers: Answers) -> Product:
    """Return the product that the answers tell of.

    Raises:
        FieldFault: the label can't say this.
    """
    strength = answers.amount("strength")
    with beside("strength"):
        if answers.choice("solid") == YES:
            return Product(solid_available_chlorine_g_kg(strength), True, None, guessed=False)
        basis = StrengthBasis(answers.choice("basis"))
        density = answers.maybe("density")
        guessed = density is None and basis in BY_WEIGHT
        if density is None:
            density = typical_density_kg_l(strength, basis)
        available = available_chlorine_g_l(strength, basis, density)
    needed = density if basis in BY_WEIGHT or answers.maybe("density") is not None else None
    return Product(available, False, needed, guessed)


def known_product(setup: LineSetup, tank: Tank) -> dict[str, float | str | None]:
    """Return what the set-up knows of the hypochlorite that this tank gets."""
    product = setup.sanitizer(tank.sanitizer)
    if product is None or product.kind is SanitizerKind.PERACETIC:
        return {}
    return {
        "solid": YES if product.kind is SanitizerKind.CALCIUM else NO,
        "strength": product.strength,
        "basis": product.basis.value if product.basis else "",
        "density": product.density_kg_l,
    }
