"""What goes into a tank: a dose of its sanitizer, or acid; never both on one sheet."""

import re
from typing import TypeVar

from washmon.chemistry.acid import is_solid as is_solid_acid
from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.measures import MEASURES, METRIC_SET, US_SET
from washmon.gui.board.cautions import short
from washmon.gui.entry.ask import Ask
from washmon.gui.entry.made_with import container_field, read_container
from washmon.gui.entry.sheet_form import Fields, OneTankForm, second_waits
from washmon.gui.entry.texts import Texts
from washmon.gui.i18n import tr
from washmon.gui.kit.sheet_spec import FieldKind as Fill
from washmon.gui.kit.sheet_spec import FieldSpec
from washmon.line.events import AcidAdded, DoseAdded
from washmon.line.flags import Amount, Caution, StepKind
from washmon.line.measure import measured
from washmon.line.product import is_solid
from washmon.line.setup import Acid, LineSetup, Sanitizer, SanitizerKind, Tank
from washmon.line.state import Placed, TankState, order
from washmon.units import Kind, UnitSystem

_LABEL = Caution.LABEL
Added = TypeVar("Added", DoseAdded, AcidAdded)


def dose_form() -> OneTankForm:
    """Return the form of a dose of sanitizer."""
    return OneTankForm(tr("Dose"), _dose_fields, _build_dose, note=_dose_note, second=second_waits)


def acid_form() -> OneTankForm:
    """Return the form of an addition of acid."""
    return OneTankForm(tr("Acid"), _acid_fields, _build_acid, note=_acid_note, second=second_waits)


def _dose_note(ask: Ask) -> str:
    of = {
        SanitizerKind.SODIUM: Caution.HYPOCHLORITE,
        SanitizerKind.CALCIUM: Caution.HYPOCHLORITE,
        SanitizerKind.PERACETIC: Caution.PERACETIC,
    }
    products = ask.shift.setup.sanitizers
    return _cautions(ask, *dict.fromkeys(of[product.kind] for product in products))


def _acid_note(ask: Ask) -> str:
    if not any(tank.spec.acid for tank in ask.shift.tanks):
        return tr("No tank has an acid in the set-up: add one there first.")
    return _cautions(ask, Caution.ACID)


def _cautions(ask: Ask, *always: Caution) -> str:
    said = ask.taken.cautions if ask.taken is not None else ()
    texts = [short((one,)) for one in dict.fromkeys((*always, *said, _LABEL))]
    return "  ".join(f"{text.word}: {text.text}" for text in texts if text is not None)


def _is_solid(product: Sanitizer | Acid) -> bool:
    if isinstance(product, Acid):
        return is_solid_acid(product.kind)
    return is_solid(product)


def _units(setup: LineSetup, *, solid: bool) -> tuple[str, ...]:
    """Return the units that the shed can measure in."""
    owned = setup.measures or (US_SET if setup.taste is UnitSystem.US else METRIC_SET)
    known = [MEASURES[name] for name in owned if name in MEASURES]
    units = [measure.unit for measure in known if measure.solid is solid]
    usual = ["g"] if solid else ["mL"]
    return tuple(dict.fromkeys([*units, *usual]))


def _last_used(ask: Ask, tank: TankState, product: str, units: tuple[str, ...]) -> str:
    """Return the unit in which a product was last written here, else in any tank; empty if never.

    Hands reach for the measure that they had: a sheet that opens in another one turns cups into
    teaspoons.
    """
    for one in (tank, *ask.shift.tanks):
        added: list[Placed[DoseAdded] | Placed[AcidAdded]] = []
        for fill in one.every_fill:
            added += [*fill.doses, *fill.acids]
        for last in sorted(added, key=order, reverse=True):
            if last.event.product == product:
                used = [unit for unit in units if _is_written_in(last.event.as_entered, unit)]
                if used:
                    return max(used, key=len)
    return ""


def _is_written_in(written: str, unit: str) -> bool:
    return re.search(rf"(^|[^A-Za-z]){re.escape(unit)}s?$", written.strip()) is not None


