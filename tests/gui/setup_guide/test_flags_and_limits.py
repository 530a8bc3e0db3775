"""Critical limits, instruments, margins and rules in the set-up guide, through real widgets."""

from datetime import date

import msgspec
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QLineEdit
from pytestqt.qtbot import QtBot

from tests.gui.setup_guide.guides import LOOK, MARGINS, MEASURES, PLACE, RULES, TANKS, opened
from tests.shed import a_peracetic_setup, a_setup, a_tank
from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.chemistry.measures import own_measure
from washmon.gui.kit.form_fields import FormField
from washmon.gui.kit.text import Text
from washmon.gui.setup_guide import SetupGuide
from washmon.gui.setup_guide.rules_page import RulesPage
from washmon.gui.setup_guide.tank_form import TankForm
from washmon.line.flags import ALWAYS_ON
from washmon.line.setup import (
    LineSetup,
    Margins,
    RuleOff,
    SourceWater,
    TemperatureRule,
    TemperatureRuleKind,
    Unfit,
)
from washmon.line.working_days import Weekday
from washmon.rules import all_rules
from washmon.units import UnitSystem


@pytest.fixture
def guide(qtbot: QtBot) -> SetupGuide:
    return opened(qtbot, a_setup())


def write(field: FormField, text: str) -> None:
    """Write into a field in place of what is there, and go on from it."""
    editor = field.focusProxy()
    assert isinstance(editor, QLineEdit)
    field.focus()
    editor.selectAll()
    QTest.keyClicks(editor, text) if text else QTest.keyClick(editor, Qt.Key.Key_Delete)
    QTest.keyClick(editor, Qt.Key.Key_Tab)


def press(button: QAbstractButton) -> None:
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


def first(guide: SetupGuide) -> TankForm:
    return guide.tanks.roster.forms[0]


def plain(text: str) -> str:
    return text.replace("\N{NO-BREAK SPACE}", " ")


def saved(qtbot: QtBot, guide: SetupGuide) -> LineSetup:
    with qtbot.waitSignal(guide.finished) as told:
        guide.save()
    setup = told.args[0]
    assert isinstance(setup, LineSetup)
    return setup


def test_critical_limits_are_written_beside_the_others(qtbot: QtBot, guide: SetupGuide) -> None:
    guide.go_to(TANKS)
    more = first(guide).more_critical
    assert not more.temperature.isVisible()
    write(more.contact, "1 min")
    write(more.ph, "8")
    tank = saved(qtbot, guide).tanks[0]
    assert (tank.critical_contact_s, tank.critical_ph) == (60.0, 8.0)
    assert not tank.critical_temperature


def test_a_critical_limit_that_leaves_no_time_to_act_is_told_beside_it(guide: SetupGuide) -> None:
    guide.go_to(TANKS)
    more = first(guide).more_critical
    write(more.contact, "90 s")
    assert "must not be over the contact that is wanted (60 s)" in plain(more.contact.fault.text)
    write(more.ph, "7.2")
    assert plain(more.ph.fault.text) == "The critical pH lies between pH high (7.5) and 10.0."
    guide.save()
    assert guide.at == TANKS


def test_temperature_is_critical_only_where_there_is_a_rule_on_it(
    qtbot: QtBot, guide: SetupGuide
) -> None:
    rule = TemperatureRule(kind=TemperatureRuleKind.WARMER, by_c=5.0)
    guide.start(a_setup(a_tank(1, "Only", temperature_rule=rule)))
    guide.go_to(TANKS)
    more = first(guide).more_critical
    assert more.temperature.isVisible()
    press(more.temperature.row.button("yes"))
    assert saved(qtbot, guide).tanks[0].critical_temperature
    first(guide).rule.put("")
    first(guide).rule.changed.emit()
    assert not more.temperature.isVisible()
    assert not saved(qtbot, guide).tanks[0].critical_temperature


def test_a_tank_of_peracetic_acid_has_no_critical_ph(guide: SetupGuide) -> None:
    guide.start(a_peracetic_setup())
    guide.go_to(TANKS)
    assert not first(guide).more_critical.ph.isVisible()
    assert first(guide).more_critical.contact.isVisible()


def test_a_jug_of_the_sheds_own_is_a_measure(guide: SetupGuide) -> None:
    guide.go_to(MEASURES)
    write(guide.measures.own, "750")
    assert guide.measures.owned()[-1] == own_measure("mL", 750)
    write(guide.measures.marks, "50")
    assert guide.measures.owned()[-1] == own_measure("mL", 750, 50)
    kept = (own_measure("fl oz", 64, 4), "cup", own_measure("mL", 90))
    guide.start(a_setup(measures=kept))
    guide.go_to(MEASURES)
    assert set(guide.measures.owned()) == set(kept)
    write(guide.measures.own, "")
    assert set(guide.measures.owned()) == {"cup", own_measure("mL", 90)}


