"""The forms of a batch and of where its lot was sent."""

from dataclasses import replace

from washmon.gui.entry.ask import Ask
from washmon.gui.entry.sheet_form import Fields, LineForm, choice_field, number_field, text_field
from washmon.gui.entry.texts import Texts
from washmon.gui.i18n import tr
from washmon.gui.kit.sheet_spec import FieldKind as Fill
from washmon.gui.kit.sheet_spec import FieldSpec, Offer
from washmon.line.events import BatchWashed, LotSent
from washmon.line.sent import untold
from washmon.line.state import Placed
from washmon.units import Kind

LINE = "line"
_MOST_LOTS = 5


def batch_form() -> LineForm:
    """Return the form of a batch."""
    return LineForm(tr("Batch"), _fields, _build, _more)


def _last(ask: Ask) -> BatchWashed | None:
    """Return the batch that was washed last on the tank asked for, else on the line."""
    placed: list[Placed[BatchWashed]] = []
    for tank in ask.shift.tanks:
        if ask.tank in {None, tank.number}:
            placed += tank.washed
    newest = max(placed, key=lambda one: (one.event.at, one.seq), default=None)
    return newest.event if newest else None


def _lots(ask: Ask, kept: str) -> tuple[str, ...]:
    """Return the lots to choose from: the kept one, and the newest others in their order."""
    codes = ask.shift.lot_codes
    newest = codes[-_MOST_LOTS:]
    if kept and kept not in newest:
        newest = (kept, *newest[1:])
    return newest


def _fields(ask: Ask) -> Fields:
    last, was = _last(ask), ask.was("lot")
    kept = str(was) if was else last.lot if last else next(iter(ask.shift.lot_codes), "")
    produce = {lot.code: lot.produce for lot in ask.shift.started.lots}
    lots = tuple(
        (code, f"{code}  {produce[code]}" if produce.get(code) else code)
        for code in _lots(ask, kept)
    )
    timed = any(tank.spec.contact_s is not None for tank in ask.shift.tanks)
    fields = [
        choice_field(ask, "lot", tr("Lot"), lots, kept),
        number_field(
            ask,
            "weight_kg",
            tr("Weight"),
            Kind.PRODUCE_MASS,
            value=last.weight_kg if last and ask.correcting is None else None,
            hint=tr("if weighed"),
        ),
        text_field(ask, "new_lot", tr("Another lot"), aside=True),
        _tanks(ask),
    ]
    if timed or ask.was("contact_s") is not None:
        fields.insert(2, _contact(ask))
    return tuple(fields)


def _more(ask: Ask) -> Fields:
    return () if any(field.key == "contact_s" for field in _fields(ask)) else (_contact(ask),)


def _contact(ask: Ask) -> FieldSpec:
    return number_field(
        ask, "contact_s", tr("Contact time"), Kind.CONTACT_TIME, aside=True, hint=tr("if timed")
    )


def _tanks(ask: Ask) -> FieldSpec:
    everything = tuple(tank.number for tank in ask.shift.tanks)
    choices = [(LINE, tr("Whole line"))]
    choices += [(str(tank.number), f"{tank.number} {tank.spec.name}") for tank in ask.shift.tanks]
    was = ask.was("tanks")
    chosen = str(ask.tank) if ask.tank is not None else LINE
    if isinstance(was, tuple) and was != everything:
        chosen = _key(was)
        if chosen not in dict(choices):
            choices.append((chosen, tr("Tanks {numbers}", numbers=chosen.replace(",", ", "))))
    return FieldSpec(
        "tanks",
        tr("Through"),
        kind=Fill.CHOICE,
        choices=tuple(choices),
        last=chosen if len(everything) > 1 else LINE,
        aside=True,
    )


def _key(numbers: tuple[int, ...]) -> str:
    return ",".join(str(number) for number in numbers)


def _build(texts: Texts) -> BatchWashed:
    chosen = texts.text("tanks")
    everything = tuple(tank.number for tank in texts.ask.shift.tanks)
    through = everything
    if chosen not in {"", LINE}:
        through = tuple(int(number) for number in chosen.split(","))
    return BatchWashed(
        at=texts.at(),
        by=texts.ask.person.initials,
        tanks=through,
        lot=texts.text("new_lot") or texts.text("lot"),
        weight_kg=texts.number("weight_kg", Kind.PRODUCE_MASS),
        contact_s=texts.number("contact_s", Kind.CONTACT_TIME),
    )


def sent_form() -> LineForm:
    """Return the form of where a lot was sent."""
    return LineForm(tr("Sent"), _lot_sent_fields, _build_lot_sent, note=_note)


def _lot_sent_fields(ask: Ask) -> Fields:
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


def _build_lot_sent(texts: Texts) -> LotSent:
    return LotSent(
        at=texts.at(),
        by=texts.ask.person.initials,
        lot=texts.needed("lot"),
        to=texts.needed("to"),
        reference=texts.text("reference"),
        sent_kg=texts.number("sent_kg", Kind.PRODUCE_MASS),
    )
