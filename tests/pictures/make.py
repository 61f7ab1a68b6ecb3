"""The pictures of the README, made from the first sample: python tests/pictures/make.py

Needs the test requirements and Debian's chromium. Greys only, a few kilobytes each; look at them before you commit.
"""

from __future__ import annotations

import io
import subprocess
import sys
import sysconfig
import tempfile
from pathlib import Path

import pypdfium2
from PIL import Image

ROOT = Path(__file__).resolve().parents[2]
HERE = Path(__file__).parent
READINESS = str(Path(sysconfig.get_path("scripts")) / "readiness")
TRIP, DAY = "sample_trips/high-basin.yaml", ("--date", "2027-09-01")
CHROMIUM = "/usr/bin/chromium"
FLAGS = ("--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update")


def made(folder: Path, command: str, name: str, *options: str) -> Path:
    """A file that one command writes."""
    subprocess.run([READINESS, command, TRIP, "-o", str(folder / name), *options, *DAY], cwd=ROOT, check=True)
    return folder / name


def pages(path: Path, numbers: tuple[int, ...], dpi: int) -> list[Image.Image]:
    """Pages of a PDF as pictures."""
    document = pypdfium2.PdfDocument(path)
    return [document[number].render(scale=dpi / 72).to_pil().convert("L") for number in numbers]


def beside(images: list[Image.Image], gap: int = 12) -> Image.Image:
    """Pictures side by side on grey."""
    width = sum(image.width for image in images) + gap * (len(images) + 1)
    sheet = Image.new("L", (width, max(image.height for image in images) + 2 * gap), 200)
    x = gap
    for image in images:
        sheet.paste(image, (x, gap))
        x += image.width + gap
    return sheet


def phone(path: Path) -> Image.Image:
    """The top of the handout, and its arrows, as a phone shows them."""
    from playwright.sync_api import sync_playwright

    shots = []
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        page = browser.new_page(viewport={"width": 360, "height": 640})
        page.goto(path.as_uri())
        for anchor in ("top", "stops"):
            page.evaluate(f"document.getElementById('{anchor}').scrollIntoView()")
            shots.append(Image.open(io.BytesIO(page.screenshot())).convert("L"))
        browser.close()
    return beside(shots)


def keep(name: str, image: Image.Image) -> None:
    """Write a picture with sixteen greys."""
    image.quantize(16).save(HERE / name, optimize=True)
    print(f"{name}: {(HERE / name).stat().st_size / 1024:.0f} KB")


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        at = Path(folder)
        keep("card.png", beside(pages(made(at, "card", "card.pdf"), (0, 1, 2), 110)))
        keep("plan.png", beside(pages(made(at, "plan", "plan.pdf"), (0,), 60)))
        keep("handout.png", phone(made(at, "handout", "handout.html")))


if __name__ == "__main__":
    sys.exit(main())
