"""The set-up guide, driven through its real widgets."""

from datetime import date
from itertools import cycle

import msgspec
import pytest
from PySide6.QtCore import QLocale, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from tests.gui.setup_guide.guides import (
    ENGLISH,
    FRUIT,
    GERMAN,
    LOOK,
    MARGINS,
    MEASURES,
    PLACE,
    PRODUCTS,
    RULES,
    TANKS,
    fill_place,
    full_setup,
    opened,
    pick_template,
    press,
    product,
    question,
    strike,
    tank,
    write,
)
from tests.some import some
from washmon.chemistry.acid import AcidKind
from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.gui.kit.form_fields import FormField
from washmon.gui.kit.text import Text
from washmon.gui.setup_guide import SetupGuide
from washmon.gui.setup_guide.acid_form import AcidForm
from washmon.gui.setup_guide.fields import AmountField
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.message import Message
from washmon.line.setup import (
    LabelBasis,
    LineSetup,
    PeraceticLimits,
    Person,
    Role,
    SanitizerKind,
    Shape,
    SourceWater,
    TemperatureRuleKind,
)
from washmon.line.templates import Shelf, templates
from washmon.line.validate import faults
from washmon.units import UnitSystem


@pytest.fixture
def guide(qtbot: QtBot) -> SetupGuide:
    return opened(qtbot)


# --- from a template to a saved set-up


def describe_place(guide: SetupGuide) -> None:
    assert guide.at == PLACE
    write(guide.place.site, "Willow Bend Packing")
    strike(guide.place.site.editor, Qt.Key.Key_Return)
    QTest.keyClicks(guide.place.location.editor, "4 Mill Lane, Fairford")
    person = guide.place.rows[0]
    write(person.initials, "R1")
    strike(person.initials.editor, Qt.Key.Key_Tab)
    assert person.initials.fault.text == "Initials are one to four letters."
    QTest.keyClicks(person.name.editor, "Robin Meyer")
    write(person.initials, "RM")
    assert person.initials.fault.text == ""
    press(guide.next)


def describe_product(guide: SetupGuide) -> None:
    assert guide.at == PRODUCTS
    form = product(guide)
    write(form.strength, "12.5")
    press(guide.next)
    assert guide.at == TANKS
    press(guide.back)
    assert "differ by about 14 %" in form.basis.fault.text
    assert form.strength.editor.text() == "12.5 %"
    press(form.basis.cards[StrengthBasis.TRADE_PCT])
    assert form.basis.fault.text == ""
    assert form.meaning.text().replace("\N{NO-BREAK SPACE}", " ") == "= 125 g/L available chlorine"
    write(form.use_by, "31/08/2026")
    press(guide.next)


def describe_tanks(guide: SetupGuide) -> None:
    assert guide.at == TANKS
    first = tank(guide, 1)
    write(first.volume, "150 gal")
    write(first.low, "60")
    first.target.focus()
    assert first.volume.fault.text == ""
    assert first.low.fault.text.replace("\N{NO-BREAK SPACE}", " ") == (
        "Low (60 ppm) must be under the target (55 ppm)."
    )
    write(first.low, "45")
    press(first.label_basis.row.button(LabelBasis.FREE))
    press(first.spread)
    press(guide.next)


def test_a_line_is_described_from_a_template_through_wrong_inputs_to_a_saved_set_up(
    qtbot: QtBot, guide: SetupGuide
) -> None:
    pick_template(guide)
    describe_place(guide)
    describe_product(guide)
    describe_tanks(guide)
    press(guide.measures.toggles["teaspoon"])
    for page in (MEASURES, MARGINS, RULES):
        assert guide.at == page
        press(guide.next)
    assert guide.at == LOOK
    assert guide.look.sentences == []
    with qtbot.waitSignal(guide.finished) as saved:
        press(guide.next)

    setup = saved.args[0]
    assert isinstance(setup, LineSetup)
    assert faults(setup) == []
    assert (setup.site, setup.location) == ("Willow Bend Packing", "4 Mill Lane, Fairford")
    assert setup.people == (Person(initials="RM", name="Robin Meyer", role=Role.SUPERVISOR),)
    assert setup.sanitizers[0].strength == 12.5
    assert setup.sanitizers[0].basis is StrengthBasis.TRADE_PCT
    assert setup.sanitizers[0].use_by == date(2026, 8, 31)
    # 1 US gal = 3.785411784 L exactly (NIST Handbook 44, appendix C).
    assert setup.tanks[0].volume_l == pytest.approx(150 * 3.785411784, rel=1e-12)
    assert setup.tanks[0].chlorine.low_mg_l == 45
    assert [one.chlorine.label_basis for one in setup.tanks] == [LabelBasis.FREE] * 2
    assert setup.tanks[1].volume_l == templates()[0].tanks[1].volume_l
    assert "teaspoon" in setup.measures


