"""The folium map of a season: every strip with its colour, and no text of a file is run."""

from __future__ import annotations

import pytest
from browser import PAYLOADS, browser  # noqa: F401
from test_seasonmap import made_season

from groundtruth.core.safe_text import visible
from groundtruth.views.map.season_modes import OKABE_ITO

pytest.importorskip("folium")

TEMPLATES = (
    "{{ 7 * 7 }}",
    "{% raw %}",
    "{% endraw %}{{ 7 * 7 }}",
    "{# gone #}",
    "</script><script>alert(1)</script>",
    "\"'`${alert(1)}\\",
)


def page_of(season, **options) -> str:
    return season.to_folium(**options).get_root().render()


@pytest.mark.parametrize("payload", [*TEMPLATES, *PAYLOADS.values()])
def test_a_name_is_only_ever_shown(browser, tmp_path, payload):  # noqa: F811
    season = made_season(6, days=1, text=lambda _: payload)
    with browser.opened(page_of(season, by="setting"), tmp_path) as opened:
        path = opened.page.locator("path.leaflet-interactive").first
        path.wait_for()
        path.hover(force=True)
        cells = opened.page.locator(".leaflet-tooltip td").all_inner_texts()
        wanted = " ".join(visible(payload, 40).split())
        assert [" ".join(cell.split()) for cell in cells[:2]] == [wanted, wanted]
        # the legend names the one setting that there is
        assert wanted in " ".join(opened.page.inner_text("body").split())
        opened.assert_quiet()


@pytest.mark.parametrize("by", ["crop", "setting", "day", "slip", "ground"])
def test_strips_are_coloured_by_what_is_asked(browser, tmp_path, by):  # noqa: F811
    season = made_season(24, days=4)
    with browser.opened(page_of(season, by=by), tmp_path) as opened:
        paths = opened.page.locator("path.leaflet-interactive")
        paths.first.wait_for()
        assert paths.count() == 24
        colours = {paths.nth(i).get_attribute("fill") for i in range(24)}
        assert len(colours) > 1
        if by == "crop":
            assert colours == set(OKABE_ITO[:4])
        opened.assert_quiet()


def test_a_colouring_that_is_not_there_is_refused():
    with pytest.raises(ValueError, match="'weather'; there are crop, setting, day"):
        made_season(6, days=1).to_folium(by="weather")
