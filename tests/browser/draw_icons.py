"""Draw the PNG icons from icon.svg: python -m tests.browser.draw_icons (needs Chromium; run after changing the SVG)."""

from __future__ import annotations

import shutil
from pathlib import Path

from playwright.sync_api import sync_playwright

FOLDER = Path(__file__).parents[2] / "club" / "static" / "club"
#: file, pixels, share of the square that the icon fills (launchers may cut the outer fifth off a maskable icon)
ICONS = (("icon-192.png", 192, 1.0), ("icon-512.png", 512, 1.0), ("icon-maskable-512.png", 512, 0.8))


def main() -> None:
    """Write each icon beside the SVG."""
    drawing = (FOLDER / "icon.svg").read_text()
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
        )
        for name, size, share in ICONS:
            page = browser.new_page(viewport={"width": size, "height": size})
            behind = "transparent" if share == 1 else "#1d4e89"
            page.set_content(
                f"<style>html,body{{margin:0;height:100%;display:grid;place-items:center;background:{behind}}}"
                f"svg{{width:{size * share}px;height:{size * share}px}}</style>{drawing}"
            )
            page.screenshot(path=FOLDER / name, omit_background=True)
            page.close()
        browser.close()


if __name__ == "__main__":
    main()
