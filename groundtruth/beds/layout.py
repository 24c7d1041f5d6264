"""Lay the runs of a season out on their beds, day by day: assignments, strips, beds, anomalies."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..core.beds import BedAssignment, MapBed, SownPass
from .anomalies import anomalies_of
from .block_hypotheses import BlockHypotheses
from .blocks import blocks_of_map, parts_of
from .footprints import PlacedPass, strips_and_beds
from .types import Layout


def lay_out(
    runs: Mapping[str, Sequence[SownPass]],
    *,
    beds: Sequence[MapBed] = (),
    known: Mapping[str, Sequence[BedAssignment]] | None = None,
) -> Layout:
    """The beds, strips and anomalies of all runs.

    Runs are assigned in order of time, each given what the earlier ones say, so that the outcome
    does not depend on the order in which they were recorded.

    Parameters
    ----------
    runs : the passes of each run by its key.
    beds : the grower's own map, if there is one.
    known : assignments kept from before; settled ones are used up to the first run that has none.
    """
    known = dict(known or {})
    blocks = blocks_of_map(beds)
    hypotheses: dict[int, BlockHypotheses] = {}
    anew: set[int] = set()  # blocks whose later days must be assigned afresh
    days: dict[int, list[tuple[str, list[SownPass]]]] = {}
    keys = sorted(runs, key=lambda key: (min(p.start_s for p in runs[key]), key))
    for key in keys:
        kept = {day.block: day for day in known.get(key, ())}
        if not kept:
            known = {}  # what follows was assigned without this run
        for number, passes in parts_of(runs[key], blocks).items():
            of_block = hypotheses.setdefault(number, BlockHypotheses(blocks[number]))
            day = kept.get(number)
            usable = day is not None and day.passes == tuple(p.number for p in passes)
            if day is not None and usable and day.settled and number not in anew:
                of_block.add_settled(passes, day)
            else:
                anew.add(number)
                of_block.add_day(passes)
            days.setdefault(number, []).append((key, passes))
    assignments: dict[str, list[BedAssignment]] = {key: [] for key in keys}
    placed: dict[str, list[PlacedPass]] = {key: [] for key in keys}
    for number, of_block in hypotheses.items():
        for (key, passes), day in zip(days[number], of_block.settle(), strict=True):
            assignments[key].append(day)
            placed[key] += [
                PlacedPass(sown=p, block=blocks[number], bed=bed, sure=sure)
                for p, bed, sure in zip(passes, day.beds, day.sure, strict=True)
            ]
    every = [one for key in keys for one in placed[key]]
    strips, all_beds = strips_and_beds(every, blocks)
    return Layout(
        beds=all_beds,
        strips=strips,
        anomalies=tuple(anomalies_of(blocks, every, keys)),
        assignments={key: tuple(assignments[key]) for key in keys},
    )
