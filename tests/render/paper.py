"""What tests of paper share: what a PDF holds, read by pypdf and pdfium, which know nothing of typst."""

import ctypes
import io
import re
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
        text = chr(raw.FPDFText_GetUnicode(words, index))
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
    """Pairs of characters whose ink covers each other by more than a hair."""
    found = []
    inked = sorted((g.x0, g.x1, g.top, g.bottom, g.text) for g in page)
    for i, (x0, x1, top, bottom, text) in enumerate(inked):
        for other in inked[i + 1 :]:
            if other[0] >= x1 - 0.7:
                break
            if min(bottom, other[3]) - max(top, other[2]) > 0.7:
                found.append((text, other[4], round(x0), round(top)))
    return found
