"""Draw how well calibrated the forecast is: said against true, for ranges and for chances."""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QGuiApplication, QImage, QPainter, QPen

from tests.forecast.worlds.scoring import Case, Held, Scored

_SIDE, _EDGE = 420.0, 70.0
_INK, _GRID = QColor("#222222"), QColor("#cccccc")
_COLOURS = ("#1b6ca8", "#b5541c", "#3c7d3c", "#7a3f8f", "#8a7000", "#a0203c")
_STYLES = (
    Qt.PenStyle.SolidLine,
    Qt.PenStyle.DashLine,
    Qt.PenStyle.DotLine,
    Qt.PenStyle.DashDotLine,
)
Points = list[tuple[float, float]]


def draw(scored: list[Scored], folder: Path) -> None:
    """Write both pictures."""
    app = QGuiApplication.instance() or QGuiApplication(["pictures"])
    cases = [one for shift in scored for one in shift.cases if one.open]
    held = [one for shift in scored for one in shift.held]
    for name, kind in (("regime", "regime"), ("instrument", "gauge")):
        kinds = list(dict.fromkeys(str(getattr(one, kind)) for one in cases))
        lines = {one: _shares([c for c in cases if getattr(c, kind) == one]) for one in kinds}
        _plot(lines, "said share of shifts under", "true share", folder / f"calibration-{name}.png")
    lines = {"batches in question": _tenths(held)}
    _plot(lines, "said chance of too little", "true share", folder / "calibration-held.png")
    del app


def _shares(cases: list[Case]) -> Points:
    below = np.array([one.below for one in cases])
    return [(said, float(np.mean(below <= said))) for said in np.linspace(0, 1, 21).tolist()]


def _tenths(held: list[Held]) -> Points:
    said: NDArray[np.float64] = np.array([one.said for one in held])
    bad = np.array([one.bad for one in held], float)
    tenth = np.minimum((10 * said).astype(int), 9)
    return [
        (float(said[here].mean()), float(bad[here].mean()))
        for place in range(10)
        if (here := tenth == place).any()
    ]


def _plot(lines: dict[str, Points], said: str, true: str, path: Path) -> None:
    image = QImage(int(_SIDE + 3.2 * _EDGE), int(_SIDE + 1.6 * _EDGE), QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setFont(QFont("DejaVu Sans", 9))
    painter.setPen(QPen(_GRID, 1))
    for tick in np.linspace(0, 1, 6).tolist():
        painter.setPen(QPen(_GRID, 1))
        painter.drawLine(_at(0, tick), _at(1, tick))
        painter.drawLine(_at(tick, 0), _at(tick, 1))
        painter.setPen(_INK)
        painter.drawText(_at(0, tick) + QPointF(-32, 4), f"{tick:.1f}")
        painter.drawText(_at(tick, 0) + QPointF(-8, 18), f"{tick:.1f}")
    painter.drawLine(_at(0, 0), _at(1, 1))
    painter.drawText(_at(0.3, 0) + QPointF(0, 38), said)
    painter.drawText(QRectF(8, 6, 300, 20), true)
    for place, (name, points) in enumerate(lines.items()):
        colour = QColor(_COLOURS[place % len(_COLOURS)])
        painter.setPen(QPen(colour, 2, _STYLES[place // len(_COLOURS) % len(_STYLES)]))
        painter.drawPolyline([_at(*point) for point in points])
        top = _at(1, 1) + QPointF(12, 12 + 20 * place)
        painter.drawLine(top, top + QPointF(24, 0))
        painter.setPen(_INK)
        painter.drawText(top + QPointF(30, 4), name)
    painter.end()
    image.save(str(path))


def _at(x: float, y: float) -> QPointF:
    return QPointF(_EDGE * 0.7 + x * _SIDE, _EDGE * 0.5 + (1 - y) * _SIDE)
