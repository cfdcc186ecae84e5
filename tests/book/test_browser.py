"""The page in a real browser: ticks, filters, print, colours, keyboard, names that would break it, and 2,000 tiles."""

from __future__ import annotations

import itertools
import json
import os
import re
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Download, sync_playwright
from pypdf import PdfReader

from cutopt.book import html_page
from cutopt.planfile import Plan
from cutopt.planfile.ticks import Tick, Ticks, digest
from tests.book.browsing import ARGUMENTS, CHROMIUM, CONTRASTS, CUT_OFF, DESK, NAMES, PHONE, Opened, opened
from tests.book.sample import sample_json, sample_plan

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no chromium here: on Debian, apt-get install chromium")

NASTY = (
    '<script>alert("1")</script><img src=x onerror=alert(2)>',
    'Quay\'s "deck" & <b>co</b> ]]> --> </svg></style></script>',
    "مصطبة السطح (الشمالية)",
    "x" * 200,
)
READABLE = 4.5  # https://www.w3.org/TR/WCAG22/#contrast-minimum, for text of any size
PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}  # ISO 216, ANSI/ASME Y14.1; mm
MARGIN = 10.0  # mm, as the page's style asks for
DOT = 25.4 / 96  # mm: https://www.w3.org/TR/css-values-3/#absolute-lengths
REFUSES = (
    """Object.defineProperty(window, "localStorage", { get() { throw new DOMException("no", "SecurityError"); } });"""
)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One browser for all tests; Playwright gives it an empty folder for its user data, and takes it away again."""
    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=CHROMIUM, headless=True, args=list(ARGUMENTS))
        yield found
        found.close()


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(sample_plan(), tmp_path_factory.mktemp("book"))


def written(plan: Plan, folder: Path) -> Path:
    file = folder / "cutbook.html"
    file.write_text(html_page(plan), encoding="utf-8")
    return file


# --- ticks


def test_ticks_survive_a_reload(browser: Browser, book: Path) -> None:
    with opened(browser, book, PHONE) as it:
        assert it.ticked() == []
        for tick in ("1.1", "2.2", "laid 1 6", "bought 2"):
            it.page.check(f'[data-tick="{tick}"]')
        it.page.check('[data-tick="4.1"]')
        it.page.uncheck('[data-tick="4.1"]')
        it.page.reload()
        assert it.ticked() == ["1.1", "2.2", "laid 1 6", "bought 2"]
        total = 2 * len(sample_plan().steps)
        assert it.page.inner_text("#made") == f"2 of {total} steps done"
        assert it.page.get_attribute("#progress", "max") == str(total)
        first = 2 * sum(step.source == "T1" for step in sample_plan().steps)
        assert it.page.inner_text("#T1 .made") == f"2 of {first} done"
        for box in it.page.query_selector_all("#T1 input"):
            box.check()
        assert it.page.inner_text("#T1 .made") == f"All {first} done ✓"


def test_other_plans_have_ticks_of_their_own(browser: Browser, book: Path, tmp_path: Path) -> None:
    other = written(sample_plan(show="in"), tmp_path)
    with opened(browser, book) as it:
        it.page.check('[data-tick="1.1"]')
        it.page.goto(other.as_uri())
        assert it.ticked() == []
        it.page.goto(book.as_uri())
        assert it.ticked() == ["1.1"]
        it.asked.remove(other.as_uri())


def test_many_copies_are_counted_and_stay_counted(browser: Browser, tmp_path: Path) -> None:
    with opened(browser, written(sample_plan(count=30), tmp_path)) as it:
        it.page.fill('[data-step="3"]', "7")
        it.page.fill('[data-step="4"]', "99")
        it.page.fill('[data-step="5"]', "-2")
        it.page.locator("#find").focus()
        it.page.reload()
        assert [it.page.input_value(f'[data-step="{n}"]') for n in (3, 4, 5)] == ["7", "30", ""]
        assert it.page.inner_text("#made").startswith("37 of ")
        done = saved(it).done
        assert [tick.copy_ for tick in done if tick.step == 3] == list(range(1, 8))
        assert len(done) == 37


def test_a_browser_that_keeps_nothing_is_told_of_once_and_works(browser: Browser, book: Path) -> None:
    with opened(browser, book, before=REFUSES) as it:
        assert "keeps no ticks" in it.page.inner_text("#notice")
        it.page.select_option("#colours", "dark")
        it.page.check('[data-tick="1.1"]')
        assert saved(it).done == (Tick(step=1, copy_=1),)
        it.page.check('[data-tick="2.1"]')
        assert "saved" in it.page.inner_text("#notice")  # not told again


def test_kept_ticks_that_are_no_ticks_are_left_out(browser: Browser, book: Path) -> None:
    plan = sample_plan()
    key = f"cutopt ticks {plan.job.sha256} {digest(plan)}"
    for kept, ticked in (('["1.1", "99.9", "1.3", 5, null, "laid 1 77"]', ["1.1"]), ("{}", []), ("no JSON", [])):
        before = f"localStorage.setItem({json.dumps(key)}, {json.dumps(kept)});"
        with opened(browser, book, before=before) as it:
            assert it.ticked() == ticked


def test_saved_ticks_match_and_are_read_at_another_browser(browser: Browser, book: Path, tmp_path: Path) -> None:
    ticks = ["1.1", "2.2", "10.1", "laid 1 1"]
    file = tmp_path / "ticks.json"
    with opened(browser, book, PHONE) as it:
        for tick in reversed(ticks):
            it.page.check(f'[data-tick="{tick}"]')
        found = saved(it, file)
    assert found.plan == digest(sample_plan())
    assert [(tick.step, tick.copy_) for tick in found.done] == [(1, 1), (2, 2), (10, 1)]
    assert found.other == ("laid 1 1",)
    with opened(browser, book) as it:
        it.page.check('[data-tick="3.1"]')
        it.page.set_input_files("#file", file)
        it.page.locator("#notice:not(:empty)").wait_for()
        assert it.page.inner_text("#notice") == "4 ticks in ticks.json, 4 of them new here."
        assert sorted(it.ticked()) == sorted([*ticks, "3.1"])
        it.page.reload()
        assert sorted(it.ticked()) == sorted([*ticks, "3.1"])


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("no JSON", "it is no JSON file"),
        ("null", "it is no file of ticks"),
        ('{"format": "cutopt-plan"}', "it is no file of ticks"),
        ('{"format": "cutopt-ticks", "version": 2}', "its version is not 1"),
        ('{"format": "cutopt-ticks", "version": 1, "plan": "ab", "done": []}', "its ticks are of another plan"),
        ('{"format": "cutopt-ticks", "version": 1, "plan": "PLAN", "done": 3}', "it has no list of what is done"),
    ],
)
def test_a_file_that_is_not_this_plans_ticks_is_refused(
    browser: Browser, book: Path, tmp_path: Path, text: str, why: str
) -> None:
    file = tmp_path / "wrong.json"
    file.write_text(text.replace("PLAN", digest(sample_plan())), encoding="utf-8")
    with opened(browser, book) as it:
        it.page.set_input_files("#file", file)
        it.page.locator("#notice:not(:empty)").wait_for()
        assert it.page.inner_text("#notice") == f"wrong.json was not read: {why}."
        assert it.ticked() == []


def test_all_ticks_are_taken_off_only_when_confirmed(browser: Browser, book: Path) -> None:
    with opened(browser, book) as it:
        it.page.check('[data-tick="1.1"]')
        it.page.click("#clear")  # the dialog is dismissed
        assert it.ticked() == ["1.1"]
        assert it.said == ["Take off 1 tick? They cannot be brought back without a file."]
        it.page.evaluate("window.confirm = () => true")
        it.page.click("#clear")
        assert it.ticked() == []
        it.page.reload()
        assert it.ticked() == []
        it.said.clear()


def saved(it: Opened, to: Path | None = None) -> Ticks:
    """What the page saves, as the planner reads it."""
    with it.page.expect_download() as waiting:
        it.page.click("#save")
    download: Download = waiting.value
    assert download.suggested_filename == "cutopt-ticks.json"
    file = to or Path(download.path())
    if to is not None:
        download.save_as(to)
    return Ticks.model_validate_json(file.read_text(encoding="utf-8"))


# --- filters


@pytest.mark.parametrize(
    ("text", "tiles"),
    [
        ("T4", ["T4"]),
        (" t4 ", ["T4"]),
        ("P4", ["T3"]),
        ("row 1, place 2", ["T5"]),
        ("Row 3 place 1", ["T3"]),
        ("row 3", ["T3", "T4"]),
        ("step 1", ["T1"]),
        ("1", ["T1"]),
        ("T", ["T1", "T2", "T3", "T4", "T5"]),
        ("scribe", ["T5"]),
        ("row 9, place 9", []),
        ("<b>", []),
        ("", ["T1", "T2", "T3", "T4", "T5"]),
    ],
)
def test_search_finds_tiles_pieces_steps_and_cells(browser: Browser, book: Path, text: str, tiles: list[str]) -> None:
    with opened(browser, book, PHONE) as it:
        it.page.fill("#find", text)
        it.wait_for_typing()
        assert it.shown() == tiles
        assert it.page.is_visible("#none") == (not tiles)
        if not tiles:
            assert f"No tile fits “{text}”" in it.page.inner_text("#none")
        if text:
            assert it.page.inner_text("#count").startswith(f"{len(tiles)} of 5 tiles, ")
            it.page.click("#all")
        assert len(it.shown()) == 5
        assert it.page.evaluate("document.activeElement.id") == "find"


def test_a_station_shows_its_steps_alone(browser: Browser, book: Path) -> None:
    plan = sample_plan()
    drilled = [step for step in plan.steps if step.station == "drill"]
    with opened(browser, book) as it:
        it.page.select_option("#station", "drill")
        assert it.shown() == list(dict.fromkeys(step.source for step in drilled))
        steps = it.page.evaluate(
            "Array.from(document.querySelectorAll('.steps li')).filter((one) => one.checkVisibility())"
            ".map((one) => one.id)"
        )
        assert steps == [f"step-{step.n}" for step in drilled]
        words = it.page.inner_text("#count")
        assert f"{len(it.shown())} of 5 tiles, {len(drilled)} step" in words
        assert "hidden" in words
        stations = it.page.evaluate("Array.from(document.querySelectorAll('#station option'), (one) => one.value)")
        assert stations == ["", *dict.fromkeys(step.station for step in plan.steps)]


def test_the_address_keeps_the_filter(browser: Browser, book: Path) -> None:
    with opened(browser, book) as it:
        it.page.select_option("#station", "table saw")
        it.page.fill("#find", "row 3, place 1")
        it.wait_for_typing()
        hash_ = it.page.evaluate("location.hash")
        assert hash_ == "#station=table+saw&find=row+3%2C+place+1"
        it.page.reload()
        assert it.shown() == ["T3"]
        assert it.page.input_value("#find") == "row 3, place 1"
    with opened(browser, book, hash_=hash_) as it:
        assert it.shown() == ["T3"]
    with opened(browser, book, hash_="#station=moon&find=%F0") as it:
        assert it.page.input_value("#station") == ""


def test_a_link_to_a_hidden_tile_shows_it(browser: Browser, book: Path) -> None:
    with opened(browser, book) as it:
        it.page.fill("#find", "T2")
        it.wait_for_typing()
        it.page.locator('#shift ~ * a[href="#T4"]').first.click()
        it.page.locator("#T4:not([hidden])").wait_for()
        assert it.page.input_value("#find") == ""
        top = it.page.evaluate("document.getElementById('T4').getBoundingClientRect().top")
        assert it.page.evaluate("document.querySelector('.filter').offsetHeight") <= top < 300


def test_without_script_the_page_is_whole(browser: Browser, book: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    try:
        page = context.new_page()
        page.goto(book.as_uri())
        assert page.locator("article.card").count() == 5
        assert not page.is_visible(".filter")
        assert not page.is_visible(".ticks")
        page.check('[data-tick="1.1"]')
        assert "Take out" in page.inner_text("#T1")
    finally:
        context.close()


# --- colours, keyboard, names


def test_colours_follow_the_device_until_chosen(browser: Browser, book: Path) -> None:
    with opened(browser, book) as it:
        ground = "getComputedStyle(document.body).backgroundColor"
        assert it.page.evaluate(ground) == "rgb(255, 255, 255)"
        it.page.emulate_media(color_scheme="dark")
        dark = it.page.evaluate(ground)
        assert dark != "rgb(255, 255, 255)"
        it.page.select_option("#colours", "light")
        it.page.reload()
        assert it.page.evaluate(ground) == "rgb(255, 255, 255)"
        assert it.page.input_value("#colours") == "light"
        it.page.select_option("#colours", "dark")
        it.page.emulate_media(color_scheme="light")
        it.page.reload()
        assert it.page.evaluate(ground) == dark
        it.page.emulate_media(media="print")
        assert it.page.evaluate(ground) == "rgb(255, 255, 255)"


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_texts_are_readable_and_controls_have_names(
    browser: Browser, book: Path, size: tuple[int, int], scheme: Any
) -> None:
    with opened(browser, book, size) as it:
        it.page.emulate_media(color_scheme=scheme)
        it.page.fill("#find", "nowhere")
        it.wait_for_typing()
        contrasts = it.page.evaluate(CONTRASTS)
        it.page.click("#all")
        it.page.add_style_tag(content="* { content-visibility: visible !important }")
        contrasts += it.page.evaluate(CONTRASTS)
        assert len(contrasts) > 500
        assert [words for ratio, words in contrasts if ratio < READABLE] == []
        names = it.page.evaluate(NAMES)
        assert len(names) > 60
        assert [control for control, name in names if not name] == []
        assert it.page.evaluate("document.documentElement.lang") == "en"
        levels = it.page.evaluate(
            "Array.from(document.querySelectorAll('h1,h2,h3,h4,h5,h6'), (one) => Number(one.tagName[1]))"
        )
        assert levels[0] == 1
        assert levels.count(1) == 1
        assert all(below <= above + 1 for above, below in itertools.pairwise(levels))
        ids = it.page.evaluate("Array.from(document.querySelectorAll('[id]'), (one) => one.id)")
        assert len(ids) == len(set(ids))
        wide = it.page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
        assert wide[0] <= wide[1]


def test_all_is_done_with_the_keyboard_and_focus_is_seen(browser: Browser, book: Path) -> None:
    with opened(browser, book) as it:
        it.page.keyboard.press("Tab")
        assert it.page.inner_text(":focus") == "Skip to the tiles to cut"
        assert it.page.locator(".skip").bounding_box()["x"] >= 0  # type: ignore[index]
        it.page.keyboard.press("Enter")
        seen = []
        for _ in range(12):
            it.page.keyboard.press("Tab")
            seen.append(it.page.evaluate("document.activeElement.id || document.activeElement.dataset.tick"))
            width = it.page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
            assert float(width.removesuffix("px")) >= 2
        assert seen[:5] == ["save", "read", "clear", "station", "find"]
        assert "1.1" in seen
        it.page.focus('[data-tick="1.1"]')
        it.page.keyboard.press("Space")
        assert it.ticked() == ["1.1"]
        # what has the focus is not under the bar
        it.page.focus('[data-tick="20.1"]')
        it.page.evaluate("scrollTo(0, document.body.scrollHeight)")
        it.page.focus('[data-tick="1.1"]')
        top = it.page.locator('[data-tick="1.1"]').bounding_box()["y"]  # type: ignore[index]
        assert top >= it.page.evaluate("document.querySelector('.filter').getBoundingClientRect().bottom")


def test_counts_are_told_to_a_screen_reader(browser: Browser, book: Path) -> None:
    with opened(browser, book) as it:
        it.page.fill("#find", "P5")
        it.wait_for_typing()
        assert it.page.get_by_role("status").all_inner_texts() == ["", it.page.inner_text("#count")]
        assert it.page.get_by_role("search").count() == it.page.get_by_role("main").count() == 1
        assert it.page.get_by_role("navigation", name="Contents").count() == 1
        assert it.page.get_by_role("checkbox", name="step 1 done, tile 1 of 2").count() == 0  # of a card that is hidden
        drawing = it.page.get_by_role("img", name=re.compile("T4 face down, mm: P5"))
        assert drawing.count() == 1


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_axe_finds_nothing(browser: Browser, book: Path, size: tuple[int, int], scheme: Any) -> None:
    axe = os.environ.get("CUTOPT_AXE")
    if not axe:
        pytest.skip("CUTOPT_AXE does not name axe-core's axe.min.js")
    with opened(browser, book, size, bare=True) as it:
        it.page.emulate_media(color_scheme=scheme)
        it.page.add_style_tag(content="* { content-visibility: visible !important }")
        it.page.evaluate(Path(axe).read_text(encoding="utf-8"))
        found = it.page.evaluate("axe.run(document, { resultTypes: ['violations'] })")
        assert [(one["id"], one["nodes"][0]["html"]) for one in found["violations"]] == []


@pytest.mark.parametrize("name", NASTY, ids=["script", "quotes", "right-to-left", "long"])
def test_names_are_shown_safely(browser: Browser, tmp_path: Path, name: str) -> None:
    made = sample_json(name=name, area_name=name)
    made["tile"]["name"] = name
    made["warnings"] = [name]
    made["areas"][0]["posts"][0]["name"] = name
    made["steps"][0]["text"] = name
    made["buy"][0]["item"] = name
    file = written(Plan.model_validate(made), tmp_path)
    for size in (PHONE, DESK):
        with opened(browser, file, size) as it:
            assert it.page.inner_text("h1") == name
            assert it.page.title() == f"Cut book: {name}"
            assert it.page.locator("#step-1 p").first.text_content() == name
            wide = it.page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
            assert wide[0] <= wide[1]
            assert it.page.locator("img, main script, main style").count() == 0
            it.page.fill("#find", name)
            it.wait_for_typing()
            it.page.emulate_media(media="print")
            assert it.page.evaluate(CUT_OFF) == []


# --- paper


@pytest.mark.parametrize("paper", PAPERS)
def test_print_cuts_nothing_off(browser: Browser, book: Path, tmp_path: Path, paper: str) -> None:
    wide, high = (side - 2 * MARGIN for side in PAPERS[paper])
    plan = sample_plan()
    with opened(browser, book, (int(wide / DOT), int(high / DOT))) as it:
        it.page.check('[data-tick="1.1"]')
        it.page.check('[data-tick="2.2"]')
        it.page.emulate_media(media="print")
        assert it.page.evaluate(CUT_OFF) == []
        for control in ("nav", ".ticks", "#station", "#find", "#progress", "#colours"):
            assert not it.page.is_visible(control)
        heights = it.page.evaluate(
            "Array.from(document.querySelectorAll('.card'), (card) => [card.id, card.getBoundingClientRect().height])"
        )
        file = tmp_path / "book.pdf"
        it.page.pdf(path=file, format=paper)
    texts = pages(file)
    whole = "".join(texts)
    for step in plan.steps:
        assert bare(step.text) in whole
    assert whole.count("✓") == 2
    short = [name for name, height in heights if height * DOT < high * 0.98]
    assert short
    for name in short:
        mine = [step for step in plan.steps if step.source == name]
        assert any(all(bare(step.text) in text for step in mine) and name in text for text in texts)


def pages(file: Path) -> list[str]:
    """The words of each page without the spaces between them."""
    with PdfReader(file) as reader:
        return [bare(page.extract_text()) for page in reader.pages]


def bare(text: str) -> str:
    return re.sub(r"\s", "", text)


# --- many tiles


@pytest.fixture(scope="module")
def many(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """400 balconies of five cut tiles; the book is made in less than half a minute of one processor."""
    plan = balconies(400)
    assert sum(source.uses for source in plan.sources) == 2000
    started = time.process_time()
    file = written(plan, tmp_path_factory.mktemp("many"))
    assert time.process_time() - started < 30
    return file


def balconies(count: int) -> Plan:
    """The sample's balcony many times, each with a width of its own, so that no two drawings are alike."""
    whole = sample_json(count=1)
    parts = {key: whole[key] for key in ("areas", "pieces", "sources", "supports", "steps")}
    text, steps = json.dumps(parts), len(parts["steps"])
    for key in parts:
        whole[key] = []
    for turn in range(count):
        renamed = re.sub(r'"([TPR])(\d)(?=[".])', rf'"\g<1>{turn}\2', text).replace("420.0", f"{420 - turn * 0.1:.1f}")
        part = json.loads(renamed.replace('"Balcony"', f'"Balcony {turn + 1}"'))
        for step in part["steps"]:
            step["n"] += turn * steps
            step["after"] = [n + turn * steps for n in step["after"]]
        for key in parts:
            whole[key] += part[key]
    return Plan.model_validate(whole)