def test_save_shows_every_fault_beside_its_field_and_goes_to_the_first(
    qtbot: QtBot, guide: SetupGuide
) -> None:
    pick_template(guide)
    guide.go_to(LOOK)
    with qtbot.assertNotEmitted(guide.finished):
        press(guide.next)
    assert guide.at == PLACE
    qtbot.waitUntil(guide.place.rows[0].initials.editor.hasFocus)
    form = product(guide)
    fields: list[FormField] = [
        guide.place.rows[0].initials,
        guide.place.rows[0].name,
        form.strength,
        form.basis,
        *(tank(guide, number).label_basis for number in (1, 2)),
    ]
    assert all(field.fault.text for field in some(fields))
    assert "things are to mend" in guide.message.words.text()
    notes = [step.note for step in guide.rail.steps]
    assert notes == ["", "", "2 to mend", "2 to mend", "2 to mend", "", "", "", ""]


def test_nobody_is_told_of_faults_where_they_have_not_been(guide: SetupGuide) -> None:
    shown = [
        field.fault.text for page in guide.pages for _, field in page.fields() if field.fault.text
    ]
    assert shown == []
    assert [step.note for step in guide.rail.steps] == [""] * 9


# --- wrong inputs, each beside its field


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("12 kg", "12 kg is a weight; a volume is needed here"),
        ("12 parsecs", "The unit parsecs is not known here"),
        ("-640", "is less than nothing"),
        ("1,000 L", "without a mark for thousands"),
        ("much", "cannot be read as a volume"),
        ("2 L", "A tank holds 5 L to 200000 L"),
        ("", "This is needed"),
    ],
)
def test_a_volume_that_is_none_is_told_beside_it_and_stays_as_typed(
    guide: SetupGuide, text: str, sentence: str
) -> None:
    pick_template(guide)
    guide.go_to(TANKS)
    field = tank(guide, 1).volume
    write(field, text)
    assert field.fault.text == ""
    strike(field.editor, Qt.Key.Key_Tab)
    assert sentence in field.fault.text.replace("\N{NO-BREAK SPACE}", " ")
    assert field.editor.property("fault") is True
    guide.go_to(LOOK)
    guide.go_to(TANKS)
    assert field.editor.text() == text
    assert sentence in field.fault.text.replace("\N{NO-BREAK SPACE}", " ")


def test_a_decimal_comma_is_read_as_the_locale_writes_it(qtbot: QtBot) -> None:
    guide = opened(qtbot, locale=GERMAN)
    pick_template(guide)
    guide.go_to(PRODUCTS)
    form = product(guide)
    write(form.strength, "12,5")
    press(form.basis.cards[StrengthBasis.TRADE_PCT])
    assert guide.draft().sanitizers[0].strength == 12.5
    assert form.strength.editor.text() == "12,5 %"
    write(form.strength, "12.5")
    form.lot.focus()
    assert "without a mark for thousands" in form.strength.fault.text
    write(form.use_by, "31.08.26")
    form.lot.focus()
    assert guide.draft().sanitizers[0].use_by == date(2026, 8, 31)
    assert "2026" in form.use_by.hint.text()


def test_limits_out_of_order_are_shown_at_both_fields_and_go_when_one_is_mended(
    guide: SetupGuide,
) -> None:
    pick_template(guide)
    guide.go_to(TANKS)
    form = tank(guide, 1)
    write(form.target, "20")
    form.high.focus()
    form.low.focus()
    form.label_max.focus()
    assert "must be under the target" in form.low.fault.text
    assert "must be under the target" in form.target.fault.text
    write(form.target, "55")
    assert form.low.fault.text == form.target.fault.text == ""


