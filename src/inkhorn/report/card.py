"""The card as a PDF: an A4 or letter sheet with cutting lines, black ink only or with plain greys."""

from __future__ import annotations

import io

import cv2
import numpy as np
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from inkhorn.imaging.card.find import DICTIONARY
from inkhorn.imaging.card.layout import BAR, Card, Patch

PAPERS = {"a4": A4, "letter": LETTER}

USE = (
    "Print at actual size on plain matt paper. Measure the bar: if it is not 100 mm, tell inkhorn: --bar "
    '"98.4 mm". Lay the strip in the frame, or cut the frame out and lay the card over the strip. Whole card in view, '
    "even light, no flash, no gloss."
)


def pdf(card: Card, *, paper: str = "a4") -> bytes:
    """Return a one-page PDF with the card in its middle.

    The lines are vectors and all is DeviceGray, so a printer that has black
    only prints it as meant.
    """
    out = io.BytesIO()
    sheet = PAPERS[paper]
    canvas = Canvas(out, pagesize=sheet, pageCompression=1, invariant=1)
    canvas.setTitle("inkhorn card")
    canvas.setCreator("inkhorn")
    width, height = sheet
    if card.width * mm > width - 10 * mm:
        canvas.translate(width / 2, height / 2)
        canvas.rotate(90)
        canvas.translate(-width / 2, -height / 2)
    canvas.translate((width - card.width * mm) / 2, (height + card.height * mm) / 2)
    canvas.scale(mm, -mm)  # from here on millimetres, y down
    canvas.setFillGray(0)
    canvas.setStrokeGray(0)
    _cuts(canvas, card)
    for number, place in card.markers.items():
        _marker(canvas, number, place, card.marker)
    for patch in card.patches:
        _patch(canvas, patch)
    _window(canvas, card)
    _bar(canvas, card)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def form(card: Card) -> str:
    """Return a CSV with a line for the paper and for each step, its values still empty."""
    lines = ["name,x_mm,y_mm,L,a,b", "paper,,,,,"]
    for patch in sorted(card.patches, key=lambda patch: (round(patch.rect[1]), patch.rect[0])):
        left, top, width, height = patch.rect
        lines.append(f"{patch.name},{left + width / 2:.1f},{top + height / 2:.1f},,,")
    return "\n".join(lines) + "\n"


def _cuts(canvas: Canvas, card: Card) -> None:
    """Draw where to cut: short lines outside the corners."""
    canvas.setLineWidth(0.2)
    for x, way in ((0.0, -1), (card.width, 1)):
        for y, turn in ((0.0, -1), (card.height, 1)):
            canvas.line(x + way, y, x + 5 * way, y)
            canvas.line(x, y + turn, x, y + 5 * turn)


def _marker(canvas: Canvas, number: int, place: tuple[float, float], side: float) -> None:
    bits = cv2.aruco.getPredefinedDictionary(DICTIONARY)
    cells = bits.markerSize + 2
    grid = np.asarray(cv2.aruco.generateImageMarker(bits, number, cells)) == 0
    cell = side / cells
    path = canvas.beginPath()
    for row in range(cells):
        for first, last in _runs(grid[row]):
            path.rect(place[0] + first * cell, place[1] + row * cell, (last - first) * cell, cell)
    canvas.drawPath(path, stroke=0, fill=1)


def _runs(row: np.ndarray) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(np.int8), [0]])))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _patch(canvas: Canvas, patch: Patch) -> None:
    left, top, width, height = patch.rect
    if patch.kind != "screen":
        canvas.setFillGray(patch.tint)
        canvas.rect(left, top, width, height, stroke=0, fill=1)
        canvas.setFillGray(0)
        return
    canvas.saveState()
    frame = canvas.beginPath()
    frame.rect(left, top, width, height)
    canvas.clipPath(frame, stroke=0, fill=0)
    step = patch.period * 2**0.5
    lines = canvas.beginPath()
    for i in range(int((width + height) / step) + 2):
        x = left + i * step
        lines.moveTo(x, top)
        lines.lineTo(x + patch.share * step, top)
        lines.lineTo(x + patch.share * step - height, top + height)
        lines.lineTo(x - height, top + height)
        lines.close()
    canvas.drawPath(lines, stroke=0, fill=1)
    canvas.restoreState()


def _text(canvas: Canvas, x: float, y: float, text: str, size: float, *, centred: bool = False) -> None:
    """Write upright text at millimetres; ``size`` is in mm."""
    canvas.saveState()
    canvas.translate(x, y)
    canvas.scale(1, -1)
    canvas.setFont("Helvetica", size)
    (canvas.drawCentredString if centred else canvas.drawString)(0, 0, text)
    canvas.restoreState()


def _window(canvas: Canvas, card: Card) -> None:
    """Draw the frame with millimetres along its foot and its left side."""
    left, top, width, height = card.window
    canvas.setLineWidth(0.25)
    canvas.rect(left, top, width, height, stroke=1, fill=0)
    canvas.setLineWidth(0.12)
    for i in range(int(width) + 1):
        long = 2.2 if i % 10 == 0 else 1.6 if i % 5 == 0 else 1.0
        canvas.line(left + i, top + height, left + i, top + height + long)
    for i in range(int(height) + 1):
        long = 2.2 if i % 10 == 0 else 1.6 if i % 5 == 0 else 1.0
        canvas.line(left, top + height - i, left - long, top + height - i)
    for i in range(10, int(width) + 1, 10):
        _text(canvas, left + i, top + height + 4.1, str(i), 1.9, centred=True)


def _bar(canvas: Canvas, card: Card) -> None:
    """Draw the bar to be measured, and under it how to use the card."""
    left, top, width, height = card.bar
    canvas.rect(left, top + height / 4, width, height / 2, stroke=0, fill=1)
    canvas.setLineWidth(0.2)
    size = card.width / 75
    for x in (left, left + width):
        canvas.line(x, top - height / 4, x, top + height * 5 / 4)
    _text(canvas, left + width + 1.2, top + height * 0.8, f"{BAR:.0f} mm", size * 0.95)
    kind = f"inkhorn card {card.size}{', black only' if card.black_only else ''}"
    y = top + height + 1.4 + size
    for line in (*_wrapped(USE, canvas, size, card), kind):
        _text(canvas, left, y, line, size)
        y += size * 1.2


def _wrapped(text: str, canvas: Canvas, size: float, card: Card) -> list[str]:
    most = card.width - 2 * card.bar[0] + 6
    out = [""]
    for word in text.split():
        longer = f"{out[-1]} {word}".strip()
        if canvas.stringWidth(longer, "Helvetica", size) > most:
            out.append(word)
        else:
            out[-1] = longer
    return out
