"""What the page is told of the season's record, and what it may put right there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Any

from ...app.season_questions import (
    ByChange,
    ByGroup,
    ChartRequest,
    CompareRequest,
    chart_for,
    comparison_for,
    row_units_for,
)
from ...core.backdrop import Backdrop
from ...core.errors import InputError
from ...core.language import say
from ...core.run import UnitSystem
from ...season import Season, add_change, read_season
from ...season.comparison import RunFigure
from ...season.corrections import Which, edit_change, edit_run, log, remove, rename_bed, undo
from ...season.run_tables import GROUND
from ...views.blocks import Sentences
from .asked import shown_units, text, whole_number
from .shown import blocks_json

Json = dict[str, Any]
_MOST_STEPS = 40


def season_shown(record: Path, asked: Json) -> Json:
    """Everything of the record that the page shows at once; empty where there is no record yet."""
    from ...views.json.season import chart_dict
    from ...views.sentences.comparison import chart_sentences
    from ...views.tables import season as tables

    if not record.exists():
        return {"record": str(record), "runs": []}
    units, season = shown_units(asked), read_season(record)
    seeder = _of_several(season, text(asked, "seeder"))
    said: Json = {
        "record": str(record),
        "seeders": list(season.seeders),
        "seeder": seeder,
        "overview": list(tables.overview(season)),
        "odd": list(tables.anomaly_sentences(season.anomalies)),
        "runs": [_run_json(run) for run in season.runs],
        "beds": blocks_json([tables.bed_table(season.sowings, units, say("Beds"))])
        if season.sowings
        else [],
        "changes": [asdict(change) for change in season.changes],
        "log": [
            {
                "number": step.number,
                "at": step.at[:16].replace("T", " "),
                "text": f"{step.action}: {step.text}",
                "undone": step.undone_by is not None,
                "can_go_back": step.can_go_back and step.undone_by is None,
            }
            for step in log(record)[-_MOST_STEPS:][::-1]
        ],
    }
    if season.runs:
        try:
            chart, _ = chart_for(ChartRequest(record=record, seeder=seeder or None))
            points = zip(chart_dict(chart)["points"], chart.points, strict=True)
            said["chart"] = [{**said, "sure_m": _sure(one.run)} for said, one in points]
            said["chart_said"] = list(chart_sentences(chart, units))
        except InputError as error:
            said["chart_said"] = [str(error)]
    return said


def _of_several(season: Season, asked: str) -> str:
    """Whose chart is shown: the seeder asked for, else that of the latest run; "" where there are
    not several."""
    if len(season.seeders) < 2:
        return ""
    named = [run.seeder for run in season.runs if run.seeder]
    return asked if asked in named else named[-1]


def _run_json(run: RunFigure) -> Json:
    kept = run.recorded
    return {
        "number": kept.get("id"),
        "day": run.day,
        "name": run.name,
        "passes": run.passes,
        "ground_m": run.ground_per_turn.value,
        "ground_u_m": run.ground_per_turn.std,
        "ground_95_m": _sure(run),
        "soil": run.soil,
        "seeder": run.seeder,
        "note": kept.get("note") or "",
    }


def _sure(run: RunFigure) -> list[float]:
    """The 95 % interval of a run's ground per turn, as it was recorded."""
    return [run.recorded[f"{GROUND}_{end}"] for end in ("low", "high")]


def season_compared(record: Path, asked: Json) -> Json:
    """One group of runs against another."""
    from ...views.sentences.comparison import difference_sentences, unit_sentences

    way, first, second = (text(asked, key).strip() for key in ("way", "first", "second"))
    if way == "units":
        said = unit_sentences(row_units_for(record))
    else:
        by: ByChange | ByGroup
        if way == "change":
            by = ByChange(_day(first))
        elif way in ("soil", "seeder", "year"):
            by = ByGroup(way, first, second)  # type: ignore[arg-type] # one of the three
        else:
            raise InputError("compare by change, soil, seeder, year or units", column="way")
        seeder = text(asked, "seeder") or None
        found = comparison_for(CompareRequest(record=record, by=by, seeder=seeder))
        said = difference_sentences(found.difference, shown_units(asked))
    return {"blocks": blocks_json([Sentences(title="", sentences=said, strong=1)])}


def season_pages(
    record: Path, asked: Json, backdrop: Backdrop | None = None
) -> tuple[Json, dict[str, str]]:
    """The map of the season and the list of its beds, as pages."""
    from ...views.bed_list import bed_list_html
    from ...views.map.season_page import season_map_html

    units: UnitSystem = shown_units(asked)
    today = date.today()  # noqa: DTZ011  the day on the grower's own calendar
    return {}, {
        "season.html": season_map_html(record, units=units, backdrop=backdrop),
        "beds.html": bed_list_html(read_season(record), made_on=today),
    }


def season_mended(record: Path, asked: Json) -> Json:
    """What was put right: a run or a change of the seeder edited, removed or noted, a bed renamed,
    a step undone."""
    doings: dict[str, Callable[[], str]] = {
        "undo": lambda: undo(record, whole_number(asked, "number")),
        "remove": lambda: remove(record, "run", Which(number=whole_number(asked, "number"))),
        "edit": lambda: edit_run(record, Which(number=whole_number(asked, "number")), _new(asked)),
        "edit change": lambda: edit_change(
            record, Which(number=whole_number(asked, "number")), _new_change(asked)
        ),
        "remove change": lambda: remove(
            record, "change", Which(number=whole_number(asked, "number"))
        ),
        "rename": lambda: rename_bed(record, text(asked, "bed"), text(asked, "name").strip()),
        "change": lambda: (
            add_change(
                record,
                day=_day(text(asked, "day")),
                kind=text(asked, "kind"),
                seeder=text(asked, "seeder").strip(),
                note=text(asked, "note").strip(),
            ).text
        ),
    }
    do = doings.get(text(asked, "do"))
    if do is None:
        raise InputError(f"do one of {', '.join(doings)}", column="do")
    return {"said": do()}


def _new(asked: Json) -> dict[str, str]:
    new = {key: text(asked, key).strip() for key in ("name", "soil", "seeder", "note")}
    return {**new, "soil": new["soil"].casefold()}


def _new_change(asked: Json) -> dict[str, str]:
    new = {key: text(asked, key).strip() for key in ("kind", "seeder", "unit", "note")}
    return {**new, "day": _day(text(asked, "day")).isoformat()}


def _day(written: str) -> date:
    try:
        return date.fromisoformat(written.strip())
    except ValueError:
        raise InputError(f"{written!r} is no day; write 2027-05-12") from None
