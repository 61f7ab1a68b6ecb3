"""What tests of paper share: what a PDF holds, read by pypdf and pdfium, which know nothing of typst.

    python tests/render/paper.py card.pdf copy.png

writes a photocopy of a photocopy of the first pages, to be looked at.
"""

import ctypes
import io
import re
import sys
from pathlib import Path
from typing import NamedTuple

import pypdfium2 as pdfium
import pypdfium2.raw as raw
from pypdf import PdfReader

MM = 72 / 25.4


class Glyph(NamedTuple):
    """One character on a page: its box [pt, from the top left] and its size [pt]."""

    text: str
    x0: float
    top: float
    x1: float
    bottom: float
    size: float


def glyphs(pdf):
    """The characters of each page in the order of the content stream, with the box of their ink; the blank left out."""
    document = pdfium.PdfDocument(pdf)
    return [_page_glyphs(page) for page in document]


def _page_glyphs(page):
    words, height = page.get_textpage(), page.get_height()
    left, right, bottom, top = (ctypes.c_double() for _ in range(4))
    found = []
    for index in range(words.count_chars()):
        text = chr(raw.FPDFText_GetUnicode(words, index)).replace(
            "\x02", "-"
        )  # how pdfium tells a hyphen at a line's end
        if raw.FPDFText_IsGenerated(words, index) or not text.strip("\u200b\xad\x00 \xa0"):
            continue
        raw.FPDFText_GetCharBox(words, index, left, right, bottom, top)
        size = raw.FPDFText_GetFontSize(words, index)
        found.append(Glyph(text, left.value, height - top.value, right.value, height - bottom.value, size))
    return found


def squashed(text):
    """Text without white space or places to break, so that lines do not matter."""
    return re.sub(r"[\s\u200b\xa0]+", "", text)


def page_texts(pages):
    """The text of each page of glyphs in the order of the content stream, squashed."""
    return [squashed("".join(g.text for g in page)) for page in pages]


def sizes_mm(pdf):
    """Width and height of each page, [mm], rounded to a tenth."""
    boxes = [page.mediabox for page in PdfReader(io.BytesIO(pdf)).pages]
    return [(round(float(b.width) / MM, 1), round(float(b.height) / MM, 1)) for b in boxes]


def overlaps(page):
    """Pairs of characters whose ink covers each other by more than the kerning of a serif pair such as ft."""
    found = []
    inked = sorted((g.x0, g.x1, g.top, g.bottom, g.text) for g in page)
    for i, (x0, x1, top, bottom, text) in enumerate(inked):
        for other in inked[i + 1 :]:
            if other[0] >= x1 - 2.0:
                break
            if min(bottom, other[3]) - max(top, other[2]) > 0.7:
                found.append((text, other[4], round(x0), round(top)))
    return found


def colours(pdf):
    """Every colour that fills or strokes an object on any page, as (red, green, blue, opacity)."""
    red, green, blue, alpha = (ctypes.c_uint() for _ in range(4))
    found = set()
    for page in pdfium.PdfDocument(pdf):
        for thing in page.get_objects():
            for ask in (raw.FPDFPageObj_GetFillColor, raw.FPDFPageObj_GetStrokeColor):
                if ask(thing, red, green, blue, alpha):
                    found.add((red.value, green.value, blue.value, alpha.value))
    return found


def picture(pdf, page, dpi=200):
    """A page as a grey picture."""
    return pdfium.PdfDocument(pdf)[page].render(scale=dpi / 72).to_pil().convert("L")


def photocopied(grey, times=2):
    """A page printed in one bit and copied so many times: each copy blurs by a tenth of a millimetre and cuts at a half."""
    from PIL import ImageFilter

    bits = grey.point(lambda v: 255 if v > 127 else 0)
    for _ in range(times):
        bits = bits.filter(ImageFilter.GaussianBlur(0.8)).point(lambda v: 255 if v > 127 else 0)
    return bits


def contact_sheet(pdf, across=4, dpi=200, first=8):
    """The first pages of a PDF, each as a photocopy of a photocopy, side by side in one picture."""
    from PIL import Image

    count = min(first, len(pdfium.PdfDocument(pdf)))
    copies = [photocopied(picture(pdf, page, dpi)) for page in range(count)]
    width, height = copies[0].size
    sheet = Image.new("L", (width * min(across, count), height * -(-count // across)), 255)
    for place, copy in enumerate(copies):
        sheet.paste(copy, (place % across * width, place // across * height))
    return sheet


if __name__ == "__main__":  # python tests/render/paper.py card.pdf copy.png
    contact_sheet(Path(sys.argv[1]).read_bytes()).save(sys.argv[2])
