"""Takes the README's pictures of the demo as of 2026-10-14: python tests/browser/take_pictures.py"""

import io
import os
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).resolve().parent.parent.parent
OUT = ROOT / "fixtures" / "pictures"
ADDRESS = "http://127.0.0.1:8765"
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
# name: (who, address > words of a link to follow from it, width, height)
PICTURES = {
    "home": ("amos", "/", 1280, 800),
    "ward-sheet": ("pilar", "/ward/2026-10-14/", 1180, 820),
    "ward-sheet-phone": ("pilar", "/ward/2026-10-14/", 360, 740),
    "sign-off": ("amos", "/sign-off/2026-10-13/", 1280, 800),
    "path": ("noor", "/paths/ > Bracken", 1280, 800),
    "animal": ("noor", "/find/?q=Bracken", 1280, 800),
    "partners": ("greta", "/partners/", 1280, 560),
    "fund": ("greta", "/ledger/funds/6/", 1280, 800),
    "statement": ("greta", "/papers/donors/1/", 1280, 1000),
}


def main() -> None:
    OUT.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        environment = {
            **os.environ, "DATABASE_URL": f"sqlite:///{folder}/demo.sqlite3", "AS_OF": "2026-10-14", "DEBUG": "1",
        }  # fmt: skip

        def manage(*words: str, **more):
            return subprocess.Popen([sys.executable, str(ROOT / "manage.py"), *words], env=environment, **more)

        for words in (("migrate", "-v0"), ("build_demo", "--as-of", "2026-10-14")):
            if manage(*words).wait():
                sys.exit(1)
        server = manage("runserver", ADDRESS.removeprefix("http://"), "--noreload", stderr=subprocess.DEVNULL)
        try:
            _wait()
            with sync_playwright() as playwright:
                browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
                for name, (who, address, width, height) in PICTURES.items():
                    page = browser.new_context(viewport={"width": width, "height": height}).new_page()
                    _sign_in(page, who)
                    address, _, link = address.partition(" > ")
                    page.goto(ADDRESS + address)
                    if link:
                        with page.expect_navigation():
                            page.get_by_role("link", name=link).first.click()
                    _keep(page.screenshot(), OUT / f"{name}.png")
                browser.close()
        finally:
            server.terminate()


def _keep(picture: bytes, path: Path) -> None:
    """Keep a picture with a palette of its own: a third of the size, and the page has few colors."""
    Image.open(io.BytesIO(picture)).convert("RGB").quantize(128, dither=Image.Dither.NONE).save(path, optimize=True)


def _wait() -> None:
    for _ in range(100):
        try:
            urllib.request.urlopen(f"{ADDRESS}/sign-in/")
            return
        except OSError:
            time.sleep(0.1)


def _sign_in(page: Page, who: str) -> None:
    page.goto(f"{ADDRESS}/sign-in/")
    page.locator("main input:not([type=hidden]):not([type=password])").first.fill(who)
    page.locator("main input[type=password]").fill("tally-of-five")
    page.locator("main button[type=submit]").first.click()
    page.wait_for_load_state()


if __name__ == "__main__":
    main()