def test_a_bad_date_and_a_strength_that_no_product_has_are_told(guide: SetupGuide) -> None:
    pick_template(guide)
    guide.go_to(PRODUCTS)
    form = product(guide)
    write(form.use_by, "2026-02-30")
    write(form.strength, "95")
    press(form.basis.cards[StrengthBasis.TRADE_PCT])
    assert "This is no date" in form.use_by.fault.text
    assert form.strength.fault.text != ""
    assert form.use_by.editor.text() == "2026-02-30"


def test_the_same_percent_means_less_or_more_by_its_basis(guide: SetupGuide) -> None:
    pick_template(guide)
    guide.go_to(PRODUCTS)
    form = product(guide)
    write(form.strength, "12.5")
    assert "125 g/L or 143 g/L" in form.meaning.text().replace("\N{NO-BREAK SPACE}", " ")
    press(form.basis.cards[StrengthBasis.WEIGHT_PCT_NAOCL])
    assert form.density.isVisible()
    assert "1.20" in form.density.hint.text()
    form.density.focus()
    form.lot.focus()
    assert "needs the density" in form.density.fault.text
    write(form.density, "1.2")
    # 12.5 % NaOCl by weight at 1.20 kg/L is 142.9 g/L: White, Handbook of Chlorination, 1972.
    assert form.meaning.text().replace("\N{NO-BREAK SPACE}", " ") == "= 143 g/L available chlorine"
    press(form.basis.cards[StrengthBasis.G_PER_L_AVAILABLE_CHLORINE])
    write(form.strength, "125")
    assert not form.density.isVisible()
    assert guide.draft().sanitizers[0].density_kg_l is None
    assert form.meaning.text().replace("\N{NO-BREAK SPACE}", " ") == "= 125 g/L available chlorine"


def test_a_solid_has_one_basis_and_no_density(guide: SetupGuide) -> None:
    pick_template(guide)
    guide.go_to(PRODUCTS)
    form = product(guide)
    press(form.kind.row.button(SanitizerKind.CALCIUM))
    offered = [key for key, card in form.basis.cards.items() if not card.isHidden()]
    assert offered == [StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE]
    press(form.basis.cards[offered[0]])
    write(form.strength, "65")
    # 65 % available chlorine is 650 g/kg: UF/IFAS CH160.
    assert form.meaning.text() == "= 650 g/kg available chlorine"
    assert not form.density.isVisible()


# --- editing


def test_an_existing_set_up_comes_back_unchanged(qtbot: QtBot) -> None:
    setup = full_setup()
    assert faults(setup) == []
    guide = opened(qtbot, setup)
    assert guide.at == LOOK
    assert guide.draft() == setup
    for at in range(LOOK, -1, -1):
        guide.go_to(at)
    guide.go_to(LOOK)
    with qtbot.waitSignal(guide.finished) as saved:
        press(guide.next)
    assert saved.args[0] == setup


@pytest.mark.parametrize("at", range(len(templates())))
def test_a_template_passes_through_the_fields_unchanged(guide: SetupGuide, at: int) -> None:
    pick_template(guide, at)
    template = templates()[at]
    assert guide.draft().tanks == template.tanks
    assert guide.draft().sanitizers == template.sanitizers
    assert guide.draft().acids == template.acids


def test_other_units_show_other_numbers_and_change_no_value(qtbot: QtBot) -> None:
    setup = full_setup()
    guide = opened(qtbot, setup)
    guide.go_to(TANKS)
    assert tank(guide, 1).volume.editor.text() == "1500 gal"
    press(guide.units.row.button(UnitSystem.METRIC))
    assert tank(guide, 1).volume.editor.text() == "5678 L"
    press(guide.units.row.button(UnitSystem.US))
    assert guide.draft() == setup


def test_a_typed_amount_keeps_its_meaning_when_the_units_change(guide: SetupGuide) -> None:
    pick_template(guide)
    guide.go_to(TANKS)
    write(tank(guide, 1).volume, "640.25")
    press(guide.units.row.button(UnitSystem.US))
    assert guide.draft().tanks[0].volume_l == 640.25
    assert tank(guide, 1).volume.editor.text() == "169 gal"


