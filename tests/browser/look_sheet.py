"""Every component on pages of their own, to be looked at: python -m tests.browser.look_sheet FOLDER.

Writes screenshots of each page at the sizes we promise, light and dark. It judges nothing; a person does.
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

from playwright.sync_api import sync_playwright

from club import figures

CSS = Path(__file__).parents[2] / "club" / "static" / "club" / "groundwork.css"
PAGES = Path(__file__).parent / "look_pages"
SIZES = {"wide": (1180, 820), "upright": (820, 1180), "phone": (390, 844)}


def _filled(source: str) -> str:
    """A look page with its drawings: [[hollow thumb]] or [[hollow-low_back]] becomes inline SVG."""
    parts = source.split("[[")
    page = parts[0]
    for part in parts[1:]:
        call, _, rest = part.partition("]]")
        name, _, css = call.partition(" ")
        page += figures.figure(name, css=css) + rest
    return page


def _contact_sheet() -> str:
    cells = "".join(
        f'<div class="card pose">{figures.figure(each.name, css="large")}{figures.figure(each.name, css="thumb")}'
        f"<small>{each.name}</small></div>"
        for each in figures.FIGURES
    )
    return f'<body><main class="page"><h1>Drawings</h1><div class="multiples">{cells}</div></main>'


def main(folder: Path) -> None:
    """Screenshot each page in each size and theme."""
    folder.mkdir(parents=True, exist_ok=True)
    pages = {each.stem: _filled(each.read_text()) for each in sorted(PAGES.glob("*.html"))}
    pages["figures"] = _contact_sheet()
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
        )
        for name, body in pages.items():
            file = folder / f"{name}.html"
            file.write_text(
                f'<!doctype html><html lang="en"><meta charset="utf-8"><title>{name}</title>'
                f'<meta name="viewport" content="width=device-width"><link rel="stylesheet" href="{CSS.as_uri()}">{body}'
            )
            for size, (width, height) in SIZES.items():
                for theme in ("light", "dark"):
                    page = browser.new_page(viewport={"width": width, "height": height}, color_scheme=theme)
                    page.goto(file.as_uri())
                    page.screenshot(path=folder / f"{name}-{size}-{theme}.png", full_page=True)
                    page.close()
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
