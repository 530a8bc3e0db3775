"""Writes the sample database of the schema of this version, once, when it is released.

Run as ``python -m tests.store.make_sample``. A sample that is there is never written again.
"""

import sqlite3
import tempfile
from pathlib import Path

from tests.store.shed import batch, ended, line_setup, minutes, note, started
from washmon.line.events import (
    AcidAdded,
    Corrected,
    Decision,
    DoseAdded,
    HandedOver,
    HoldPlaced,
    HoldReleased,
    ReadingTaken,
    ShiftSigned,
    TankFilled,
    WaterExchanged,
)
from washmon.line.flag_events import Acknowledged, FlagsChanged
from washmon.line.flags import Amount, Flag, Level, Step, StepKind
from washmon.line.journal import SITE
from washmon.line.message import Figure, Message, Moment
from washmon.line.setup import Look, Role
from washmon.line.site_events import SetupSaved
from washmon.store import Store, SummaryRows, schema
from washmon.units import Kind


def redose_flag() -> Flag:
    return Flag(
        tank=1,
        rule="redose",
        level=Level.ACT,
        title=Message("re-dose"),
        why=Message(
            "{low} at {at}", {"low": Figure(31.0, Kind.CONCENTRATION), "at": Moment(minutes(6))}
        ),
        step=Step(kind=StepKind.DOSE, say=Message("add"), product="jug", amount=Amount(92.0, "mL")),
        since=minutes(6),
    )


def fill(store: Store) -> None:
    """Three shifts with every kind of event."""
    store.append(SITE, [SetupSaved(at=minutes(-9), by="RM", setup=line_setup())], minutes(-9))
    for count, chain in enumerate(("mon", "tue")):
        begin = 1440.0 * count
        store.append(chain, [started(begin, after=store.last_shift_head())], minutes(begin))
        store.append(chain, [note(begin + 1), ended(begin + 2)], minutes(begin + 2))
    covers, signed_at = store.head("tue") or "", minutes(1443)
    signature = ShiftSigned(at=signed_at, by="RM", role=Role.SUPERVISOR, covers=covers)
    store.append("tue", [signature], signed_at)
    flag = redose_flag()
    for event in (
        started(2880, after=store.last_shift_head()),
        TankFilled(at=minutes(2881), by="RM", tank=1, volume_l=570.0),
        DoseAdded(at=minutes(2882), by="RM", tank=1, product="jug", amount=Amount(300.0, "mL")),
        AcidAdded(
            at=minutes(2890),
            by="RM",
            tank=1,
            product="vinegar",
            amount=Amount(2.5, "mL"),
            as_entered="1/2 tsp",
            doubts=("much",),
        ),
        ReadingTaken(at=minutes(2895), by="RM", tank=1, fac_mg_l=31.0, ph=7.1, look=Look.READABLE),
        FlagsChanged(at=minutes(2895), by="rules", upto=4, raised=(flag,)),
        Acknowledged(at=minutes(2896), by="RM", tank=1, rule="redose"),
        batch(2897),
        HoldPlaced(at=minutes(2898), by="RM", tank=1, batches=(7,), reason="too low"),
        HoldReleased(
            at=minutes(2899), by="RM", hold=8, decision=Decision.WASH_AGAIN, reason="again"
        ),
        Corrected(at=minutes(2900), by="RM", entry=7, reason="lot", instead=batch(2897, "LB-4")),
        WaterExchanged(at=minutes(2901), by="RM", tank=1, volume_l=100.0),
        HandedOver(at=minutes(2902), by="RM", to="RM", note="break"),
    ):
        store.append("wed", [event], event.at)
    store.save_summaries("mon", [(1, "{}")], SummaryRows("sample", 1, "mon,1\r\n"))


def main() -> None:
    """Write the sample, unless it is there."""
    target = Path(__file__).parent / "released" / f"{schema.VERSIONS[-1]}.sql"
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "shed.db"
        with Store.open(path) as store:
            fill(store)
        db = sqlite3.connect(path)
        with target.open("x", encoding="utf-8") as out:
            out.writelines(f"{line}\n" for line in db.iterdump())
        db.close()


if __name__ == "__main__":
    main()
