"""``washmon calc``: the amounts that the Board would advise, without a shift."""

import json
from typing import Annotated

import typer

from washmon.chemistry.acid import AcidKind, is_solid, small_step
from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.hypochlorite import StrengthBasis, typical_density_kg_l
from washmon.chemistry.measures import METRIC_SET, US_SET, in_measure
from washmon.cli.common import JsonOption, plainly, refuse
from washmon.line.product import dose as dose_of
from washmon.line.product import rise as rise_of
from washmon.line.product import strength as strength_of
from washmon.line.setup import Hypochlorite, Sanitizer
from washmon.units import Kind, Taste, UnitError, parse

app = typer.Typer(rich_markup_mode=None, help="What the Board would advise, without a shift.")

HYPOCHLORITE = (
    "Goggles and gloves. Add it to the water on its own: with acid it makes chlorine gas."
)
ACID = "Goggles and gloves. Acid into water, on its own: with hypochlorite it makes chlorine gas."
LABEL = "The product label, local codes and licensed practice come first."

VolumeOption = Annotated[
    str, typer.Option("--volume", help="Water in the tank, such as '570 L' or '150 gal'.")
]
TasteOption = Annotated[Taste, typer.Option("--units", help="Units of bare numbers and measures.")]


@app.command()
def dose(  # noqa: PLR0917 - each is an option of its own
    volume: VolumeOption,
    target: Annotated[str, typer.Option("--to", help="Target, ppm free chlorine.")],
    strength: Annotated[float, typer.Option(help="The number on the label.")],
    basis: Annotated[StrengthBasis, typer.Option(help="What that number counts.")],
    level: Annotated[str, typer.Option("--from", help="Level now, ppm free chlorine.")] = "0",
    density: Annotated[float | None, typer.Option(help="kg/L, for the weight percents.")] = None,
    *,
    solid: Annotated[bool, typer.Option("--solid", help="Calcium hypochlorite.")] = False,
    units: TasteOption = Taste.METRIC,
    as_json: JsonOption = False,
) -> None:
    """Say how much hypochlorite brings a tank from a level to its target."""
    with plainly(ChemistryError, UnitError):
        volume_l = parse(volume, Kind.VOLUME, units)
        level_mg_l = parse(level, Kind.CONCENTRATION, units)
        target_mg_l = parse(target, Kind.CONCENTRATION, units)
        guessed = density is None and not solid and basis in _BY_WEIGHT
        if guessed:
            density = typical_density_kg_l(strength, basis)
        product = Sanitizer(
            key="product",
            name="the product",
            kind=Hypochlorite.CALCIUM if solid else Hypochlorite.SODIUM,
            strength=strength,
            basis=basis,
            density_kg_l=density,
        )
        amount = dose_of(product, volume_l, level_mg_l, target_mg_l)
        available = strength_of(product)
        to_measure = in_measure(amount.value, _owned(units), solid=solid)
        rise = rise_of(product, volume_l, amount)
    _say(
        {
            "amount": round(amount.value, 3),
            "unit": amount.unit,
            "measured": to_measure.describe(),
            "measured_error_pct": round(100 * to_measure.error_fraction, 1),
            "available_chlorine": round(available, 2),
            "available_chlorine_unit": "g/kg" if solid else "g/L",
            "density_kg_l": density,
            "density_guessed": guessed,
            "rise_mg_l": round(rise, 2),
            "cautions": [HYPOCHLORITE, LABEL],
        },
        f"Add {to_measure.describe()} ({amount.value:.1f} {amount.unit}), stir, wait, re-check.",
        as_json=as_json,
    )


_BY_WEIGHT = (StrengthBasis.WEIGHT_PCT_NAOCL, StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE)


@app.command()
def acid(
    volume: VolumeOption,
    ph: Annotated[float, typer.Option("--ph", help="pH now.")],
    kind: Annotated[AcidKind, typer.Option(help="Which acid.")] = AcidKind.VINEGAR,
    strength: Annotated[float | None, typer.Option(help="Percent on the label.")] = None,
    high: Annotated[float, typer.Option(help="Highest pH wanted.")] = 7.5,
    *,
    units: TasteOption = Taste.METRIC,
    as_json: JsonOption = False,
) -> None:
    """Say how much acid to add as one careful step before measuring pH again."""
    if ph <= high:
        raise refuse(f"pH {ph:g} is not over {high:g}: add no acid.")
    with plainly(ChemistryError, UnitError):
        volume_l = parse(volume, Kind.VOLUME, units)
        value = small_step(volume_l, ph, kind, strength)
        solid = is_solid(kind)
        to_measure = in_measure(value, _owned(units), solid=solid, never_more=True)
    unit = "g" if solid else "mL"
    _say(
        {
            "amount": round(value, 3),
            "unit": unit,
            "measured": to_measure.describe(),
            "measured_error_pct": round(100 * to_measure.error_fraction, 1),
            "cautions": [ACID, LABEL],
        },
        f"Add {to_measure.describe()} ({value:.1f} {unit}), stir, wait, re-check pH.",
        as_json=as_json,
    )


def _owned(units: Taste) -> tuple[str, ...]:
    return US_SET if units is Taste.US else METRIC_SET


def _say(facts: dict[str, object], sentence: str, *, as_json: bool) -> None:
    if as_json:
        typer.echo(json.dumps(facts, ensure_ascii=False))
        return
    typer.echo(sentence)
    for caution in facts["cautions"] if isinstance(facts["cautions"], list) else ():
        typer.echo(caution)