def test_leaving_an_untouched_set_up_asks_nothing_and_a_changed_one_asks_once(
    qtbot: QtBot,
) -> None:
    guide = opened(qtbot, full_setup())
    with qtbot.waitSignal(guide.left):
        press(guide.leave)
    guide.go_to(PLACE)
    write(guide.place.site, "Elsewhere")
    with qtbot.assertNotEmitted(guide.left):
        press(guide.leave)
        press(question(guide).no)
    assert guide.place.site.text == "Elsewhere"
    press(guide.leave)
    with qtbot.waitSignal(guide.left):
        press(question(guide).yes)


def test_another_template_asks_before_it_replaces_what_was_written(guide: SetupGuide) -> None:
    pick_template(guide)
    fill_place(guide)
    guide.go_to(TANKS)
    write(tank(guide, 1).name, "My tank")
    guide.go_to(0)
    press(guide.template.answers.cards["1"])
    press(question(guide).no)
    assert guide.draft().tanks[0].name == "My tank"
    assert guide.template.answers.text == "0"
    press(guide.template.answers.cards["1"])
    press(question(guide).yes)
    assert guide.draft().line == "Root line"
    assert guide.draft().site == "Willow Bend Packing"


# --- tanks and products


def test_tanks_are_added_moved_and_removed_in_line_order(guide: SetupGuide) -> None:
    pick_template(guide)
    guide.go_to(TANKS)
    roster = guide.tanks.roster
    press(guide.tanks.add)
    assert len(roster.forms) == 3
    write(roster.forms[2].name, "Pre-rinse")
    assert roster.list.item(2).text() == "3   Pre-rinse"
    for _ in range(2):
        press(roster.up)
    names = [(one.number, one.name) for one in guide.draft().tanks]
    assert names == [(1, "Pre-rinse"), (2, "First dunk"), (3, "Second dunk")]
    press(roster.down)
    assert guide.draft().tanks[1].name == "Pre-rinse"
    press(roster.remove)
    press(question(guide).no)
    assert len(roster.forms) == 3
    press(roster.remove)
    press(question(guide).yes)
    assert [one.name for one in guide.draft().tanks] == ["First dunk", "Second dunk"]


def test_a_line_can_be_described_without_a_template(qtbot: QtBot, guide: SetupGuide) -> None:
    fill_place(guide)
    write(guide.place.line, "Line 1")
    guide.go_to(PRODUCTS)
    press(guide.products.add_sanitizer)
    form = product(guide)
    write(form.name, "Bleach")
    write(form.strength, "87 g/L")
    press(form.basis.cards[StrengthBasis.G_PER_L_AVAILABLE_CHLORINE])
    press(guide.products.add_acid)
    assert isinstance(guide.products.roster.forms[1], AcidForm)
    guide.go_to(TANKS)
    press(guide.tanks.add)
    first = tank(guide, 1)
    for field, text in (
        (first.name, "Tub"),
        (first.volume, "20"),
        (first.critical, "10"),
        (first.low, "20"),
        (first.target, "25"),
        (first.high, "30"),
        (first.label_max, "50"),
        (first.check_batches, "3"),
    ):
        write(field, text)
    press(first.label_basis.row.button(LabelBasis.TOTAL))
    with qtbot.waitSignal(guide.finished) as saved:
        guide.save()
    setup = saved.args[0]
    assert faults(setup) == []
    assert setup.sanitizers[0].strength == 87
    assert setup.tanks[0].sanitizer == setup.sanitizers[0].key
    assert setup.tanks[0].acid is None


def test_a_volume_is_worked_out_in_place(guide: SetupGuide) -> None:
    pick_template(guide)
    guide.go_to(TANKS)
    form = tank(guide, 1)
    press(form.work_out)
    panel = form.panel
    press(panel.shape.row.button(Shape.TROUGH))
    write(panel.width_cm, "24 in")
    write(panel.length_cm, "10 ft")
    write(panel.depth_cm, "13 in")
    panel.width_cm.focus()
    assert "half as deep" in panel.depth_cm.fault.text
    assert not panel.use.isEnabled()
    write(panel.depth_cm, "12 in")
    panel.width_cm.focus()
    assert panel.depth_cm.fault.text == ""
    press(panel.use)
    # Half a cylinder: pi/2 x 1 ft2 x 10 ft = 15.708 ft3, 28.316847 L each.
    assert guide.draft().tanks[0].volume_l == pytest.approx(444.8, abs=0.1)
    measured = guide.draft().tanks[0].measured
    assert measured is not None
    assert measured.shape is Shape.TROUGH
    write(form.volume, "450")
    assert guide.draft().tanks[0].measured is None


