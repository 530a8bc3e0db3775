"""The set-up guide for tests, hands for it, and a set-up in which every field is filled."""

from datetime import date

import msgspec
from PySide6.QtCore import QLocale, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit, QWidget
from pytestqt.qtbot import QtBot
from shiboken6 import delete

from washmon.chemistry.acid import AcidKind
from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.gui.kit.confirm import ConfirmQuestion
from washmon.gui.kit.form_fields import FormField, TextField
from washmon.gui.setup_guide import SetupGuide
from washmon.gui.setup_guide.fields import AmountField
from washmon.gui.setup_guide.product_forms import SanitizerForm
from washmon.gui.setup_guide.tank_form import TankForm
from washmon.line.setup import (
    Acid,
    ChlorineLimits,
    InsideMeasurements,
    LabelBasis,
    LineSetup,
    Look,
    Margins,
    PeraceticLimits,
    Person,
    PhLimits,
    Price,
    Role,
    RuleOff,
    Sanitizer,
    SanitizerKind,
    Shape,
    SoldBy,
    SourceWater,
    Stage,
    Tank,
    TemperatureRule,
    TemperatureRuleKind,
)
from washmon.units import UnitSystem

TODAY = date(2026, 5, 7)
ENGLISH = QLocale(QLocale.Language.English, QLocale.Country.UnitedKingdom)
GERMAN = QLocale(QLocale.Language.German, QLocale.Country.Germany)
PLACE, PRODUCTS, TANKS, MEASURES, MARGINS, RULES, LOOK = range(2, 9)
FRUIT = 2
"""The place of a template with three tanks."""


MADE: dict[str, SetupGuide] = {}
"""By language."""


def opened(qtbot: QtBot, setup: LineSetup | None = None, locale: QLocale = ENGLISH) -> SetupGuide:
    """Open the guide on a set-up.

    As in the program, one guide is opened again and again: it has a thousand labels to make.
    """
    name = locale.name()
    if name not in MADE:
        MADE[name] = SetupGuide(today=lambda: TODAY, locale=locale)
    guide = MADE[name]
    guide.resize(1366, 768)
    guide.writing.set_taste(UnitSystem.METRIC)
    guide.start(setup)
    with qtbot.waitExposed(guide):
        guide.show()
    guide.activateWindow()
    qtbot.waitUntil(guide.isActiveWindow)
    return guide


def put_away() -> None:
    """Hide what was opened, and let another window be active, so that it can be so again."""
    other = QWidget()
    other.show()
    for guide in MADE.values():
        guide.hide()
    delete(other)


def delete_all() -> None:
    """Delete all guides, while there is an application."""
    for guide in MADE.values():
        delete(guide)
    MADE.clear()


def strike(
    widget: QWidget,
    key: Qt.Key,
    modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier,
) -> None:
    QTest.keyClick(widget, key, modifier)


def write(field: TextField | AmountField | FormField, text: str) -> None:
    """Write into a field in place of what is there, as a person would."""
    editor = field.focusProxy()
    assert isinstance(editor, QLineEdit)
    field.focus()
    editor.selectAll()
    strike(editor, Qt.Key.Key_Delete)
    QTest.keyClicks(editor, text)


def press(button: QWidget) -> None:
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


def product(guide: SetupGuide) -> SanitizerForm:
    form = guide.products.roster.forms[0]
    assert isinstance(form, SanitizerForm)
    return form


def tank(guide: SetupGuide, number: int) -> TankForm:
    return guide.tanks.roster.forms[number - 1]


def pick_template(guide: SetupGuide, at: int = 0) -> None:
    press(guide.template.answers.cards[str(at)])
    press(guide.rail.more)


def fill_place(guide: SetupGuide) -> None:
    guide.go_to(PLACE)
    write(guide.place.site, "Willow Bend Packing")
    write(guide.place.location, "4 Mill Lane, Fairford")
    write(guide.place.rows[0].initials, "RM")
    write(guide.place.rows[0].name, "Robin Meyer")


def question(guide: SetupGuide) -> ConfirmQuestion:
    (found,) = (one for one in guide.findChildren(ConfirmQuestion) if not one.isHidden())
    return found


def full_acid() -> Acid:
    return Acid(
        key="acid",
        name="Acid",
        kind=AcidKind.PHOSPHORIC,
        strength_pct=75.0,
        lot="A",
        price=Price(cost=83.456, amount=34.5678, sold_by=SoldBy.WEIGHT),
        density_kg_l=1.57654,
    )


