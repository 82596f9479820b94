"""What each paper looked like when somebody last looked: small pictures, compared with what is drawn now.

Fonts differ a little between systems, so the pictures are compared as the eye would from afar: in cells of some
points, of which a few may be lighter or darker. Run the tests with TAKE_PAPER_PICTURES=1 to keep new ones, and look.
"""

from __future__ import annotations

import io
from collections.abc import Iterable
from pathlib import Path

import pypdfium2
from PIL import Image

HERE = Path(__file__).parent
WIDTH, GAP, CELL = 160, 4, 4  # of a leaf, between leaves, and of a cell, in points of the picture
LIGHTER, MOST = 32, 0.03  # of 255: what counts as another cell; so many of the cells may be others


def leaves(content: bytes) -> list[Image.Image]:
    """Return a paper's first leaf and its last, gray and small."""
    document = pypdfium2.PdfDocument(io.BytesIO(content))
    try:
        return [_leaf(document[number]) for number in sorted({0, len(document) - 1})]
    finally:
        document.close()


def _leaf(page: pypdfium2.PdfPage) -> Image.Image:
    drawn = page.render(scale=3 * WIDTH / page.get_width(), grayscale=True).to_pil()
    return drawn.convert("L").resize((WIDTH, round(WIDTH * drawn.height / drawn.width)), Image.Resampling.BOX)


def side_by_side(pictures: Iterable[Image.Image]) -> Image.Image:
    shown = list(pictures)
    width = sum(one.width + GAP for one in shown) - GAP
    sheet = Image.new("L", (width, max(one.height for one in shown)), 128)
    left = 0
    for one in shown:
        sheet.paste(one, (left, 0))
        left += one.width + GAP
    return sheet


def keep(name: str, sheet: Image.Image) -> None:
    sheet.quantize(16).save(HERE / f"{name}.png", optimize=True)


def other_cells(name: str, sheet: Image.Image) -> float:
    """Return of the leaf that changed most the share of cells that look otherwise; 1 where there are other leaves."""
    kept = Image.open(HERE / f"{name}.png").convert("L")
    if kept.size != sheet.size:
        return 1.0
    lefts = range(0, sheet.width, WIDTH + GAP)
    return max(_others(*(one.crop((left, 0, left + WIDTH, one.height)) for one in (sheet, kept))) for left in lefts)


def _others(now: Image.Image, then: Image.Image) -> float:
    size = (now.width // CELL, now.height // CELL)
    cells = [one.resize(size, Image.Resampling.BOX).tobytes() for one in (now, then)]
    return sum(abs(one - other) > LIGHTER for one, other in zip(*cells, strict=True)) / len(cells[0])