def test_two_thousand_tiles_scroll_without_laying_out_all_of_them(browser: Browser, many: Path) -> None:
    with opened(browser, many, PHONE) as it:
        it.page.set_default_timeout(120_000)
        session = it.page.context.new_cdp_session(it.page)
        session.send("Performance.enable")

        def layouts() -> float:
            metrics = session.send("Performance.getMetrics")["metrics"]
            return float(next(one["value"] for one in metrics if one["name"] == "LayoutCount"))

        before = layouts()
        for turn in range(20):
            it.page.evaluate("(turn) => scrollTo(0, document.body.scrollHeight * (0.3 + turn / 50))", turn)
            it.page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
        assert layouts() - before < 20 * 8
        drawn = it.page.evaluate(
            "Array.from(document.querySelectorAll('.card header')).filter("
            "(one) => one.checkVisibility({ contentVisibilityAuto: true })).length"
        )
        assert drawn < 100
        before = layouts()
        it.page.evaluate("document.querySelector('[data-tick=\"9000.1\"]').click()")
        it.page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
        assert layouts() - before < 8
        it.page.fill("#find", "P3994")
        it.page.locator("#count:not(:empty)").wait_for()
        assert it.shown() == ["T3993"]
        it.page.reload()
        assert it.ticked() == ["9000.1"]
        assert it.shown() == ["T3993"]
