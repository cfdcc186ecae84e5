"""The cut book in a real browser: a page that keeps what the browser said and asked for, and what is read off it."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from playwright.sync_api import Browser, ConsoleMessage, Dialog, Error, Page, Request

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
)
PHONE = (390, 844)
DESK = (1200, 900)


@dataclass(kw_only=True)  # no slots: Playwright leaves a mark on what it calls
class Opened:
    """A page and all that went wrong on it."""

    page: Page
    said: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)

    def hear(self, message: ConsoleMessage) -> None:
        """A word on the console."""
        self.said.append(message.text)

    def fail(self, error: Error) -> None:
        """An error that the script did not catch."""
        self.said.append(str(error))

    def dismiss(self, dialog: Dialog) -> None:
        """A dialog, answered with no."""
        self.said.append(dialog.message)
        dialog.dismiss()

    def ask(self, request: Request) -> None:
        """A request for anything."""
        self.asked.append(request.url)

    def wait_for_typing(self) -> None:
        """The search waits a moment for the next letter."""
        self.page.wait_for_timeout(250)

    def shown(self) -> list[str]:
        """The tiles whose cards are shown."""
        found: list[str] = self.page.evaluate(
            "Array.from(document.querySelectorAll('article.card:not([hidden])'), (card) => card.id)"
        )
        return found

    def ticked(self) -> list[str]:
        """The boxes that are ticked."""
        found: list[str] = self.page.evaluate(
            "Array.from(document.querySelectorAll('input[data-tick]:checked'), (box) => box.dataset.tick)"
        )
        return found


@contextmanager
def opened(
    browser: Browser, file: Path, size: tuple[int, int] = DESK, *, hash_: str = "", before: str = "", bare: bool = False
) -> Iterator[Opened]:
    """The file in a browser that knows nothing yet; ends with no error, no word on the console and no request.

    `before` is a script that runs before the page's own; `bare` lets tests bring scripts of their own.
    """
    width, height = size
    context = browser.new_context(
        viewport={"width": width, "height": height}, accept_downloads=True, bypass_csp=bare, color_scheme="light"
    )
    try:
        context.add_init_script(before)
        page = context.new_page()
        found = Opened(page=page)
        page.on("console", found.hear)
        page.on("pageerror", found.fail)
        page.on("dialog", found.dismiss)
        page.on("request", found.ask)
        page.goto(f"{file.as_uri()}{hash_}")
        yield found
        assert found.said == []
        assert {url.split("#")[0] for url in found.asked if not url.startswith("blob:")} == {file.as_uri()}
    finally:
        context.close()


# Of every text that is seen: its contrast with what is behind it, by https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio.
# A drawing's texts stand on its white sheet, but for those on the black band; the rim of a text is not counted.
CONTRASTS = """() => {
  const rgba = (colour) => {
    const numbers = colour.match(/[\\d.]+/g).map(Number);
    return numbers.length === 3 ? [...numbers, 1] : numbers;
  };
  const light = ([r, g, b]) => [r, g, b]
    .map((one) => one / 255)
    .map((one) => (one <= 0.04045 ? one / 12.92 : ((one + 0.055) / 1.055) ** 2.4))
    .reduce((sum, one, n) => sum + one * [0.2126, 0.7152, 0.0722][n], 0);
  const behind = (element) => {
    for (let at = element; at; at = at.parentElement) {
      const colour = rgba(getComputedStyle(at).backgroundColor);
      if (colour[3] === 1) return colour;
      if (colour[3] > 0) throw new Error("half seen through: " + at.outerHTML.slice(0, 80));
    }
    throw new Error("no ground");
  };
  const found = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const element = walker.currentNode.parentElement;
    if (!walker.currentNode.data.trim() || element.closest("title, [hidden], script, style")) continue;
    const style = getComputedStyle(element);
    const drawn = element.closest("svg");
    const colour = rgba(drawn ? style.fill : style.color);
    const ground = drawn && element.classList.contains("s-band-text-down") ? [0, 0, 0] : behind(element);
    const [one, other] = [light(colour), light(ground)];
    const ratio = (Math.max(one, other) + 0.05) / (Math.min(one, other) + 0.05);
    found.push([ratio, element.textContent.trim().slice(0, 60)]);
  }
  return found;
}"""

# What each control is called: its own words or label. An element that is not seen needs no name.
NAMES = """() => Array.from(document.querySelectorAll("a, button, input, select, progress, [tabindex]"))
  .filter((control) => control.checkVisibility())
  .map((control) => [
    control.outerHTML.slice(0, 90),
    (control.getAttribute("aria-label") ?? control.labels?.[0]?.textContent ?? control.textContent ?? "").trim(),
  ])"""

# Texts that the paper cuts off: past the page's rim, or past a box that hides or scrolls what is too long.
CUT_OFF = """() => {
  const found = [];
  const wide = document.documentElement.clientWidth;
  for (const element of document.body.querySelectorAll("*")) {
    if (!element.checkVisibility() || element.closest("svg")) continue;
    const box = element.getBoundingClientRect();
    const style = getComputedStyle(element);
    if (box.width && (box.right > wide + 1 || box.left < -1)) found.push(element.outerHTML.slice(0, 120));
    if (style.overflow !== "visible" && element.scrollWidth > element.clientWidth + 1) {
      found.push(element.outerHTML.slice(0, 120));
    }
  }
  for (const text of document.querySelectorAll("svg text")) {
    const [box, sheet] = [text.getBoundingClientRect(), text.ownerSVGElement.getBoundingClientRect()];
    const across = box.left < sheet.left - 1 || box.right > sheet.right + 1;
    if (across || box.top < sheet.top - 1 || box.bottom > sheet.bottom + 1) {
      found.push(`${text.ownerSVGElement.querySelector("title").textContent}: ${text.textContent}`);
    }
  }
  return found;
}"""
