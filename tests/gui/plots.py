"""What is drawn in a layout of plots."""

from PySide6.QtWidgets import QLayout

from washmon.gui.scenarios.course_plot import CoursePlot


def plots_in(layout: QLayout) -> list[CoursePlot]:
    """Return the plots of a layout, in order, shown already or not."""
    items = (layout.itemAt(at) for at in range(layout.count()))
    widgets = (item.widget() for item in items if item is not None)
    return [one for one in widgets if isinstance(one, CoursePlot)]
