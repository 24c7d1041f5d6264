"""What the page asks beyond its own desk; loaded once the page is shown, since it takes numpy."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from .desk import Desk
from .dropped import backdrop_shown, kept_backdrop
from .measuring import Workbench
from .planned import plan_blocks
from .season import season_compared, season_mended, season_pages, season_shown
from .setting import seed_answer, setting_answer, stand_answer

Json = dict[str, Any]
Pages = dict[str, str]


def questions_about(
    desk: Desk, record: Path, tickets: Callable[[Pages], Pages]
) -> dict[str, Callable[[Json], Json]]:
    """What answers each question, by its name; ``tickets`` gives whole pages their addresses."""
    bench = Workbench(desk=desk, record=record)

    def with_pages(work: Callable[[Json], tuple[Json, Pages]]) -> Callable[[Json], Json]:
        def answer(asked: Json) -> Json:
            said, pages = work(asked)
            return {**said, "pages": tickets(pages)}

        return answer

    return {
        "find": bench.find,
        "strip": bench.strip,
        "backdrop": lambda a: backdrop_shown(desk, a),
        "measure": bench.measure,
        "save": with_pages(bench.save),
        "setting": with_pages(lambda a: setting_answer(a, bench.ground(a), record)),
        "seed": seed_answer,
        "stand": stand_answer,
        "plan": plan_blocks,
        "season": lambda a: season_shown(record, a),
        "compare": lambda a: season_compared(record, a),
        "season-map": with_pages(lambda a: season_pages(record, a, kept_backdrop(desk))),
        "mend": lambda a: season_mended(record, a),
    }