def test_a_product_that_is_removed_is_missed_at_its_tanks(guide: SetupGuide) -> None:
    pick_template(guide)
    guide.go_to(PRODUCTS)
    press(guide.products.roster.remove)
    press(question(guide).yes)
    guide.save()
    assert guide.products.together.fault.text == "Name the sanitizer that is used."
    assert tank(guide, 1).sanitizer.fault.text == "Choose the sanitizer of this tank."


def test_a_temperature_rule_asks_for_its_difference(guide: SetupGuide) -> None:
    pick_template(guide)
    guide.go_to(TANKS)
    form = tank(guide, 1)
    assert not form.by.isVisible()
    form.rule.editor.setFocus()
    strike(form.rule.editor, Qt.Key.Key_Down)
    assert form.rule.text == TemperatureRuleKind.WARMER
    guide.save()
    assert form.by.fault.text != ""
    write(form.by, "10 °F")
    form.contact.focus()
    rule = guide.draft().tanks[0].temperature_rule
    assert rule is not None
    assert rule.by_c == pytest.approx(10 * 5 / 9)


# --- the last page


def test_the_last_page_tells_the_whole_set_up_with_its_cautions(qtbot: QtBot) -> None:
    old = msgspec.structs.replace(full_setup(), taste=UnitSystem.METRIC)
    drum = msgspec.structs.replace(old.sanitizers[0], use_by=date(2026, 5, 6))
    old = msgspec.structs.replace(old, sanitizers=(drum, *old.sanitizers[1:]))
    guide = opened(qtbot, old)
    assert guide.look.sentences == [
        "Drum is past its use-by date: it may be weaker than its label says."
    ]
    with qtbot.waitSignal(guide.finished):
        guide.save()


def test_what_is_still_to_mend_leads_to_its_field(qtbot: QtBot, guide: SetupGuide) -> None:
    pick_template(guide, FRUIT)
    fill_place(guide)
    guide.go_to(LOOK)
    guide.look.wanted.emit("tanks.2.chlorine.label_basis")
    assert guide.at == TANKS
    assert guide.tanks.roster.at == 2
    qtbot.waitUntil(lambda: tank(guide, 3).label_basis.row.button(LabelBasis.FREE).hasFocus())


# --- keys and fingers


def test_enter_goes_on_field_by_field_and_then_to_the_next_page(
    qtbot: QtBot, guide: SetupGuide
) -> None:
    pick_template(guide)
    qtbot.waitUntil(guide.place.site.editor.hasFocus)
    for _ in range(7):
        focus = guide.focusWidget()
        assert focus is not None
        strike(focus, Qt.Key.Key_Return)
    assert guide.at == PRODUCTS
    assert guide.place.rows[0].name.fault.text != ""


