"""The form of where a lot was sent."""

from dataclasses import replace

from washmon.gui.entry.ask import Ask
from washmon.gui.entry.sheet_form import Fields, LineForm, choice_field, number_field, text_field
from washmon.gui.entry.texts import Texts
from washmon.gui.i18n import tr
from washmon.gui.kit.sheet_spec import Offer
from washmon.line.events import LotSent
from washmon.line.sent import untold
from washmon.units import Kind


def sent_form() -> LineForm:
    """Return the form of where a lot was sent."""
    return LineForm(tr("Sent"), _fields, _build, note=_note)


def _fields(ask: Ask) -> Fields:
    codes = ask.shift.lot_codes
    open_lots = untold(ask.shift)
    chosen = open_lots[0] if open_lots else codes[0] if codes else ""
    known = dict.fromkeys(
        one.event.to for one in ask.shift.entries if isinstance(one.event, LotSent)
    )
    to = text_field(ask, "to", tr("Customer or load"), required=True)
    return (
        choice_field(
            ask, "lot", tr("Lot"), tuple((one, one) for one in codes), chosen, required=True
        ),
        replace(to, offers=tuple(Offer(one) for one in known)),
        text_field(ask, "reference", tr("Number of the document")),
        number_field(ask, "sent_kg", tr("Weight"), Kind.PRODUCE_MASS, aside=True),
    )


def _note(ask: Ask) -> str:
    if ask.correcting is not None:
        return ""
    return tr("This is about the batches of the lot up to now that nobody has told of yet.")


def _build(texts: Texts) -> LotSent:
    return LotSent(
        at=texts.at(),
        by=texts.ask.person.initials,
        lot=texts.needed("lot"),
        to=texts.needed("to"),
        reference=texts.text("reference"),
        sent_kg=texts.number("sent_kg", Kind.PRODUCE_MASS),
    )
