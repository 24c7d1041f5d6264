"""What the page is told of settings, seed and stands, from what is typed at bench and bed."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from ...app.card import CardRequest, card_for
from ...app.crops import CropsRequest
from ...app.seed_need import SeedNeedRequest, seed_needs_for
from ...app.seeding import BenchRequest, ChooseRequest, lot_curves_for
from ...app.stands import StandsRequest, emergence_for
from ...app.typed_run import share_typed, with_unit
from ...core.language import say
from ...core.measured import Measured
from ...core.run import UnitSystem
from ...core.units import FOOT, parse_length, parse_length_measured, parse_mass
from ...seeding import GroundFigure
from ...views.blocks import Block, Sentences
from .asked import list_of, shown_units, table, text
from .bench_table import bench_typed, crops_by_lot, number_typed, sheet_typed
from .shown import blocks_json

Json = dict[str, Any]
_SMALL = {"metric": "cm", "us": "in"}
_LARGE = {"metric": "m", "us": "ft"}


def setting_answer(asked: Json, measured: GroundFigure | None, record: Path) -> tuple[Json, Json]:
    """The setting for the crop with its curve, and the card as a page.

    ``measured`` is the ground per turn of the run on the desk, None where it is typed.
    """
    from ...views import card_html
    from ...views.sentences.measurement import notice_sentences
    from ...views.sentences.seeding import choice_sentences
    from ...views.tables.seeding import bench_table, choice_table

    units = shown_units(asked)
    ground = measured or _ground(asked, units)
    order = tuple(one.strip() for one in text(asked, "order").split(",") if one.strip())
    bench, lots = bench_typed(asked)
    crops = crops_by_lot(asked, units, lots) if lots else _crops(asked, units)
    choose = ChooseRequest(ground=ground, crops=crops, bench=bench, settings=order)
    card, found = card_for(
        CardRequest(
            choose=choose,
            made_on=date.today(),  # noqa: DTZ011  the day on the grower's own calendar
            units=units,
            record=record if record.exists() else None,
            seeder=text(asked, "seeder"),
            print_stale=True,
        )
    )
    blocks: list[Block] = []
    for choice in found.choices:
        said = choice_sentences(choice, units, ground.in_use_m)
        blocks.append(Sentences(title=say("Choice"), sentences=said, strong=1))
        blocks.append(choice_table(choice, units))
    for one in lot_curves_for(BenchRequest(bench=bench, settings=order or ground.settings))[0]:
        blocks.append(bench_table(one.crop, one.seed_lot, one.curve))
    if found.notices:
        said = notice_sentences(found.notices)
        blocks.append(Sentences(title=say("Look at this"), sentences=said, warning=True))
    return {"blocks": blocks_json(blocks)}, {"card.html": card_html(card)}


def seed_answer(asked: Json) -> Json:
    """The seed that beds of typed lengths need."""
    from ...views.sentences.seeding import need_sentences

    units = shown_units(asked)
    lengths = [one.strip() for one in text(asked, "lengths").replace(";", ",").split(",")]
    bag = text(asked, "in_bag").strip()
    request = SeedNeedRequest(
        crops=_crops(asked, units),
        lengths_m=tuple(
            parse_length(with_unit(one, _LARGE[units]), what="lengths", above_zero=True)
            for one in lengths
            if one
        ),
        loss=share_typed("loss", text(asked, "loss")) if text(asked, "loss").strip() else 0.0,
        in_bag_kg=parse_mass(bag, what="in_bag") if bag else None,
    )
    needs, _ = seed_needs_for(request)  # no sheet, nothing to notice
    said = tuple(s for one in needs for s in need_sentences(one.need, units))
    return {"blocks": blocks_json([Sentences(title=say("Seed"), sentences=said, strong=1)])}


def stand_answer(asked: Json) -> Json:
    """Field emergence from plants counted along typed lengths."""
    from ...views.sentences.measurement import notice_sentences
    from ...views.sentences.seeding import emergence_sentences
    from ...views.tables.seeding import emergence_table

    units = shown_units(asked)
    rows = [dict(table(one)) for one in list_of(asked, "rows", 500)]
    for one in rows:
        one["crop"] = text(asked, "crop")
        one["length"] = with_unit(text(one, "length"), _LARGE[units])
    sheet = sheet_typed("stands.csv", {"rows": rows}, ("crop", "length", "plants"))
    dropped = number_typed(asked, "seeds_per_length") / (FOOT.value if units == "us" else 1.0)
    germination = text(asked, "germination").strip()
    request = StandsRequest(
        stands=sheet,
        seeds_per_m=Measured(dropped),
        germination=share_typed("germination", germination) if germination else 1.0,
    )
    found, notices = emergence_for(request)
    said = (*emergence_sentences(found), *notice_sentences(notices))
    blocks: list[Block] = [
        Sentences(title=say("Stand"), sentences=said, strong=1),
        emergence_table(found, units),
    ]
    return {"blocks": blocks_json(blocks)}


def _ground(asked: Json, units: UnitSystem) -> GroundFigure:
    """The ground per turn as typed."""
    typed = parse_length_measured(
        with_unit(text(asked, "ground"), _SMALL[units]), what="ground per turn"
    )
    return GroundFigure(ground_per_turn=typed, ground_per_turn_95=typed.interval())


def _crops(asked: Json, units: UnitSystem) -> CropsRequest:
    shares = {}
    for key in ("germination", "field_emergence"):
        if written := text(asked, key).strip():
            shares[key] = share_typed(key, written)
    spacing = with_unit(text(asked, "spacing"), _SMALL[units])
    per_gram = text(asked, "seeds_per_gram").strip()
    return CropsRequest(
        name=text(asked, "crop").strip(),
        spacing_m=parse_length(spacing, what="spacing", above_zero=True),
        seeds_per_kg=1000 * number_typed(asked, "seeds_per_gram") if per_gram else None,
        germination=shares.get("germination"),
        field_emergence=shares.get("field_emergence"),
    )
