"""A real browser for the handout: Debian's Chromium, driven by playwright. Without it these tests skip, but not in CI."""

import os
from datetime import date
from pathlib import Path

import pytest
from made_up import exchanged

ROOT = Path(__file__).resolve().parents[2]
CHROMIUM = "/usr/bin/chromium"
NEEDED = os.environ.get("CI") == "true"
SWITCHES = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PHONE = {"width": 390, "height": 844}


@pytest.fixture(scope="session")
def browser():
    """Chromium, once for all tests; the reason where there is none."""
    if not NEEDED and not Path(CHROMIUM).exists():
        pytest.skip(f"{CHROMIUM} is not installed, so no page can be driven")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        started = driver.chromium.launch(executable_path=CHROMIUM, args=SWITCHES)
        yield started
        started.close()


@pytest.fixture(scope="session")
def handout_of(tmp_path_factory):
    """A function: the handout of a sample trip in a folder of its own, beside its trip file. The path of the page."""
    from readiness.plan import make_plan
    from readiness.render.handout import handout_html
    from readiness.rules.packs import built_in_packs
    from readiness.trip.load import load_trip

    days = {"high-basin": date(2027, 8, 25), "terraces-metric": date(2027, 9, 10)}
    packs, _ = built_in_packs()

    def written(name="high-basin", change=lambda plan: plan, exchange=()):
        folder = tmp_path_factory.mktemp(name)
        text = exchanged((ROOT / "sample_trips" / f"{name}.yaml").read_text(encoding="utf-8"), exchange)
        (folder / "trip.yaml").write_text(text, encoding="utf-8")
        trip = load_trip(text, "trip.yaml", days[name]).trip
        plan, _ = make_plan(trip, packs, today=days[name], units=trip.units, arrows=12, trip_sha256=folder.name * 4)
        page = folder / "handout.html"
        page.write_text(handout_html(change(plan)), encoding="utf-8", newline="\n")
        return page

    return written


@pytest.fixture
def opened(browser):
    """A function: a page opened in a browser of its own, with whatever it complained of or asked for in `.heard`."""
    contexts = []

    def open_page(path, *, offline=True, script="", **options):
        context = browser.new_context(**{"viewport": PHONE, "timezone_id": "America/Denver", **options})
        contexts.append(context)
        context.set_default_timeout(5000)
        context.set_offline(offline)
        page = context.new_page()
        page.heard = []
        page.on("pageerror", lambda error: page.heard.append(f"error: {error}"))
        page.on("console", lambda message: page.heard.append(f"{message.type}: {message.text}"))
        page.on("dialog", lambda dialog: (page.heard.append(f"dialog: {dialog.message}"), dialog.dismiss()))
        page.on("request", lambda request: page.heard.append(request.url) if _goes_out(request.url) else None)
        if script:
            page.add_init_script(script)
        page.goto(Path(path).as_uri())
        return page

    yield open_page
    for context in contexts:
        context.close()


def _goes_out(address):
    return not address.startswith(("file:", "blob:"))


@pytest.fixture(scope="session")
def axe():
    """A function: what axe-core finds wrong with a page by WCAG 2.2 AA and its own good practice, or by some rules."""
    import importlib.util

    folder = Path(importlib.util.find_spec("axe_playwright_python").origin).parent
    source = (folder / "axe.min.js").read_text(encoding="utf-8")
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]

    def found(page, rules=None):
        page.evaluate(source)
        only = {"type": "rule", "values": rules} if rules else {"type": "tag", "values": tags}
        options = {"runOnly": only, "resultTypes": ["violations"], "preload": False}
        result = page.evaluate("options => axe.run(document, options)", options)
        assert len(result["passes"]) >= (len(rules) if rules else 15)
        return [f"{v['id']}: {node['html'][:120]}" for v in result["violations"] for node in v["nodes"]]

    return found


def pytest_collection_modifyitems(items):
    """These come last: what is wrong with the arithmetic should be told first."""
    items.sort(key=lambda item: str(item.path).startswith(str(Path(__file__).parent)))
