"""The file prior.json: what a fleet teaches, written by `groundtruth fleet prior`."""

from __future__ import annotations

import json
from dataclasses import asdict, replace

from .. import __version__
from ..core.errors import InputError
from ..core.fleet_prior import FleetPrior, MachinePrior
from .files import FileInput, Source, load
from .json_document import document_in
from .result_json.node import JsonNode

MAX_PRIOR_BYTES = 1 << 16
_KIND, _VERSION = "fleet prior", 1
_ASK = "give the prior.json that groundtruth fleet prior wrote"


def prior_to_json(prior: FleetPrior) -> str:
    """The prior as JSON text; shares and logarithms are plain numbers."""
    document = {
        "tool": "groundtruth",
        "kind": _KIND,
        "schema_version": _VERSION,
        "tool_version": __version__,
        "runs": prior.runs,
        "seeders": prior.seeders,
        "spread_scale": prior.spread_scale,
        "machines": None if prior.machines is None else asdict(prior.machines),
    }
    return json.dumps(document, indent=2, allow_nan=False) + "\n"


def prior_file(given: FileInput) -> Source:
    """The bytes of a prior.

    Raises
    ------
    InputError : the file cannot be read, or is larger than any prior.
    """
    return load(given, error=InputError, what="fleet prior", limit=MAX_PRIOR_BYTES)


def read_prior(given: FileInput) -> FleetPrior:
    """The prior in a file.

    Raises
    ------
    InputError : the file cannot be read, is no such prior, or a figure is out of its bounds.
    """
    source = prior_file(given)
    prior = document_in(
        source,
        _prior,
        kind=_KIND,
        version=_VERSION,
        no_json=f"; {_ASK}",
        another=_ASK,
        renew=f"make it again with groundtruth {__version__}",
    )
    return replace(prior, name=source.name)


def _prior(node: JsonNode) -> FleetPrior:
    def machines() -> MachinePrior:
        inside = node.child("machines")
        return MachinePrior(
            mean=inside.number("mean"),
            std=inside.number("std"),
            odd_share=inside.number("odd_share"),
            odd_std=inside.number("odd_std"),
        )

    return FleetPrior(
        spread_scale=node.number("spread_scale"),
        machines=node.maybe("machines", machines),
        runs=node.whole("runs"),
        seeders=node.whole("seeders"),
    )
