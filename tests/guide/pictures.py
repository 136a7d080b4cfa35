"""Write the two pictures of the front page anew: `python -m tests.guide.pictures`.

`sample_targets/chart.png` is the chart of the first sample, half as large as `plan` writes it;
`sample_targets/app.png` the app with the same plan. Each holds, as text inside the file, what can be read on it:
so the tests can say whether it is still true, whatever fonts a machine has.
"""

import io
import re
import sys
import tempfile
from pathlib import Path

import numpy as np
from PIL import Image, PngImagePlugin

from planner.answers import plan as answers
from planner.draw import chart_figure, chart_png
from planner.files.plan_file.read import read_plan_file
from tests.app.conftest import CHROMIUM, CHROMIUM_ARGUMENTS, RUNS, rests, start_server
from tests.guide.examples import ROOT

SAMPLE = ROOT / "sample_targets" / "vela_shell.toml"
CHART, APP = SAMPLE.with_name("chart.png"), SAMPLE.with_name("app.png")
SCREEN = {"width": 1280, "height": 800}
COLOURS = 64
"""Of each picture, so that it stays small."""
SHOWN = "shown"
"""Key of the text inside."""
PATIENCE_MS = 240_000


def small_png(content, shown, *, scale=1.0):
    """A picture with fewer colours, smaller, with a text inside."""
    picture = Image.open(io.BytesIO(content)).convert("RGB")
    size = round(picture.width * scale), round(picture.height * scale)
    picture = picture.resize(size, Image.Resampling.LANCZOS).quantize(COLOURS)
    text, stream = PngImagePlugin.PngInfo(), io.BytesIO()
    text.add_itxt(SHOWN, shown)
    picture.save(stream, "png", optimize=True, pnginfo=text)
    return stream.getvalue()


def chart():
    """The chart of the sample's plan, and all texts on it."""
    plan = answers.make_plan(read_plan_file(SAMPLE))
    texts = [one.get_text() for one in chart_figure(plan).findobj(lambda part: hasattr(part, "get_text"))]
    shown = "\n".join(sorted({text.strip() for text in texts if text.strip()}))
    return small_png(chart_png(plan), shown, scale=0.5)


def app(browser, folder):
    """The app with the sample's plan as the search leaves it, and all texts on it."""
    process, address, _ = start_server(folder, str(SAMPLE))
    try:
        context = browser.new_context(viewport=SCREEN)
        page = context.new_page()
        page.add_init_script(RUNS)
        page.goto(address, timeout=PATIENCE_MS)
        page.locator(".sky .panels polygon").first.wait_for(state="attached", timeout=PATIENCE_MS)
        rests(page)  # before, nobody knows yet whether it searches
        page.get_by_text("Searching for fewer").wait_for(state="detached", timeout=PATIENCE_MS)
        rests(page)
        page.wait_for_timeout(1500)
        shown = page.locator(".stApp").inner_text()
        content = page.screenshot()
        context.close()
    finally:
        process.terminate()
        process.wait(60)
    return small_png(content, "\n".join(line.strip() for line in shown.split("\n") if line.strip()))


def shown_in(content):
    """The text inside a picture."""
    return Image.open(io.BytesIO(content)).text[SHOWN]


def words_of(shown):
    """Texts of a picture without digits: what a search finds may differ from machine to machine."""
    return {re.sub(r"\d+", "#", line) for line in shown.split("\n")}


def difference(one, other):
    """How far two pictures differ, seen from afar: mean of grey levels, 0 to 255."""
    greys = [
        np.asarray(Image.open(io.BytesIO(png)).convert("L").resize((64, 42)), float) for png in (one, other)
    ]
    return float(np.mean(np.abs(greys[0] - greys[1])))


def main():
    """Write both pictures."""
    from playwright.sync_api import sync_playwright

    CHART.write_bytes(chart())
    print(f"{CHART.relative_to(ROOT)}: {CHART.stat().st_size / 1000:.0f} kB")
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as folder:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=CHROMIUM_ARGUMENTS)
        APP.write_bytes(app(browser, Path(folder)))
        browser.close()
    print(f"{APP.relative_to(ROOT)}: {APP.stat().st_size / 1000:.0f} kB")
    return 0


if __name__ == "__main__":
    sys.exit(main())
