"""Put the comparison on one page: sentence, pictures with plain captions, the shares as a bar."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence

import attrs
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont, PngImagePlugin

from inkhorn.colour.srgb import encode_bytes

Bytes = NDArray[np.uint8]
Font = ImageFont.FreeTypeFont | ImageFont.ImageFont

# numbers-in-code: layout of a page, in pixels, and its tints in 8-bit sRGB
#: Size of one picture on the page, px.
PANEL = (372, 520)
_MARGIN, _GAP, _CAPTION = 36, 28, 76
_SENTENCE, _LABEL, _SMALL = 42, 28, 24
# A page in daylight: near-white, and an ink for the words that is the only black.
_PAPER, _INK, _LINE = (252, 251, 248), (24, 24, 24), (150, 150, 150)
_BAR = 48
_FOOT = 70
_HATCH = 9
_NAMES = {
    "wear": "wear",
    "skin": "skin",
    "pen": "pen and hand",
    "camera": "camera",
    "ink": "ink",
    "age": "age",
}


@attrs.frozen(kw_only=True, eq=False)
class Panel:
    """One picture, 8-bit sRGB ``(H, W, 3)``, and its caption."""

    picture: Bytes
    caption: str


def font(size: int, *, serif: bool = False) -> Font:
    """Return DejaVu at this size if the machine has it, else what Pillow carries."""
    try:
        return ImageFont.truetype("DejaVuSerif.ttf" if serif else "DejaVuSans.ttf", size)
    except OSError:
        return ImageFont.load_default(size)


def compose(
    sentence: str, panels: Sequence[Panel], fractions: Mapping[str, float], *, note: str = ""
) -> Image.Image:
    """Return the page.

    Parameters
    ----------
    sentence : str
        The answer, in large type on top.
    panels : sequence of Panel
        Two to a row, in reading order; each is fitted to `PANEL`.
    fractions : mapping
        Share of each cause in the whole; those below zero take no room on the bar.
    note : str
        A small line at the foot.
    """
    width = 2 * PANEL[1] + _GAP + 2 * _MARGIN
    lines = wrap(sentence, font(_SENTENCE, serif=True), width - 2 * _MARGIN)
    head = _MARGIN + len(lines) * (_SENTENCE + 12) + _GAP
    rows = (len(panels) + 1) // 2
    bar_top = head + rows * (PANEL[0] + _CAPTION)
    notes = wrap(f"{_not_drawn(fractions)}{note}".strip(), font(_SMALL), width - 2 * _MARGIN)
    height = bar_top + 2 * _BAR + _LABEL + len(notes) * (_SMALL + 8) + _MARGIN
    page = Image.new("RGB", (width, height), _PAPER)
    draw = ImageDraw.Draw(page)
    _write(draw, lines, (_MARGIN, _MARGIN), font(_SENTENCE, serif=True), 12)
    for i, panel in enumerate(panels):
        left = _MARGIN + (i % 2) * (PANEL[1] + _GAP)
        top = head + (i // 2) * (PANEL[0] + _CAPTION)
        page.paste(_fitted(panel.picture), (left, top))
        draw.text((left, top + PANEL[0] + 8), panel.caption, font=font(_LABEL), fill=_INK)
    draw_bar(draw, fractions, (_MARGIN, bar_top, width - 2 * _MARGIN, _BAR))
    _write(draw, notes, (_MARGIN, bar_top + 2 * _BAR + _LABEL), font(_SMALL), 8)
    return page


def _not_drawn(fractions: Mapping[str, float]) -> str:
    """Return a sentence on the causes that work the other way, which a bar cannot show; "" without any."""
    # numbers-in-code: a hundredth is nothing to speak of
    names = [_NAMES.get(n, n) for n, f in fractions.items() if f < -0.01]
    return f"Not on the bar, for it hides part of the rest: {', '.join(names)}. " if names else ""


def draw_bar(
    draw: ImageDraw.ImageDraw, fractions: Mapping[str, float], box: tuple[int, int, int, int]
) -> None:
    """Draw the shares as one thin bar with a word on or under each; each has its own hatch, ink is solid."""
    left, top, width, height = box
    positive = {name: f for name, f in fractions.items() if f > 0}
    total = sum(positive.values())
    if not total:
        return
    order = sorted(positive, key=lambda name: (name == "ink", -positive[name]))
    face = font(_LABEL)
    edge, words, middles = float(left), [], []
    for name in order:
        end = edge + width * positive[name] / total
        span = (round(edge), top, round(end), top + height)
        _fill(draw, name, span)
        draw.rectangle(span, outline=_INK, width=2)
        if positive[name] / total * _BAR >= 1:
            words.append(_NAMES.get(name, name))
            middles.append((edge + end) / 2)
        edge = end
    lengths = [draw.textlength(word, font=face) for word in words]
    for word, at in zip(words, _apart(middles, lengths, left, left + width), strict=True):
        draw.text((at, top + height + 8), word, font=face, fill=_INK)


def _apart(middles: Sequence[float], lengths: Sequence[float], left: float, right: float) -> list[float]:
    """Return where words under these middles must begin so that none touch and all stay between the sides."""
    gap = _LABEL / 2
    starts: list[float] = []
    free = left
    for middle, length in zip(middles, lengths, strict=True):
        starts.append(max(free, middle - length / 2))
        free = starts[-1] + length + gap
    limit = right
    for i in reversed(range(len(starts))):
        starts[i] = min(starts[i], limit - lengths[i])
        limit = starts[i] - gap
    return starts


def _fill(draw: ImageDraw.ImageDraw, name: str, span: tuple[int, int, int, int]) -> None:
    left, top, right, bottom = span
    if name == "ink":
        draw.rectangle(span, fill=_INK)
    elif name == "wear":
        for x in range(left - (bottom - top), right, _HATCH):
            a, b = max(x, left), min(x + bottom - top, right)
            draw.line((a, bottom - (a - x), b, bottom - (b - x)), fill=_LINE, width=2)
    elif name == "pen":
        for y in range(top + _HATCH, bottom, _HATCH):
            draw.line((left, y, right, y), fill=_LINE, width=2)
    elif name == "camera":
        for x in range(left + _HATCH, right, _HATCH):
            draw.line((x, top, x, bottom), fill=_LINE, width=2)


def wrap(text: str, face: Font, width: int) -> list[str]:
    """Break a text into lines that fit a width in px."""
    lines, line = [], ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if line and face.getlength(longer) > width:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line] if line else lines


def _write(
    draw: ImageDraw.ImageDraw, lines: Sequence[str], at: tuple[int, int], face: Font, lead: int
) -> None:
    size = getattr(face, "size", _SMALL)
    for i, line in enumerate(lines):
        draw.text((at[0], at[1] + i * (size + lead)), line, font=face, fill=_INK)


def _fitted(picture: Bytes) -> Image.Image:
    image = Image.fromarray(picture)
    if picture.shape[:2] != PANEL:
        image = image.resize((PANEL[1], PANEL[0]), Image.Resampling.LANCZOS)
    return image


def tone(linear: NDArray[np.floating]) -> Bytes:
    """Return linear light as 8-bit sRGB for a panel."""
    return encode_bytes(linear)


def difference_map(difference: NDArray[np.floating], top: float) -> Bytes:
    """Return a map of differences: the page's white where there is none, through grey to black at ``top``.

    Lightness alone carries it, so it reads the same to every eye and in a print without colour. A strip
    along the foot shows the tones with their figures.
    """
    share = np.clip(np.asarray(difference, dtype=np.float64) / top, 0, 1)
    high, wide = share.shape
    # numbers-in-code: layout of a page
    foot = min(_FOOT, high // 3)
    share[-foot:] = 0
    paper, ink = np.array(_PAPER), np.array(_INK)
    picture = np.asarray(np.rint(paper + share[..., None] * (ink - paper)), dtype=np.uint8)
    image = Image.fromarray(picture)
    if foot == _FOOT:
        _legend(image, top, (0, high - foot + _GAP // 4, wide, foot))
    return np.asarray(image)


def _legend(image: Image.Image, top: float, box: tuple[int, int, int, int]) -> None:
    """Draw the tones of a map of differences with a figure under each quarter."""
    left, above, wide, _ = box
    draw, face = ImageDraw.Draw(image), font(_LABEL)
    paper, ink = np.array(_PAPER), np.array(_INK)
    # numbers-in-code: layout of a page
    high = 18
    tones = np.linspace(0, 1, wide)[:, None] * (ink - paper) + paper
    ramp = np.broadcast_to(np.rint(tones).astype(np.uint8), (high, wide, 3))
    image.paste(Image.fromarray(np.ascontiguousarray(ramp)), (left, above))
    draw.rectangle((left, above, left + wide - 1, above + high), outline=_LINE)
    quarters = 4
    for k in range(quarters + 1):
        at = left + k * (wide - 1) / quarters
        figure = f"{top * k / quarters:.0f}"
        word = {0: f"{figure} steps", quarters: f"{figure}+"}.get(k, figure)
        length = draw.textlength(word, font=face)
        draw.line((at, above + high, at, above + high + 6), fill=_INK, width=2)
        place = min(max(at - length / 2, left), left + wide - length)
        draw.text((place, above + high + 8), word, font=face, fill=_INK)


def png(image: Image.Image) -> bytes:
    """Return a picture as a PNG file that says that its codes are sRGB."""
    out, told = io.BytesIO(), PngImagePlugin.PngInfo()
    # PNG (ISO/IEC 15948), 11.3.3.5: one byte, 0 for perceptual.
    told.add(b"sRGB", bytes(1))
    image.save(out, "PNG", compress_level=4, pnginfo=told)
    return out.getvalue()
