"""The folium map of a run: works without a network, and runs no text of any file.

folium fills what it is given into a Jinja template and into HTML; every text here is hostile.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from browser import PAYLOADS, Browser
from factories import make_result

from groundtruth.core.safe_text import visible
from groundtruth.views.folium_map import as_html
from groundtruth.views.map.classes import GREY, VIRIDIS_5
from groundtruth.views.map.run_page import TILE_ORIGIN

folium = pytest.importorskip("folium")

TEMPLATES = (
    "{{ 7 * 7 }}",
    "{% raw %}",
    "{% endraw %}",
    "{# gone #}",
    "{{ cycler.__init__.__globals__.os.getcwd() }}",
    "{{{{ '{{' }}}}",
    "${alert(1)} `${alert(1)}` \\u0024{alert(1)}",
    "</script><script>alert(1)</script>",
    "\"'`<!--<script>",
    "&#123;&#123; 7 * 7 }} &lt;b&gt;",
)
ONE = make_result()


def named(text: str):
    """A run that is called so throughout."""
    result = make_result(text=lambda _: text, passes=2)
    return replace(result, run_name=text)


def page_of(result, **options) -> str:
    return result.to_folium(**options).get_root().render()


@pytest.mark.parametrize("payload", [*TEMPLATES, *PAYLOADS.values()])
def test_a_text_from_a_file_is_only_ever_shown(browser: Browser, tmp_path, payload):
    with browser.opened(page_of(named(payload)), tmp_path) as opened:
        path = opened.page.locator("path.leaflet-interactive").first
        path.wait_for()
        path.hover(force=True)
        shown = opened.page.locator(".leaflet-tooltip td").all_inner_texts()
        # the browser joins blanks in a table's cell
        wanted = " ".join(visible(payload, 60).split())
        assert [" ".join(cell.split()) for cell in shown[1:3]] == [wanted, wanted]
        opened.assert_quiet()


@pytest.mark.parametrize("payload", [*TEMPLATES, *PAYLOADS.values()])
def test_no_template_sign_is_left_in_a_text(payload):
    """Nor anything else that HTML, JavaScript or Jinja reads as more than a character."""
    left = as_html(visible(payload, 60))
    for sign in "<>\"'`{}$\\=/":
        assert sign not in left
    assert "{%" not in left


def test_all_passes_are_drawn_without_a_network(browser: Browser, tmp_path):
    with browser.opened(page_of(ONE), tmp_path) as opened:
        paths = opened.page.locator("path.leaflet-interactive")
        paths.first.wait_for()
        assert paths.count() == len(ONE.lines)
        colours = {paths.nth(i).get_attribute("stroke") for i in range(paths.count())}
        assert colours <= {*VIRIDIS_5, GREY}
        assert len(colours) > 1
        for i in range(paths.count()):
            box = paths.nth(i).bounding_box()
            assert 0 <= box["x"] <= 1366
            assert 0 <= box["y"] <= 768
        assert "Slip, % of the ground covered" in opened.page.inner_text("body")
        opened.assert_quiet()


def test_it_shows_itself_in_a_notebook(browser: Browser, tmp_path):
    """A notebook puts the representation into its page, where it stands in a frame of its own."""
    html = f"<!doctype html><body>{ONE.to_folium()._repr_html_()}</body>"
    with browser.opened(html, tmp_path) as opened:
        frame = opened.page.frame_locator("iframe")
        frame.locator("path.leaflet-interactive").first.wait_for()
        assert frame.locator("path.leaflet-interactive").count() == len(ONE.lines)
        assert opened.errors == []
        assert opened.requests in ([], ["about:srcdoc"])


def test_a_background_is_asked_of_one_server_only_where_it_is_wanted(browser: Browser, tmp_path):
    assert TILE_ORIGIN not in page_of(ONE)
    with browser.opened(page_of(ONE, tiles=True), tmp_path) as opened:
        opened.page.locator("path.leaflet-interactive").first.wait_for()
        opened.page.wait_for_timeout(300)
        assert opened.requests
        assert all(url.startswith(f"{TILE_ORIGIN}/") for url in opened.requests)
        assert opened.errors == []
        assert "OpenStreetMap contributors" in opened.page.inner_text("body")


def test_a_run_without_slip_or_without_lines_is_drawn_too(browser: Browser, tmp_path):
    bare = make_result(slip=False, passes=1)
    with browser.opened(page_of(bare), tmp_path) as opened:
        opened.page.locator("path.leaflet-interactive").first.hover(force=True)
        headings = opened.page.locator(".leaflet-tooltip th").all_inner_texts()
        assert "Slip" not in headings
        assert "Ground per turn" in headings
        opened.assert_quiet()
    assert "Ground per gear turn" in page_of(replace(bare, lines=(), passes=()))
