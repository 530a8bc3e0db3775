"""How the page of training is made and opened; it is only loaded when somebody asks for it."""

from typing import TYPE_CHECKING

from washmon.gui.page import Window, unless_reading_only

if TYPE_CHECKING:
    from washmon.gui.training.page import TrainingPage


def training_page(window: Window) -> "TrainingPage":
    """Return the page, with the scenarios of the shed's shelf."""
    from washmon.gui.training.page import TrainingPage  # noqa: PLC0415 - the same
    from washmon.sessions.practice.shelf import ScenarioShelf  # noqa: PLC0415 - the same
    from washmon.sessions.practice.standing import Standings  # noqa: PLC0415 - start-up is measured

    shelf = ScenarioShelf(Standings(window.settings.folder).shelf)
    page = TrainingPage(window.client, shelf)
    page.left.connect(window.go_back)
    return page


def open_training(page: "TrainingPage", window: Window) -> None:
    """Show who is trained, by the newest set-up, else by that of the shift that runs."""
    snapshot = window.snapshot
    shift = snapshot.shift if snapshot is not None else None
    setup = snapshot.setup if snapshot is not None else None
    setup = setup or (shift.setup if shift is not None else None)
    page.open(setup, window.person, may=not unless_reading_only(window))