def test_the_instruments_are_written_with_the_measures(qtbot: QtBot, guide: SetupGuide) -> None:
    guide.go_to(MEASURES)
    write(guide.measures.checked_on, "2026-05-04")
    write(guide.measures.check_days, "0")
    write(guide.measures.strips, "2026-09-30")
    write(guide.measures.learned, "2026-05-06")
    assert plain(guide.measures.check_days.fault.text) == "A meter is checked every 1 to 90 days."
    write(guide.measures.check_days, "14")
    setup = saved(qtbot, guide)
    assert setup.meter_checked_on == date(2026, 5, 4)
    assert setup.meter_check_days == 14
    assert setup.strips_use_by == date(2026, 9, 30)
    assert setup.learned_since == date(2026, 5, 6)


def test_an_instrument_left_unfit_is_shown_and_kept_when_the_set_up_is_saved(
    qtbot: QtBot, guide: SetupGuide
) -> None:
    assert not guide.measures.unfit.text()
    left = Unfit(instrument="pH meter", since=date(2026, 5, 6))
    guide.start(msgspec.structs.replace(a_setup(measures=("cup",)), instruments_unfit=(left,)))
    guide.go_to(MEASURES)
    line = "Unfit for use: pH meter, found on 2026-05-06"
    assert guide.measures.unfit.isVisible()
    assert plain(guide.measures.unfit.text()).startswith(line)
    guide.go_to(LOOK)
    assert any("the pH meter may not be used" in one for one in guide.look.sentences)
    assert saved(qtbot, guide).instruments_unfit == (left,)


def test_days_of_instruments_that_are_odd_are_worth_knowing(guide: SetupGuide) -> None:
    odd = {"meter_checked_on": date(2026, 6, 1), "strips_use_by": date(2026, 4, 30)}
    guide.start(msgspec.structs.replace(a_setup(measures=("cup",)), **odd))
    guide.go_to(LOOK)
    assert "This day is still to come." in guide.look.sentences
    assert any("out of date" in sentence for sentence in guide.look.sentences)


def test_every_margin_has_a_field_and_comes_back(qtbot: QtBot, guide: SetupGuide) -> None:
    assert set(guide.margins.margins) == set(Margins.__struct_fields__)
    odd = Margins(chlorine_deadband_fraction=0.0625, change_near_min=17.5, gas_air_ppm=0.4)
    guide.start(a_setup(margins=odd))
    assert saved(qtbot, guide).margins == odd
    guide.writing.set_taste(UnitSystem.US)
    assert saved(qtbot, guide).margins == odd


def test_margins_are_written_in_percent_and_the_usual_ones_are_a_press_away(
    qtbot: QtBot, guide: SetupGuide
) -> None:
    guide.go_to(MARGINS)
    assert not guide.margins.usual.isEnabled()
    write(guide.margins.margins["rinse_share"], "40")
    write(guide.margins.margins["overdue_delay_min"], "5 min")
    margins = saved(qtbot, guide).margins
    assert (margins.rinse_share, margins.overdue_delay_min) == (0.4, 5.0)
    write(guide.margins.margins["rinse_share"], "140")
    fault = plain(guide.margins.margins["rinse_share"].fault.text)
    assert fault == "This lies between 5 % and 100 %."
    press(guide.margins.usual)
    assert guide.margins.margins["rinse_share"].fault.text == ""
    assert saved(qtbot, guide).margins == Margins()


def test_what_a_source_may_be_off_by_is_written_beside_it(qtbot: QtBot, guide: SetupGuide) -> None:
    guide.go_to(PLACE)
    press(guide.place.more.button)
    for name, text in (("alkalinity_mg_l", "180"), ("alkalinity_error_mg_l", "20")):
        write(guide.place.water[name], text)
    for name, text in (("ph", "7.6"), ("ph_error", "0.2")):
        write(guide.place.water[name], text)
    assert saved(qtbot, guide).source == SourceWater(
        alkalinity_mg_l=180.0, alkalinity_error_mg_l=20.0, ph=7.6, ph_error=0.2
    )


