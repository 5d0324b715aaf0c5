"""The pages in a real browser, headless Chromium with every request refused but the file itself."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

from tests.test_web.conftest import DAYS, page_file
from tests.test_web.test_official_page import Shown, shown

__all__ = ["shown"]  # a fixture that is the other module's

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium on this machine")
QUIET = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update"]
WIDTHS = (320, 360, 768, 1440)


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    sync_api = pytest.importorskip("playwright.sync_api")
    with sync_api.sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        yield found
        found.close()


@pytest.fixture(scope="module")
def files(racer_files: dict[str, Path], shown: Shown, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A page for each reader, and the racer's of each demo."""
    folder = tmp_path_factory.mktemp("pages")
    official = folder / "official.html"
    official.write_text(shown.html, "utf-8")
    builder = page_file(folder, "scenarios/kart-single", "builder", "2027-03-01")
    return {**racer_files, "builder": builder, "official": official}


@pytest.fixture
def opened(browser: Any, files: dict[str, Path]) -> Iterator[Any]:
    """Opens a page in some scheme; it must ask for nothing and complain of nothing."""
    told: list[str] = []
    contexts: list[Any] = []

    def open_page(width: int = 1440, scheme: str = "light", name: str = "oval-v8", **more: Any) -> Any:
        context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme, **more)
        contexts.append(context)
        context.route("**/*", only_the_file)
        page = context.new_page()
        page.on("console", lambda message: told.append(message.text))
        page.on("pageerror", lambda error: told.append(str(error)))
        page.goto(files[name].as_uri())
        return page

    def only_the_file(route: Any) -> None:
        if route.request.url.startswith("file:"):
            route.continue_()
        else:
            told.append(route.request.url)
            route.abort()

    yield open_page
    for context in contexts:
        context.close()
    assert told == []


@pytest.mark.parametrize("name", [*DAYS, "builder", "official"])
def test_nothing_is_wider_than_the_screen(opened: Any, name: str) -> None:
    page = opened(name=name)
    page.evaluate("document.querySelectorAll('details').forEach((one) => (one.open = true))")
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        wider = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        assert wider <= 0, f"{wider} pixels too wide at {width}"


def test_a_phone_gets_the_drawing_made_for_it(opened: Any) -> None:
    page = opened()
    for width, seen in ((1440, "wide"), (360, "narrow")):
        page.set_viewport_size({"width": width, "height": 900})
        drawings = {name: page.locator(f"figure .{name}").first.is_visible() for name in ("wide", "narrow")}
        assert drawings == {name: name == seen for name in ("wide", "narrow")}


def test_a_figure_says_why_by_key_and_escape_puts_it_away(opened: Any) -> None:
    page = opened()
    first = page.locator(".why").first
    first.focus()
    page.keyboard.press("Enter")
    slip = page.locator(f"#{first.get_attribute('popovertarget')}")
    assert slip.is_visible()
    assert ".csv:" in slip.inner_text()
    page.keyboard.press("Escape")
    assert not slip.is_visible()


def test_a_figure_says_why_when_it_is_tapped(opened: Any) -> None:
    page = opened(360, has_touch=True)
    first = page.locator(".why").first
    first.tap()
    assert page.locator(f"#{first.get_attribute('popovertarget')}").is_visible()


def test_figures_and_marks_say_why_when_they_are_pointed_at(opened: Any) -> None:
    page = opened()
    first = page.locator(".why").first
    first.hover()
    assert page.locator(f"#{first.get_attribute('popovertarget')}").is_visible()
    page.locator("h1").hover()
    mark = page.locator(".wide [aria-label]").first
    mark.scroll_into_view_if_needed()
    mark.hover(force=True)
    assert page.locator(".slip:popover-open").inner_text() == mark.get_attribute("aria-label").replace("\n", "\n\n")


def test_without_scripts_figures_still_say_why(opened: Any) -> None:
    page = opened(java_script_enabled=False)
    first = page.locator(".why").first
    first.click()
    assert page.locator(f"#{first.get_attribute('popovertarget')}").is_visible()


def test_dark_is_dark_and_light_is_light(opened: Any) -> None:
    shades = {}
    for scheme in ("light", "dark"):
        colour = opened(scheme=scheme).evaluate("getComputedStyle(document.body).backgroundColor")
        shades[scheme] = sum(int(part) for part in colour.removeprefix("rgb(").rstrip(")").split(","))
    assert shades["dark"] < 150 < 600 < shades["light"]


def test_a_colour_of_a_drawing_follows_the_scheme(opened: Any) -> None:
    seen = {
        opened(scheme=scheme).evaluate("getComputedStyle(document.querySelector('.wide [aria-label]')).fill")
        for scheme in ("light", "dark")
    }
    assert len(seen) == 2


def test_the_print_has_the_figures_and_drawings_and_not_the_ledger(opened: Any) -> None:
    from pypdf import PdfReader

    printed = PdfReader(BytesIO(opened(scheme="dark").pdf(format="A4")))
    words = " ".join(page.extract_text() for page in printed.pages)
    assert "The season as planned" in words
    assert "Cash by month" in words
    assert "The ledger of cash" not in words
    assert 3 <= len(printed.pages) <= 12


def test_the_mark_of_a_guess_stays_with_its_figure_on_a_phone(opened: Any) -> None:
    page = opened(360, name="builder")
    mark = page.locator("td .guess:visible").first
    figure, beside = (one.bounding_box() for one in (mark.locator("xpath=.."), mark))
    assert figure["y"] - 1 <= beside["y"] <= figure["y"] + figure["height"]
    assert beside["x"] > 0.38 * 360
