"""Writes readiness/render/glyphs.json anew: the characters of our own fonts and of each that the typst wheel carries.

    python tests/glyph_table.py

Those fonts lie uncompressed inside typst's extension module; each is found by its table directory and read by fontTools.
A family counts a character when each of its upright faces that pages use has it: regular, semibold, bold.
"""

import io
import json
import struct
from pathlib import Path

import typst
from fontTools.ttLib import TTFont

FAMILIES = ("DejaVu Sans", "DejaVu Sans Mono", "Libertinus Serif", "New Computer Modern")
OWN = Path(__file__).resolve().parents[1] / "readiness" / "render" / "fonts"
TARGET = Path(__file__).resolve().parents[1] / "readiness" / "render" / "glyphs.json"


def embedded_fonts():
    """(family, characters) of every upright face in typst's extension module."""
    module = next(Path(typst.__file__).parent.glob("_typst*"))
    data = module.read_bytes()
    for magic in (b"OTTO", b"\x00\x01\x00\x00"):
        start = data.find(magic)
        while start != -1:
            font = _font_at(data, start)
            if font is not None:
                name = font["name"]
                family = (name.getDebugName(16) or name.getDebugName(1)).replace(
                    "NewComputerModern", "New Computer Modern"
                )
                style = (name.getDebugName(17) or name.getDebugName(2)).split()[-1].lower()
                if style in ("regular", "book", "semibold", "bold"):
                    yield family.removesuffix("10"), set(font.getBestCmap())
            start = data.find(magic, start + 4)


def _font_at(data, start):
    (count,) = struct.unpack(">H", data[start + 4 : start + 6])
    if not 8 <= count <= 40:
        return None
    records = [data[start + 12 + 16 * i : start + 28 + 16 * i] for i in range(count)]
    if not {b"cmap", b"head", b"name"} <= {record[:4] for record in records}:
        return None
    end = max(sum(struct.unpack(">II", record[8:16])) for record in records)
    return TTFont(io.BytesIO(data[start : start + end]))


def ranges(characters):
    """[first, last, first, last ...] of a set of code points."""
    flat = []
    for code in sorted(characters):
        if flat and flat[-1] == code - 1:
            flat[-1] = code
        else:
            flat += [code, code]
    return flat


def table():
    """Family -> ranges that both its faces have."""
    own = [set(TTFont(path).getBestCmap()) for path in sorted(OWN.glob("*.ttf"))]
    common = {"DejaVu Sans": set.intersection(*own)}
    for family, characters in embedded_fonts():
        common[family] = common.get(family, characters) & characters
    return {family: ranges(common[family]) for family in FAMILIES}


if __name__ == "__main__":
    TARGET.write_text(json.dumps(table(), separators=(",", ":")).replace('],"', '],\n"') + "\n", encoding="utf-8")