def test_a_rule_is_switched_off_with_a_reason_and_on_again(qtbot: QtBot, guide: SetupGuide) -> None:
    guide.go_to(RULES)
    row = guide.rules.rows["rinse-carry"]
    assert not row.reason.isVisible()
    guide.rules.scroller.ensureWidgetVisible(row)
    press(row.switch.row.button("off"))
    guide.save()
    assert guide.at == RULES
    assert row.reason.fault.text == "Say why this rule is switched off: it stands on each record."
    write(row.reason, "The rinse is fed from the wash.")
    off = saved(qtbot, guide).rules_off
    assert off == (RuleOff(rule="rinse-carry", reason="The rinse is fed from the wash."),)
    press(row.switch.row.button("on"))
    assert saved(qtbot, guide).rules_off == ()


def test_rules_that_guard_people_have_no_switch_and_say_why(guide: SetupGuide) -> None:
    guide.go_to(RULES)
    rows = guide.rules.rows
    assert {rule.id for rule in all_rules()} <= set(rows)
    for id_, row in rows.items():
        assert row.switch.isHidden() is (id_ in ALWAYS_ON)


def test_a_rule_that_is_no_more_stays_off_until_somebody_switches_it_on(
    qtbot: QtBot, guide: SetupGuide
) -> None:
    gone = RuleOff(rule="long-gone", reason="It came and went.")
    guide.start(a_setup(rules_off=(gone,)))
    guide.go_to(RULES)
    assert saved(qtbot, guide).rules_off == (gone,)
    press(guide.rules.rows["long-gone"].switch.row.button("on"))
    assert saved(qtbot, guide).rules_off == ()


def test_the_rules_show_the_limits_that_stand_on_the_other_pages(guide: SetupGuide) -> None:
    guide.go_to(TANKS)
    write(first(guide).critical, "28")
    guide.go_to(RULES)
    said = plain(guide.rules.rows["chlorine-critical"].threshold.text())
    assert said == "Tank 1: under 28 ppm\nTank 2: under 25 ppm"
    assert guide.rules.rows["paa-low"].threshold.text() == "No tank here is kept with that."


def test_each_rule_that_lacks_its_reason_is_named_where_the_set_up_is_looked_over(
    guide: SetupGuide,
) -> None:
    off = (RuleOff(rule="batches", reason=""), RuleOff(rule="check-now", reason=""))
    guide.start(a_setup(rules_off=off))
    said = {text.text() for text in guide.look.findChildren(Text)}
    assert {"Batches per fill used up", "Check now"} <= said


def test_a_density_that_nothing_goes_by_is_not_lost_by_looking_at_the_set_up(
    guide: SetupGuide,
) -> None:
    """A trade percent needs no density; a price by weight may ask for it again."""
    assert a_setup().sanitizers[0].basis is StrengthBasis.TRADE_PCT
    guide.go_to(LOOK)
    assert guide.draft().sanitizers[0].density_kg_l == 1.17
    assert guide.look.what_changes == []


def test_a_limit_that_cannot_be_read_yet_leaves_the_rules_page_standing(guide: SetupGuide) -> None:
    page = guide.pages[RULES]
    assert isinstance(page, RulesPage)
    before = {rule: row.threshold.text() for rule, row in page.rows.items()}
    page.bring(a_setup(a_tank(1, "First", hours_per_fill=float("nan"))))
    after = {rule: row.threshold.text() for rule, row in page.rows.items()}
    assert after != before
    page.bring(a_setup())
    assert {rule: row.threshold.text() for rule, row in page.rows.items()} == before


def test_the_days_that_are_worked_are_written_with_the_place(
    qtbot: QtBot, guide: SetupGuide
) -> None:
    guide.go_to(PLACE)
    page = guide.place
    page.days.open(filled=True)
    for day, button in page.worked.buttons.items():
        button.setChecked(day in (Weekday.MONDAY, Weekday.SATURDAY))
    write(page.closed, "2026-12-24 to 2026-12-26, soon")
    assert page.closed.fault.text == "Write days, such as 2026-12-24 to 2026-12-26, 2027-01-01."
    write(page.closed, "2027-01-01; 2026-12-24 to 2026-12-26")
    assert page.closed.fault.text == ""
    kept = saved(qtbot, guide)
    assert kept.calendar.worked == (Weekday.MONDAY, Weekday.SATURDAY)
    assert [str(day) for day in kept.calendar.closed] == [
        "2026-12-24",
        "2026-12-25",
        "2026-12-26",
        "2027-01-01",
    ]
    guide.start(kept)
    assert page.closed.editor.text() == "2026-12-24 to 2026-12-26, 2027-01-01"
    for button in page.worked.buttons.values():
        button.setChecked(False)
    page.worked.left.emit()
    assert plain(page.worked.fault.text) == "Choose at least one day of the week that is worked."
