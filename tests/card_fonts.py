"""Writes the two fonts of printed pages anew: DejaVu Sans Condensed, regular and bold, with the characters that pages need.

    python tests/card_fonts.py [folder with DejaVuSansCondensed.ttf and DejaVuSansCondensed-Bold.ttf]

Debian's package fonts-dejavu-extra has both. Afterwards `python tests/glyph_table.py` writes the table of characters anew.
"""

import sys
from pathlib import Path

from fontTools import subset

SOURCE = "/usr/share/fonts/truetype/dejavu"
TARGET = Path(__file__).resolve().parents[1] / "readiness" / "render" / "fonts"
NAMES = ("DejaVuSansCondensed.ttf", "DejaVuSansCondensed-Bold.ttf")
CHARACTERS = (
    "U+0020-007E,U+00A0-017F,U+0192,U+0218-021B,U+0386-03CE,U+0400-045F,U+0490-0491,U+1E9E,U+2010-2027,U+2030-203A,"
    "U+20AC,U+2116,U+2122,U+2190-2193,U+2212,U+2248,U+2264-2265,U+25A0-25A1,U+2610-2612,U+FFFD"
)

if __name__ == "__main__":
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else SOURCE)
    for name in NAMES:
        made = f"--output-file={TARGET / name}"
        subset.main(
            [str(folder / name), f"--unicodes={CHARACTERS}", "--no-hinting", "--layout-features=kern,liga", made]
        )
