"""What the page is told of a run: the passes found, the figure, the files it was saved to."""

from __future__ import annotations

import threading
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ...app.inspect import InspectRequest, inspection_for
from ...app.measure import MeasuredRun, MeasureRequest, measured_run_for
from ...app.pages import MAP, REPORT, RESULT, pages_of
from ...app.season import AddRunsRequest, added_runs_for
from ...app.typed_run import RUN, TURNS, TypedFiles, files_of
from ...core.errors import InputError
from ...core.notices import Notice
from ...core.result import Result
from ...io.files import Source
from ...measurement.inspect import Inspection
from ...seeding import GroundFigure, figure_of
from .asked import flag, list_of, table, text, texts
from .asked_run import typed_run
from .desk import Desk
from .dropped import kept_backdrop
from .strips import MOST_STRIPS, drawn_pass, given_strips, line_to_draw, strip_marked

_KEPT = 3
Json = dict[str, Any]


@dataclass(slots=True)
class Workbench:
    """Does the long work of the page, one piece at a time, and remembers the last tracks."""

    desk: Desk
    record: Path
    _lock: threading.Lock = field(default_factory=threading.Lock, repr=False)
    _seen: dict[tuple[str, ...], Inspection] = field(default_factory=dict, repr=False)

    def find(self, asked: Json) -> Json:
        """The passes in the tracks, with what to draw."""
        from ...views.json.inspection import inspection_dict
        from ...views.sentences.measurement import notice_sentences

        found = self._inspected(texts(asked, "tracks", 40), text(asked, "time_zone"))
        said = inspection_dict(found)
        for entry, one in zip(said["passes"], found.passes, strict=True):
            entry |= drawn_pass(found.track, one)
        said["notices"] = list(notice_sentences(sorted(found.track.notices, key=_repairs_first)))
        said["track"] = line_to_draw(found.track, 0, len(found.track) - 1)
        given = [texts({"strip": one}, "strip", 2) for one in list_of(asked, "strips", MOST_STRIPS)]
        said["strips"] = given_strips(found, given, text(asked, "time_zone"))
        return said

    def strip(self, asked: Json) -> Json:
        """The strip of the track between two times or places, which may be a pass."""
        zone = text(asked, "time_zone")
        found = self._inspected(texts(asked, "tracks", 40), zone)
        return strip_marked(found, asked, zone)

    def measure(self, asked: Json) -> Json:
        """The figure of a run as typed."""
        with self._lock:
            typed, run = self._measured(table(asked.get("run"), "run"))
        return {**_said(run.result), "marks": _marks(run.result, typed)}

    def save(self, asked: Json) -> tuple[Json, dict[str, str]]:
        """What was saved where, and the pages to look at."""
        given = table(asked.get("run"), "run")
        with self._lock:
            typed, run = self._measured(given)
            pages = pages_of(run.result, backdrop=kept_backdrop(self.desk))
            tracks = [self.desk.source(key) for key in texts(given, "tracks", 40)]
            contents: dict[str, str | bytes] = {RUN: typed.run.data, TURNS: typed.turns.data}
            contents |= {one.name: one.data for one in tracks}
            if len(contents) != 2 + len(tracks) or set(contents) & set(pages):
                raise InputError(f"a track may not be called {RUN}, {TURNS} or {RESULT}; rename it")
            name = f"{run.result.date} {run.run.name}"
            folder = self.desk.save(name, {**contents, **pages})
            said: Json = {"folder": str(folder), "files": [*contents, *pages], "season": ""}
            if flag(asked, "season"):
                request = AddRunsRequest(
                    record=self.record,
                    sources=(run,),
                    seeder=text(asked, "seeder"),
                    soil=text(asked, "soil"),
                    note=text(asked, "note"),
                    replace=flag(asked, "replace"),
                )
                try:
                    said["season"] = " ".join(one.text for one in added_runs_for(request))
                except InputError as error:
                    said["season_refused"] = str(error)
        return said, {name: pages[name] for name in (MAP, REPORT)}

    def ground(self, asked: Json) -> GroundFigure | None:
        """The ground per turn of the run on the desk, None where none is handed over."""
        if asked.get("run") is None:
            return None
        with self._lock:
            return figure_of(self._measured(table(asked["run"], "run"))[1].result)

    def _measured(self, given: Json) -> tuple[TypedFiles, MeasuredRun]:
        names = {f.key: f.name for f in self.desk.files()}
        tracks = texts(given, "tracks", 40)
        if not tracks:
            raise InputError("no track yet; add the file from the phone")
        gone = [key for key in tracks if key not in names]
        if gone:
            raise InputError("a track is gone from the desk; add it again")
        typed = typed_run(given, names.__getitem__, self.desk.source)
        files = files_of(typed)
        found = self._inspected(tracks, typed.time_zone)
        sources = (files.turns, *map(self.desk.source, tracks))
        request = MeasureRequest(run=files.run, files=sources, passes=found.passes)
        return files, measured_run_for(request)

    def _inspected(self, tracks: tuple[str, ...], time_zone: str) -> Inspection:
        if not tracks:
            raise InputError("no track yet; add the file from the phone")
        seen = (*tracks, time_zone)
        if seen not in self._seen:
            sources: tuple[Source, ...] = tuple(map(self.desk.source, tracks))
            request = InspectRequest(track=sources, time_zone=time_zone or None)
            found = inspection_for(request)
            while len(self._seen) >= _KEPT:
                self._seen.pop(next(iter(self._seen)))
            self._seen[seen] = found
        return self._seen[seen]


def _repairs_first(notice: Notice) -> bool:
    return notice.kind != "repair"


def _said(result: Result) -> Json:
    """The result as JSON, without what only maps need, and its sentences."""
    from ...io.result_json.write import result_to_dict
    from ...views.sentences import measurement as words

    said = result_to_dict(result)
    for key in ("fixes", "lines", "inputs"):
        said.pop(key)
    said["slip_is_impossible"] = result.slip_is_impossible
    said["counts_contradict"] = result.most_counts_contradict
    said["sentences"] = {
        "rests": words.rests_sentence(result),
        "watch": list(words.watch_sentences(result)),
        "warnings": list(words.warning_sentences(result)),
        "surer": list(words.surer_sentences(result)),
        "repairs": list(words.repair_sentences(result)),
        "facts": list(words.fact_sentences(result)),
    }
    return said


def _marks(result: Result, typed: TypedFiles) -> list[Json]:
    """The counts that are doubtful or left out, by the pass and unit beside which they stand."""
    marks = []
    for cell in result.cells:
        at = typed.cells.get(cell.line or 0)
        if at and cell.verdict.value != "agrees":
            marks.append(
                {
                    "number": at[0],
                    "place": at[1],
                    "verdict": cell.verdict.value,
                    "reason": cell.reason.value if cell.reason else None,
                    "expected": list(cell.expected) if cell.expected else None,
                    "suggestion": cell.suggestion,
                }
            )
    return marks