def test_ctrl_enter_turns_the_page(guide: SetupGuide) -> None:
    guide.go_to(PLACE)
    strike(guide.place.site.editor, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert guide.at == PRODUCTS


def test_what_can_be_pressed_is_44_px_high_and_nothing_is_cut_at_the_smallest_window(
    guide: SetupGuide,
) -> None:
    pick_template(guide)
    for at in range(LOOK + 1):
        guide.go_to(at)
        for kind in ("QPushButton", "QLineEdit", "QComboBox"):
            for widget in guide.findChildren(QWidget):
                if widget.inherits(kind) and widget.isVisible():
                    assert widget.height() >= 44, widget.accessibleName()
    assert guide.minimumSizeHint().width() <= 1280
    assert guide.minimumSizeHint().height() <= 720


def test_a_fault_below_the_fold_is_scrolled_into_sight(qtbot: QtBot, guide: SetupGuide) -> None:
    pick_template(guide, FRUIT)
    guide.go_to(TANKS)
    field = tank(guide, 3).mix
    assert field.visibleRegion().isEmpty()
    guide.look.wanted.emit("tanks.2.mix_minutes")
    qtbot.waitUntil(lambda: not field.editor.visibleRegion().isEmpty())
    assert field.editor.hasFocus()


def test_the_tab_key_goes_through_a_tank_as_one_reads(guide: SetupGuide) -> None:
    pick_template(guide)
    guide.go_to(TANKS)
    form = tank(guide, 1)
    form.name.focus()
    seen: list[tuple[int, int]] = []
    focus = guide.focusWidget()
    while focus is not None and form.isAncestorOf(focus) and len(seen) < 40:
        QApplication.processEvents()  # what was left may have got a fault: the rows move
        corner = focus.mapTo(form.panel.window(), focus.rect().topLeft())
        scrolled = form.scroller.verticalScrollBar().value()
        seen.append((round((corner.y() + scrolled) / 20), corner.x()))
        strike(focus, Qt.Key.Key_Tab)
        focus = guide.focusWidget()
    assert len(seen) >= 20
    assert seen == sorted(seen)


def test_a_guide_that_is_opened_again_shows_the_other_set_up_only(guide: SetupGuide) -> None:
    pick_template(guide)
    write(guide.place.site, "Left behind")
    guide.save()
    guide.start(full_setup())
    assert guide.draft() == full_setup()
    assert [step.note for step in guide.rail.steps] == [""] * 9
    guide.start(None)
    assert guide.draft().site == ""
    assert guide.draft().tanks == ()


@pytest.mark.parametrize(
    ("locale", "text"),
    [
        (QLocale(QLocale.Language.English, QLocale.Country.UnitedStates), "8/31/2026"),
        (QLocale(QLocale.Language.English, QLocale.Country.UnitedStates), "08/31/26"),
        (ENGLISH, "31/08/26"),
        (ENGLISH, "31/8/2026"),
        (GERMAN, "31.8.2026"),
        (QLocale(QLocale.Language.Spanish, QLocale.Country.Mexico), "31/08/2026"),
        (ENGLISH, " 2026-08-31 "),
    ],
)
def test_a_date_is_read_as_iso_or_as_the_locale_writes_it(locale: QLocale, text: str) -> None:
    assert WritingStyle(locale).read_date(text) == date(2026, 8, 31)


@pytest.mark.parametrize("text", ["", "soon", "2026-13-01", "31/02/2026", "2026", "12"])
def test_what_is_no_date_is_none(text: str) -> None:
    assert WritingStyle(ENGLISH).read_date(text) is None


def test_a_broken_template_is_told_in_a_sentence_beside_those_that_work(qtbot: QtBot) -> None:
    broken = Message(
        "The template {file} cannot be used ({reason}): the others still can.",
        {"file": "mine.json", "reason": "cut short"},
    )
    guide = SetupGuide(locale=ENGLISH, templates=Shelf(templates()[:1], [broken]))
    qtbot.addWidget(guide)
    guide.start(None)
    told = [one.text() for one in guide.template.findChildren(Text)]
    assert "The template mine.json cannot be used (cut short): the others still can." in told
    assert list(guide.template.answers.cards) == ["0"]


def test_what_few_need_is_behind_more_and_open_where_it_is_filled_in(guide: SetupGuide) -> None:
    guide.start(full_setup())
    assert guide.place.more.button.isChecked()
    assert product(guide).more.button.isChecked()
    plain = msgspec.structs.replace(full_setup(), source=SourceWater())
    guide.start(plain)
    assert not guide.place.more.button.isChecked()
    assert guide.draft().source == SourceWater()


def test_the_alkalinity_of_the_source_is_written_beside_the_place(guide: SetupGuide) -> None:
    guide.start(msgspec.structs.replace(full_setup(), source=SourceWater()))
    guide.go_to(PLACE)
    press(guide.place.more.button)
    write(guide.place.water["alkalinity_mg_l"], "180")
    write(guide.place.water["ph"], "7.9")
    assert guide.draft().source == SourceWater(alkalinity_mg_l=180.0, ph=7.9)


def test_an_acid_of_another_kind_begins_with_what_such_an_acid_says(guide: SetupGuide) -> None:
    guide.start(full_setup())
    forms = [one for one in guide.products.roster.forms if isinstance(one, AcidForm)]
    (form,) = forms
    before = form.product()
    form.kind.put(AcidKind.CITRIC)
    form.kind.changed.emit()
    citric = form.product()
    assert (citric.name, citric.strength_pct) == ("Citric acid, dry", 100.0)
    write(form.name, "Sour salt")
    form.kind.put(before.kind)  # a slip: what was written for it is back
    form.kind.changed.emit()
    assert form.product() == before
    form.kind.put(AcidKind.CITRIC)
    form.kind.changed.emit()
    assert form.product().name == "Sour salt"


def test_a_sanitizer_of_another_kind_asks_for_its_strength_anew(guide: SetupGuide) -> None:
    guide.start(full_setup())
    form = product(guide)
    before = form.product()
    form.kind.put(SanitizerKind.CALCIUM)
    form.kind.changed.emit()
    assert (form.product().name, form.product().strength) == ("", None)
    form.kind.put(before.kind)
    form.kind.changed.emit()
    assert (form.product().name, form.product().strength) == (before.name, before.strength)


def test_a_product_that_becomes_peracetic_acid_asks_for_what_is_in_it(guide: SetupGuide) -> None:
    guide.start(full_setup())
    form = product(guide)
    form.kind.put(SanitizerKind.PERACETIC)
    form.kind.changed.emit()
    assert form.basis.isHidden()
    assert not form.peroxide.isHidden()
    assert form.more.isHidden()
    assert form.product().basis is None
    form.kind.put(SanitizerKind.SODIUM)
    form.kind.changed.emit()
    assert form.peroxide.isHidden()
    assert form.product().basis is StrengthBasis.WEIGHT_PCT_NAOCL


def test_a_tank_shows_the_limits_of_its_sanitizer_and_no_others(guide: SetupGuide) -> None:
    guide.start(full_setup())
    form = tank(guide, 1)
    assert form.peracetic.isHidden()
    form.sanitizer.put("paa")
    form.sanitizer.changed.emit()
    assert form.chlorine_section.isHidden()
    assert all(field.isHidden() for field in some(form.ph.values()))
    for field, level in zip(
        form.peracetic.levels.values(), ("20", "30", "50", "70", "80"), strict=True
    ):
        field.set_number(float(level))
    made = guide.draft().tanks[0]
    assert made.acid is None
    assert made.peracetic == PeraceticLimits(
        critical_low_mg_l=20, low_mg_l=30, target_mg_l=50, high_mg_l=70, label_max_mg_l=80
    )
    assert faults(guide.draft()) == []


def test_a_new_tank_of_peracetic_acid_needs_no_limits_of_chlorine(guide: SetupGuide) -> None:
    guide.start(full_setup())
    guide.go_to(TANKS)
    press(guide.tanks.add)
    form = tank(guide, 4)
    form.name.put("Second flume")
    form.volume.set_number(400.0)
    form.check_minutes.set_number(30.0)
    form.sanitizer.put("paa")
    form.sanitizer.changed.emit()
    for field, level in zip(
        form.peracetic.levels.values(), (20.0, 30.0, 50.0, 70.0, 80.0), strict=True
    ):
        field.set_number(level)
    assert faults(guide.draft()) == []


def test_no_amount_that_is_none_stands_in_the_way_of_looking_over_a_set_up(qtbot: QtBot) -> None:
    guide = opened(qtbot, full_setup())
    amounts = [field for page in guide.pages for field in page.findChildren(AmountField)]
    assert len(amounts) > 20
    wrongs = cycle(["abc", "1e999", "-5", "1/0", ""])
    for field in amounts:
        was = field.editor.text()
        retype(field, next(wrongs))
        guide.go_to(LOOK)
        retype(field, was)
    with qtbot.waitSignal(guide.finished):
        guide.save()


def retype(field: AmountField, text: str) -> None:
    field.editor.setText(text)
    field.editor.textEdited.emit(text)
    field.left.emit()


def test_a_working_volume_that_is_none_is_no_dead_end(qtbot: QtBot) -> None:
    guide = opened(qtbot, full_setup())
    guide.go_to(TANKS)
    write(tank(guide, 1).volume, "abc")
    guide.go_to(LOOK)
    assert guide.at == guide.last
    press(guide.next)
    assert guide.at == TANKS
    write(tank(guide, 1).volume, "500 L")
    guide.go_to(LOOK)
    with qtbot.waitSignal(guide.finished):
        press(guide.next)
