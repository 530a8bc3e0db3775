"""Binds 60 invented shifts and pictures the binder page by page.

Run ``QT_QPA_PLATFORM=offscreen python -m tests.tools.binder_pages FOLDER``: the binder, a ZIP
beside it, a JPEG of every twelve pages, and ``binder.jpg`` with one of each kind. ``pdftoppm``
draws them.
"""

import random
import shutil
import subprocess
import sys
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta, timezone
from pathlib import Path

from msgspec.structs import replace
from PIL import Image
from pypdf import PdfReader
from typer.testing import CliRunner

from tests.gui.logbook.past import keep, quiet_shift, three_tanks, troubled_shift
from tests.simulated import shift as simulated
from washmon.cli.commands import app
from washmon.line.events import Decision, HoldReleased, Method, ShiftReviewed
from washmon.line.fold import fold
from washmon.line.journal import SITE
from washmon.line.setup import Role
from washmon.line.site_events import SetupSaved
from washmon.line.state import ShiftState
from washmon.sessions.practice.parameters import Dirtiness
from washmon.store import Store

SHIFTS = 60
KINDS = ("leafy_greens", "root_vegetables", "tree_fruit", "mixed", "peppers_and_melons")
# The clock goes on within them: the second Sunday of March, as in the tests of the binder.
WINTER, SUMMER = timezone(timedelta(hours=-5)), timezone(timedelta(hours=-4))
CHANGED = datetime(2026, 3, 8, 3)  # noqa: DTZ001 - a time on the wall
DPI, ACROSS, DOWN = 60, 6, 2


def main(folder: Path) -> None:
    """Write all of it."""
    folder.mkdir(parents=True, exist_ok=True)
    database, binder = folder / "shed.db", folder / "binder.pdf"
    database.unlink(missing_ok=True)
    fill(database)
    days = ("--from", "2026-02-01", "--to", "2026-04-30", "--by", "R. Moss", "--zip")
    told = CliRunner().invoke(app, ["binder", str(binder), *days, "--database", str(database)])
    sys.stdout.write(told.output)
    command = [shutil.which("pdftoppm") or "pdftoppm", "-r", str(DPI), "-png"]
    subprocess.run([*command, binder, folder / "page"], check=True)
    pages = sorted(folder.glob("page-*.png"))
    for first in range(0, len(pages), ACROSS * DOWN):
        sheet(pages[first : first + ACROSS * DOWN], folder / f"pages-{first + 1:03}.jpg")
    sheet([pages[at] for at in one_of_each(binder)], folder / "binder.jpg")
    for page in pages:
        page.unlink()


def fill(database: Path) -> None:
    """Journal the shifts of nine weeks: quiet and troubled; reviewed in time, late, or not."""
    chance = random.Random(5)  # noqa: S311 - repeatable, not secret
    with Store.open(database) as store:
        saved_at = datetime(2026, 2, 1, 12, tzinfo=WINTER)
        store.append(SITE, [SetupSaved(at=saved_at, by="RM", setup=three_tanks())], saved_at)
        for number in range(SHIFTS):
            wall = datetime(2026, 2, 2, 7) + timedelta(  # noqa: DTZ001
                days=number, minutes=chance.randrange(-60, 120)
            )
            start = wall.replace(tzinfo=WINTER if wall < CHANGED else SUMMER)
            chain = keep(store, a_shift(number, start, chance), f"of-{number:02}")
            kept = fold(chain, store.entries(chain))
            end = kept.entries[-1].event.at
            if kept.holds and number % 12 == 2:
                decided = HoldReleased(
                    at=end + timedelta(hours=1),
                    by="TK",
                    hold=kept.holds[0].seq,
                    decision=chance.choice(list(Decision)),
                    reason="batches 16 and 17 went through fresh water once more",
                    found="the dosing pump had drawn air since 08:10",
                    water="95 mL into tank 1",
                    prevention="the foot valve is looked at each morning",
                )
                store.append(chain, [decided], decided.at)
            if number % 4 != 3:
                at = end + timedelta(days=chance.choice([0, 1, 2, 12]), hours=2)
                covers = store.head(chain) or ""
                review = ShiftReviewed(at=at, by="TK", role=Role.MANAGER, covers=covers)
                store.append(chain, [review], at)


def a_shift(number: int, start: datetime, chance: random.Random) -> ShiftState:
    """Return one of three told shifts, or one of a simulated line as if it were a real one."""
    match number % 6:
        case 0:
            return quiet_shift(start).shift
        case 1 | 2:
            return troubled_shift(start, hours=1 + 2 * (number % 6 == 2)).shift
    simulated.BEGINS = start
    made = simulated.simulated_shift(
        number,
        commodity=chance.choice(KINDS),
        dirtiness=chance.choice(list(Dirtiness)),
        method=chance.choice([Method.STRIP, Method.KIT, Method.METER]),
        hours=chance.choice([2, 4, 7]),
        tanks=chance.choice([1, 2, 3]),
    )
    first, *rest = made.entries
    first = replace(first, event=replace(first.event, practice=False))
    return fold("told", [first, *rest])


def one_of_each(binder: Path) -> Iterator[int]:
    """Yield the first page of each part, and the pages of the first troubled shift's record."""
    reader = PdfReader(binder)
    parts = [one for one in reader.outline if not isinstance(one, list)]
    at = [reader.get_destination_page_number(one) or 0 for one in parts]
    yield from at
    yield from range(at[-1] + 1, at[-1] + 8)


def sheet(pages: Sequence[Path], target: Path) -> None:
    """Lay pages beside each other."""
    pictures = [Image.open(page).convert("L") for page in pages]
    wide, high = pictures[0].width + 4, pictures[0].height + 4
    rows = -(-len(pictures) // ACROSS)
    whole = Image.new("L", (wide * min(ACROSS, len(pictures)), high * rows), 130)
    for place, picture in enumerate(pictures):
        whole.paste(picture, (place % ACROSS * wide + 2, place // ACROSS * high + 2))
    whole.save(target, quality=45)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
