"""Lay the runs of a season out on their beds, day by day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..core.beds import Fit, MapBed, SownPass
from .anomalies import oddities_of
from .blocks import blocks_of_map, parts_of
from .day_hypotheses import Tellings
from .footprints import Placed, strips_and_beds
from .types import Layout


def lay_out(
    runs: Mapping[str, Sequence[SownPass]],
    *,
    beds: Sequence[MapBed] = (),
    known: Mapping[str, Sequence[Fit]] | None = None,
) -> Layout:
    """Beds, strips and oddities of all runs.

    Runs are taken in order of time, each against what the earlier ones taught, so that the outcome
    does not depend on the order in which they were recorded.

    Parameters
    ----------
    runs : the passes of each run by its key.
    beds : the grower's own map, if there is one.
    known : fits kept from before; settled ones are used up to the first run that has none.
    """
    known = dict(known or {})
    blocks = blocks_of_map(beds)
    tellings: dict[int, Tellings] = {}
    anew: set[int] = set()  # blocks whose later days must be laid afresh
    days: dict[int, list[tuple[str, list[SownPass]]]] = {}
    keys = sorted(runs, key=lambda key: (min(p.start_s for p in runs[key]), key))
    for key in keys:
        kept = {fit.block: fit for fit in known.get(key, ())}
        if not kept:
            known = {}  # what follows was fitted without this run
        for number, passes in parts_of(runs[key], blocks).items():
            telling = tellings.setdefault(number, Tellings(blocks[number]))
            fit = kept.get(number)
            usable = fit is not None and fit.passes == tuple(p.number for p in passes)
            if fit is not None and usable and fit.settled and number not in anew:
                telling.keep(passes, fit)
            else:
                anew.add(number)
                telling.read(passes)
            days.setdefault(number, []).append((key, passes))
    fits: dict[str, list[Fit]] = {key: [] for key in keys}
    placed: dict[str, list[Placed]] = {key: [] for key in keys}
    for number, telling in tellings.items():
        for (key, passes), fit in zip(days[number], telling.settle(), strict=True):
            fits[key].append(fit)
            placed[key] += [
                Placed(sown=p, block=blocks[number], bed=bed, sure=sure)
                for p, bed, sure in zip(passes, fit.beds, fit.sure, strict=True)
            ]
    every = [one for key in keys for one in placed[key]]
    strips, all_beds = strips_and_beds(every, blocks)
    return Layout(
        beds=all_beds,
        strips=strips,
        oddities=tuple(oddities_of(blocks, every, keys)),
        fits={key: tuple(fits[key]) for key in keys},
    )
