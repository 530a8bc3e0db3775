"""Writes pictures of a debrief, the page of training, a register and a certificate.

Run ``QT_QPA_PLATFORM=offscreen python -m tests.tools.training_pictures [FOLDER [WIDTH HEIGHT]]``.
The register and the certificate are drawn by ``pdftoppm``, and left out where that is missing.
"""

import shutil
import subprocess
import sys
import tempfile
from datetime import timedelta
from pathlib import Path

from tests.tools.make_screenshots import CALM, PICTURES, PRINTED_DPI, Studio, demo
from washmon.gui.main_window import MainWindow
from washmon.gui.practice.debrief_page import DebriefPage
from washmon.gui.practice.practice_frame import PracticeFrame
from washmon.gui.rooms import Room
from washmon.gui.training.page import CERTIFICATE, REGISTER, TrainingPage
from washmon.line.events import Event
from washmon.line.site_events import CourseSet, TrainingSigned
from washmon.line.training import Course, Trained
from washmon.sessions.debrief.score import debrief
from washmon.sessions.practice.scenario_files import scenarios
from washmon.sessions.practice.trainee import CHAIN, HASTY, scripted

TITLES = [scenario.title for scenario, _ in scenarios()]


def signed_off(window: MainWindow, person: str) -> None:
    """Journal a course, and a person's way through it; another's is half done."""
    now, pen = window.client.clock(), window.client.recorder
    told: list[Event] = [CourseSet(at=now, by="RM", course=Course(scenarios=tuple(TITLES)))]
    for place, title in enumerate(TITLES):
        for who, ago in ((person, 20 + place), ("LU", 380 - 90 * place)):
            if who == "LU" and place > 2:
                continue
            what = Trained(
                person=who,
                scenario=title,
                attempt=f"practice-{who}-{place}",
                head="",
                on=(now - timedelta(days=ago)).date(),
                advice="off" if place % 2 else "on",
                score=74.0 + 3 * place - (20.0 if who == "LU" and place == 1 else 0.0),
            )
            told.append(TrainingSigned(at=now, by="RM", what=what))
    pen.read(lambda store: store.append("site", told, now)).result(10)


def main(folder: Path, size: tuple[int, int]) -> None:
    """Take all pictures."""
    studio = Studio(folder, size)
    session = demo(CALM)

    def open_training(window: MainWindow) -> None:
        signed_off(window, "TK")
        window.go(Room.TRAINING)
        studio.settle()
        page = window.rooms.currentWidget()
        assert isinstance(page, TrainingPage)
        people = [row[0].text for row in page.list.people.model.rows]
        page.list.people.table.selectRow(people.index("LU"))
        with tempfile.TemporaryDirectory() as scratch:
            register, certificate = Path(scratch) / "r.pdf", Path(scratch) / "c.pdf"
            page.write(register, REGISTER)
            page.list.people.table.selectRow(people.index("TK"))
            page.write(certificate, CERTIFICATE)
            page.list.people.table.selectRow(people.index("LU"))
            _draw(register, folder / "training-register")
            _draw(certificate, folder / "certificate")
        page.list.message.clear()

    studio.take("training", open_training, (session, session.entries[-1].recorded_at))
    take_debrief(studio)


def take_debrief(studio: Studio) -> None:
    """Shoot the debrief of an honest and careless attempt at the second scenario."""
    found = debrief(CHAIN, scripted(scenarios()[1][1], HASTY).entries)
    frame = PracticeFrame()
    page = DebriefPage(frame)
    frame.inside.addWidget(page)
    page.show_debrief(found, [scenario for scenario, _ in scenarios()])
    frame.resize(*studio.size)
    frame.show()
    studio.settle(0.5)
    frame.grab().save(str(studio.folder / "debrief.png"))
    frame.close()


def _draw(pdf: Path, target: Path) -> None:
    tool = shutil.which("pdftoppm")
    if tool is not None:
        once = ["-singlefile", "-gray", "-png", "-r", str(PRINTED_DPI)]
        subprocess.run([tool, *once, str(pdf), str(target)], check=True)


if __name__ == "__main__":
    width, height = (int(one) for one in sys.argv[2:4]) if len(sys.argv) > 3 else (1366, 768)
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else PICTURES, (width, height))
