"""The forms of a pause: the line stands still, and goes on."""

from washmon.gui.entry.ask import Ask
from washmon.gui.entry.sheet_form import Fields, LineForm, choice_field, text_field
from washmon.gui.entry.texts import Texts
from washmon.gui.i18n import tr
from washmon.line.events import LinePaused, LineResumed, Pause


def pause_form() -> LineForm:
    """Return the form of a pause; Enter takes it for a break."""
    return LineForm(tr("Pause the line"), _pause_fields, _build_pause, save=tr("Pause"))


def resume_form() -> LineForm:
    """Return the form of going on, which asks for nothing but when."""
    return LineForm(tr("The line goes on"), lambda _: (), _build_resume, save=tr("Go on"))


def _pause_fields(ask: Ask) -> Fields:
    reasons = ((str(Pause.BREAK), tr("Break")), (str(Pause.BREAKDOWN), tr("Breakdown")))
    old = str(ask.was("reason") or "")
    words = "" if old in set(Pause) else old
    return (
        choice_field(ask, "reason", tr("Why"), reasons, "" if words else Pause.BREAK),
        text_field(ask, "words", tr("Or in your words"), value=words),
    )


def _build_pause(texts: Texts) -> LinePaused:
    reason = texts.text("words") or texts.text("reason") or Pause.BREAK
    return LinePaused(at=texts.at(), by=texts.ask.person.initials, reason=reason)


def _build_resume(texts: Texts) -> LineResumed:
    return LineResumed(at=texts.at(), by=texts.ask.person.initials)