def full_setup() -> LineSetup:
    """Every field that the set-up has, filled with something that shows what it is."""
    return LineSetup(
        site="Willow Bend",
        location="Fairford",
        line="Fruit line",
        commodity="Apples",
        people=(
            Person(initials="RM", name="Robin Meyer", role=Role.SUPERVISOR),
            Person(initials="JK", name="Jo Kessler", role=Role.TRAINER),
        ),
        tanks=full_tanks(),
        source=SourceWater(
            alkalinity_mg_l=187.654,
            alkalinity_error_mg_l=21.2345,
            ph=7.65,
            ph_error=0.15,
            chloride_mg_l=34.567,
        ),
        sanitizers=full_products(),
        acids=(full_acid(),),
        currency="USD",
        water_price=Price(cost=4.5678, amount=3785.41),
        measures=("kitchen_scale", "teaspoon"),
        taste=UnitSystem.US,
        margins=Margins(ph_deadband=0.2, rinse_share=0.425, gas_air_ppm=0.45),
        strips_use_by=date(2026, 9, 30),
        learned_since=date(2026, 4, 1),
        meter_checked_on=date(2026, 5, 1),
        meter_check_days=5,
        rules_off=(
            RuleOff(
                rule="reading-repeats", reason="One pad only.", by="RM", since=date(2026, 5, 2)
            ),
            RuleOff(rule="long-gone", reason="It came and went."),
        ),
    )


def full_tanks() -> tuple[Tank, ...]:
    """A chlorine tank with all there is, one with other limits, one of peracetic acid."""
    first = full_tank()
    second = msgspec.structs.replace(
        first,
        number=2,
        name="Rinse",
        stage=Stage.RINSE,
        sanitizer="powder",
        acid=None,
        measured=None,
        turbidity_max_ntu=12.34567,
        look_limit=None,
        contact_s=None,
        temperature_rule=None,
        critical_temperature=False,
    )
    third = msgspec.structs.replace(
        second,
        number=3,
        name="Flume",
        sanitizer="paa",
        peracetic=PeraceticLimits(
            critical_low_mg_l=20.1234,
            low_mg_l=30.0,
            target_mg_l=50.0,
            high_mg_l=70.0,
            label_max_mg_l=79.9,
            legal_peroxide_mg_l=58.0,
        ),
    )
    return first, second, third


def full_tank() -> Tank:
    return Tank(
        number=1,
        name="Dump tank",
        stage=Stage.DUMP_TANK,
        volume_l=5678.123456,
        sanitizer="drum",
        acid="acid",
        chlorine=ChlorineLimits(
            critical_low_mg_l=33.3333,
            low_mg_l=60.0,
            target_mg_l=100.0,
            high_mg_l=140.0,
            label_max_mg_l=150.0,
            label_basis=LabelBasis.TOTAL,
        ),
        ph=PhLimits(low=6.55, target=7.03, high=7.4),
        measured=InsideMeasurements(
            shape=Shape.TROUGH, width_cm=123.4567, depth_cm=45.0, length_cm=700.0
        ),
        turbidity_max_ntu=None,
        look_limit=Look.FAINT,
        batches_per_fill=None,
        hours_per_fill=3.3,
        check_batches=7,
        check_minutes=None,
        contact_s=62.5,
        temperature_rule=TemperatureRule(kind=TemperatureRuleKind.NOT_COLDER, by_c=5.56),
        mix_minutes=7.25,
        min_batches_per_dose=4,
        critical_contact_s=41.5,
        critical_ph=7.85,
        critical_temperature=True,
        second_volume_l=345.6789,
    )


def full_products() -> tuple[Sanitizer, ...]:
    return (
        Sanitizer(
            key="drum",
            name="Drum",
            kind=SanitizerKind.SODIUM,
            strength=12.345678,
            basis=StrengthBasis.WEIGHT_PCT_NAOCL,
            density_kg_l=1.1987654,
            lot="D-17",
            made_on=date(2026, 3, 1),
            opened_on=date(2026, 4, 1),
            use_by=date(2026, 9, 1),
            storage_c=23.456,
            tested_g_l=111.2345,
            tested_on=date(2026, 4, 20),
            price=Price(cost=31.2345, amount=18.9271),
        ),
        Sanitizer(
            key="paa",
            name="Peracetic",
            kind=SanitizerKind.PERACETIC,
            strength=15.4321,
            density_kg_l=1.1234567,
            peroxide_pct=10.1234,
            hedp_pct=0.65432,
            price=Price(cost=99.0, amount=22.3456, sold_by=SoldBy.WEIGHT),
        ),
        Sanitizer(
            key="powder",
            name="Powder",
            kind=SanitizerKind.CALCIUM,
            strength=65.0,
            basis=StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE,
            price=Price(cost=90.0, amount=45.3592, sold_by=SoldBy.WEIGHT),
        ),
    )
