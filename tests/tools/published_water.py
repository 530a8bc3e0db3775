"""Holds the simulated water against published courses of falling chlorine, and draws both.

Run ``python -m tests.tools.published_water``; it writes ``tests/pictures/published-water.png``.
"""

from pathlib import Path

import typer
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QGuiApplication, QImage, QPainter, QPen

from tests.sessions.practice.published import DATA, Course, batch, continuous, time_to_half

PICTURE = Path(__file__).parents[1] / "pictures" / "published-water.png"
_WIDE, _HIGH, _LEFT, _TOP, _FOOT = 560.0, 300.0, 56.0, 62.0, 74.0
_INK, _GRID, _MODEL = QColor("#222222"), QColor("#cccccc"), QColor("#1b6ca8")


def factors() -> list[float]:
    """Return by how many times sooner half is gone in the simulated water, stretch by stretch."""
    return [
        time_to_half(one.minutes, one.measured) / time_to_half(one.minutes, one.simulated)
        for one in continuous()
    ]


def batch_share() -> float:
    """Return the largest difference in the batch test, as a share of its first level."""
    one = batch()
    pairs = zip(one.measured, one.simulated, strict=True)
    return max(abs(measured - simulated) for measured, simulated in pairs) / one.measured[0]


def draw(path: Path = PICTURE) -> None:
    """Write the picture."""
    app = QGuiApplication.instance() or QGuiApplication(["pictures"])
    image = QImage(
        int(2 * (_WIDE + _LEFT) + 40), int(_HIGH + _TOP + _FOOT), QImage.Format.Format_RGB32
    )
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    told = [f"{one:.1f}" for one in factors()]
    _panel(
        painter,
        0.0,
        continuous(),
        f"Cut lettuce, continuous. Half is gone {', '.join(told)} times sooner in the simulated "
        f"water; expected: within {DATA['continuous']['expected_factor']:g}.",
        DATA["continuous"]["source"],
    )
    _panel(
        painter,
        _WIDE + _LEFT + 20.0,
        (batch(),),
        f"Used wash water, dosed once. Difference up to {100 * batch_share():.0f} % of the start; "
        f"expected: within {100 * DATA['batch']['expected_share']:.0f} %. The last level was set.",
        DATA["batch"]["source"],
    )
    painter.end()
    image.save(str(path))
    del app


def _panel(
    painter: QPainter, left: float, courses: tuple[Course, ...], title: str, source: str
) -> None:
    top = 5.0 * (int(max(max(one.measured) for one in courses) / 5) + 1)
    last = 10.0 * -(-int(max(one.minutes[-1] for one in courses)) // 10)

    def at(minutes: float, level: float) -> QPointF:
        x = left + _LEFT + _WIDE * minutes / last
        return QPointF(x, _TOP + _HIGH * (1.0 - level / top))

    painter.setFont(QFont("DejaVu Sans", 9))
    for tick in range(6):
        level, minutes = top * tick / 5, last * tick / 5
        painter.setPen(QPen(_GRID, 1))
        painter.drawLine(at(0, level), at(last, level))
        painter.setPen(_INK)
        painter.drawText(at(0, level) + QPointF(-34, 4), f"{level:g}")
        painter.drawText(at(minutes, 0) + QPointF(-8, 16), f"{minutes:g}")
    for one in courses:
        painter.setPen(QPen(_MODEL, 2))
        pairs = zip(one.minutes, one.simulated, strict=True)
        painter.drawPolyline([at(*pair) for pair in pairs])
        painter.setPen(QPen(_INK, 1))
        painter.setBrush(_INK)
        for pair in zip(one.minutes, one.measured, strict=True):
            painter.drawEllipse(at(*pair), 3.5, 3.5)
    painter.setPen(_INK)
    wraps = int(Qt.TextFlag.TextWordWrap)
    painter.drawText(QRectF(left + 12, 8, _WIDE + _LEFT - 20, 34), wraps, title)
    words = "Free chlorine, mg/L, over minutes. Points: measured; line: simulated, at 20 °C."
    painter.drawText(QRectF(left + 12, 40, _WIDE, 18), words)
    painter.setFont(QFont("DejaVu Sans", 7))
    foot = QRectF(left + 12, _TOP + _HIGH + 22, _WIDE + _LEFT - 24, 48)
    painter.drawText(foot, wraps, source)


def main() -> None:
    """Print what was found, and draw it."""
    for one, factor in zip(continuous(), factors(), strict=True):
        typer.echo(f"from minute {one.minutes[0]:g}: half is gone {factor:.2f} times sooner")
    typer.echo(f"batch test: {100 * batch_share():.1f} % of the start at most")
    draw()


if __name__ == "__main__":
    main()