def _dose_fields(ask: Ask, tank: TankState) -> Fields:
    setup = ask.shift.setup
    product = setup.sanitizer(_product(ask, DoseAdded, tank.spec.sanitizer))
    return _amount_fields(ask, tank, product, StepKind.DOSE)


def _acid_fields(ask: Ask, tank: TankState) -> Fields:
    product = ask.shift.setup.acid(_product(ask, AcidAdded, tank.spec.acid or ""))
    return _amount_fields(ask, tank, product, StepKind.ACID)


def _product(ask: Ask, kind: type[DoseAdded | AcidAdded], usual: str) -> str:
    """Return the product: the tank's, or that of the entry which is corrected."""
    old = ask.old
    return old.product if isinstance(old, kind) else usual


def _amount_fields(
    ask: Ask, tank: TankState, product: Sanitizer | Acid | None, step: StepKind
) -> Fields:
    if product is None:
        return ()
    number, unit = _suggested(ask, tank, step)
    old = ask.old
    entered = old.as_entered if isinstance(old, DoseAdded | AcidAdded) else ""
    amount = FieldSpec(
        "amount",
        product.name,
        last=number,
        required=True,
        hint=tr("advised: {amount} {unit}", amount=number, unit=unit) if number else "",
        # Who pressed "Added it" under a step has added what it said, unless they write otherwise.
        value=entered or (number if ask.did_step_of(tank) else ""),
    )
    owned = _units(ask.shift.setup, solid=_is_solid(product))
    first = unit or _last_used(ask, tank, product.key, owned) or owned[0]
    units = tuple(dict.fromkeys([first, *owned]))
    unit_field = FieldSpec(
        "unit",
        tr("in"),
        kind=Fill.CHOICE,
        choices=tuple((one, one) for one in units),
        last=units[0],
        aside=True,
    )
    container = container_field(ask, product.key)
    return (amount, unit_field) if container is None else (amount, unit_field, container)


def _suggested(ask: Ask, tank: TankState, kind: StepKind) -> tuple[str, str]:
    """Return the advised amount as a number and its unit; empty where nothing is advised."""
    step = ask.step_of(tank, kind)
    if step is None or step.amount is None or ask.correcting is not None:
        return "", ""
    try:
        most = step.amount if kind is StepKind.ACID else None  # of acid never more than is told
        amount = measured(step.amount, ask.shift.setup, at_most=most)
    except ChemistryError:
        return "", ""
    return amount.number(ask.person.decimal_point), amount.unit


def _amount(texts: Texts, product: Sanitizer | Acid | None) -> tuple[Amount, str]:
    """Return what was added, and as it was written with its unit."""
    written = texts.text("amount")
    if written and not any(sign.isalpha() for sign in written):
        written = f"{written} {texts.text('unit')}".strip()
    solid = product is not None and _is_solid(product)
    old = texts.ask.old
    if isinstance(old, DoseAdded | AcidAdded) and written == old.as_entered:
        return old.amount, written
    value = texts.read("amount", written, Kind.MASS if solid else Kind.SMALL_VOLUME)
    return Amount(value or 0.0, "g" if solid else "mL"), written


def _tank(texts: Texts) -> Tank:
    return texts.ask.shift.tank(texts.tank).spec


def _build_dose(texts: Texts) -> DoseAdded:
    key = _product(texts.ask, DoseAdded, _tank(texts).sanitizer)
    return _added(DoseAdded, texts, key, texts.ask.shift.setup.sanitizer(key))


def _build_acid(texts: Texts) -> AcidAdded:
    key = _product(texts.ask, AcidAdded, _tank(texts).acid or "")
    if not key:
        texts.faults[""] = tr("This tank has no acid in the set-up: add one there first.")
    return _added(AcidAdded, texts, key, texts.ask.shift.setup.acid(key))


def _added(kind: type[Added], texts: Texts, key: str, product: Sanitizer | Acid | None) -> Added:
    amount, written = _amount(texts, product)
    return kind(
        at=texts.at(),
        by=texts.ask.person.initials,
        tank=texts.tank,
        product=key,
        amount=amount,
        as_entered=written,
        second=texts.second,
        container=read_container(texts, key),
    )
