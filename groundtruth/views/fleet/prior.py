"""What a fleet teaches the next run, in sentences."""

from __future__ import annotations

from ...core.fleet_prior import FleetPrior
from ...core.language import many
from .answer import share_text


def prior_sentences(prior: FleetPrior) -> tuple[str, ...]:
    """The spread between passes and how far machines are off."""
    runs = many(prior.runs, "{count} run", "{count} runs")
    seeders = many(prior.seeders, "{count} seeder", "{count} seeders")
    spread = (
        f"Ground per turn changes from pass to pass by some {share_text(prior.spread_scale, 2)}, "
        f"by {runs} (scale of the prior; without a fleet 2 %)."
    )
    known = prior.machines
    if known is None:
        return spread, f"Of machines nothing is said: {seeders} with a figure in use are too few."
    return (
        spread,
        f"Machines are off by {share_text(known.mean)} ± {share_text(known.std)} (standard "
        f"deviation), odd ones, {share_text(known.odd_share, 0)} of them, by ± "
        f"{share_text(known.odd_std, 0)}; by {seeders}.",
    )
