"""The README's pictures of the page, taken of the demo boat in the system's own Chromium.

``python tests/docs/page_pictures.py`` takes them anew into ``service/pictures/``.
"""

from __future__ import annotations

import io
import os
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from PIL import Image  # noqa: E402
from playwright.sync_api import Browser  # noqa: E402

from curewindow.daysheet.planning import make_plan  # noqa: E402
from curewindow.demo import files as demofiles  # noqa: E402
from tests.page.browser import open_browser  # noqa: E402
from tests.page.hands import MORNING, served, wait_until_worked  # noqa: E402

PICTURES = ROOT / "service" / "pictures"
COLOURS = 96  # flat colours and black letters need no more
# Name: address, light or dark, width and height of the screen.
SHOTS = {
    "today-phone": ("/", "light", (360, 780)),
    "space-phone-dark": ("/space?name=saloon", "dark", (360, 780)),
    "space-desk": ("/space?name=saloon", "light", (1100, 860)),
}


def take(browser: Browser, base: str) -> None:
    """Take all of them."""
    PICTURES.mkdir(exist_ok=True)
    for name, (address, scheme, (width, height)) in SHOTS.items():
        context = browser.new_context(
            viewport={"width": width, "height": height},
            color_scheme=scheme,  # type: ignore[arg-type]
            device_scale_factor=2 if width < 800 else 1,
        )
        page = context.new_page()
        page.goto(base + address)
        page.wait_for_timeout(500)
        taken = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
        context.close()
        file = PICTURES / f"{name}.png"
        taken.quantize(COLOURS, dither=Image.Dither.NONE).save(file, optimize=True)
        print(f"{file.relative_to(ROOT)}: {file.stat().st_size / 1000:.0f} kB")  # noqa: T201


def main() -> None:
    """Serve the demo boat's morning and take its pictures."""
    with tempfile.TemporaryDirectory() as place:
        os.environ["CUREWINDOW_CACHE"] = f"{place}/cache"
        folder = Path(place) / "boat"
        demofiles.write(folder, MORNING)
        make_plan(folder, MORNING)
        with served(folder, between_s=60.0) as (base, app), open_browser() as browser:
            wait_until_worked(app)
            take(browser, base)


if __name__ == "__main__":
    main()
