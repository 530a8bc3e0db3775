"""How people write units, in English and Spanish."""

from typing import NamedTuple

# What each family of units is called in a sentence, and the spellings of its units: the name in
# the registry, then what people write (English and Spanish), compared without upper and lower case.
FAMILIES = {
    "a volume": """
        liter: l liter liters litre litres litro litros
        milliliter: ml milliliter milliliters millilitre millilitres cc cm3 cm³ mililitro mililitros
        cubic_meter: m3 m³
        gallon: gal gal. gals gallon gallons galón galones
        quart: qt qt. qts quart quarts
        pint: pt pt. pts pint pints pinta pintas
        cup: cup cups taza tazas
        fluid_ounce: fl_oz floz fl.oz. fl._oz. fl_oz. fluid_ounce fluid_ounces onza_líquida
        tablespoon: tbsp tbsp. tbs tablespoon tablespoons cda cdas cucharada cucharadas
        teaspoon: tsp tsp. teaspoon teaspoons cdta cdtas cucharadita cucharaditas
        cubic_inch: in3 in³""",
    "a weight": """
        gram: g gram grams gramo gramos
        kilogram: kg kilo kilos kilogram kilograms kilogramo kilogramos
        milligram: mg
        pound: lb lb. lbs lbs. pound pounds libra libras
        ounce: oz oz. ounce ounces onza onzas""",
    "a length": """
        meter: m meter meters metre metres metro metros
        centimeter: cm
        millimeter: mm
        inch: in in. inch inches " ″ pulgada pulgadas
        foot: ft ft. foot feet ' ′ pie pies""",
    "a temperature": """
        degree_Celsius: °c c degc ºc
        degree_Fahrenheit: °f f degf ºf""",
    "a concentration": """
        ppm: ppm mg/l
        gram_per_liter: g/l""",
    "a density": """
        kilogram_per_liter: kg/l g/ml g/cm3 g/cm³
        pound_per_gallon: lb/gal""",
    "a time": """
        second: s sec second seconds segundo segundos
        minute: min minute minutes minuto minutos
        hour: h hr hrs hour hours hora horas""",
    "a turbidity": "NTU: ntu",
    "a voltage": """
        volt: v
        millivolt: mv""",
    "a percentage": "percent: % percent",
    "a pH": "pH: ph",
    "a whole number": "",
    "an amount of money": "",
}


class Unit(NamedTuple):
    """A unit by its name in the registry, and the family that it belongs to."""

    name: str
    family: str


def _spellings() -> dict[str, Unit]:
    """Return each accepted spelling with the unit that it means."""
    found: dict[str, Unit] = {}
    for family, lines in FAMILIES.items():
        for line in lines.strip().splitlines():
            name, _, texts = line.strip().partition(": ")
            for text in texts.split():
                found[text.replace("_", " ")] = Unit(name, family)
    return found


SPELLINGS = _spellings()
