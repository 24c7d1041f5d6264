"""From the ground per turn to the setting: targets, bench curves, choices, turning speed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..core.counts import BenchCount
from ..core.crops import Crop
from ..core.errors import InputError, MeasureError, SeederError
from ..core.notices import Notice
from ..io import read_bench
from ..io.files import FileInput
from ..io.sheets.bench import Bench
from ..seeding import (
    Choice,
    GroundFigure,
    SettingCurve,
    choose,
    doubtful_catches,
    order_if_known,
    setting_curve,
    settings_in_order,
    turning_notices,
    turns_per_minute,
)
from ..seeding.credible_counts import AS_TYPED, KEPT, LEFT_OUT
from .crops import CropsRequest, crops_for

MOST_TURNS_A_MINUTE = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchRequest:
    """A sheet of bench counts and the order of its settings, from fewest to most seeds.

    The order may be empty where the settings are numbers. ``as_typed`` keeps the catches that
    cannot be true.
    """

    bench: FileInput
    settings: tuple[str, ...] = ()
    as_typed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LotCurve:
    """Seeds per turn by setting for one crop and seed lot of a bench sheet."""

    crop: str
    seed_lot: str
    curve: SettingCurve


@dataclass(frozen=True, slots=True, kw_only=True)
class ChooseRequest:
    """Crops to sow at a ground per turn, and the bench counts to choose their settings from.

    Without ``settings`` their order is the seeder's, as the ground figure has it. ``turns`` are
    those of the check at the bench. At a field ``speed_m_s`` the bench's turning is compared.
    ``as_typed`` keeps the catches that cannot be true.
    """

    ground: GroundFigure
    crops: CropsRequest
    bench: FileInput
    settings: tuple[str, ...] = ()
    turns: int | None = None
    speed_m_s: float | None = None
    as_typed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoicesFound:
    """A choice for every crop, what was noticed, and the gear turns a minute in the field.

    ``doubts`` are questions about figures that were taken as typed, and are among the notices.
    """

    choices: tuple[Choice, ...]
    notices: tuple[Notice, ...]
    turns_per_minute: float | None
    doubts: tuple[Notice, ...] = ()


def lot_curves_for(request: BenchRequest) -> tuple[tuple[LotCurve, ...], tuple[Notice, ...]]:
    """The curve of every crop and seed lot of the sheet, and what was noticed of the sheet.

    Raises
    ------
    InputError : the sheet cannot be used, or the order of the settings is not known.
    """
    bench = read_bench(request.bench)
    curves, notices = [], bench.notices
    for crop, lot in bench.lots:
        counts = [c for c in bench.counts if (c.crop, c.seed_lot) == (crop, lot)]
        curve, said = _curve(bench, counts, request.settings, as_typed=request.as_typed)
        curves.append(LotCurve(crop=crop, seed_lot=lot, curve=curve))
        notices += said
    return tuple(curves), notices


def choices_for(request: ChooseRequest) -> ChoicesFound:
    """A setting for every crop of the request.

    Raises
    ------
    InputError : a file or figure cannot be used, or the sheet holds no catch of a crop.
    """
    crops, notices = crops_for(request.crops, request.ground.crops)
    bench = read_bench(request.bench)
    order = request.settings or request.ground.settings
    ground = request.ground.ground_per_turn
    choices, notices = [], notices + bench.notices
    for crop in crops:
        curve, said = curve_of(bench, crop, order, as_typed=request.as_typed)
        choices.append(choose(crop, ground, curve, turns=request.turns))
        notices += tuple(one for one in said if one not in notices)
    doubts = (*request.ground.doubts(), *(doubt for crop in crops for doubt in crop.doubts()))
    notices += doubts
    rate = None
    if request.speed_m_s is not None:
        rate = turns_per_minute(request.speed_m_s, ground.value)
        notices += turning_notices(bench.counts, rate)
    return ChoicesFound(
        choices=tuple(choices), notices=notices, turns_per_minute=rate, doubts=doubts
    )


def turning_for(ground: GroundFigure, speed_m_s: float) -> float:
    """Gear turns a minute at a field speed.

    Raises
    ------
    InputError : the speed is not above 0, or the turns are more than a gear can make.
    """
    rate = turns_per_minute(speed_m_s, ground.ground_per_turn.value)
    if rate > MOST_TURNS_A_MINUTE:
        raise InputError(f"{rate:.0f} turns a minute; check speed and ground per turn")
    return rate


def curve_of(
    bench: Bench, crop: Crop, order: tuple[str, ...], *, as_typed: bool = False
) -> tuple[SettingCurve, tuple[Notice, ...]]:
    """The curve of a crop's catches, and what cannot be true among them; of its seed lot where the
    sheet has that lot.

    A sheet that names no crop serves every crop.

    Raises
    ------
    InputError : the sheet holds no catch of the crop, or those of several lots.
    """
    counts = bench.of(crop.name, crop.seed_lot) or bench.of(crop.name) or bench.of("")
    if not counts:
        known = ", ".join(dict.fromkeys(c.crop for c in bench.counts))
        raise InputError(
            f"no catch of {crop.name or 'an unnamed crop'}; it holds {known}", file=bench.file.name
        )
    lots = dict.fromkeys(c.seed_lot for c in counts)
    if len(lots) > 1:
        raise InputError(
            f"catches of {crop.name} from several seed lots ({', '.join(lots)}); name the lot in "
            "the crop sheet",
            file=bench.file.name,
        )
    return _curve(bench, counts, order, as_typed=as_typed)


def bench_doubts(bench: Bench) -> tuple[Notice, ...]:
    """A question about each catch that cannot be true."""
    found: tuple[Notice, ...] = ()
    for crop, lot in bench.lots:
        counts = [c for c in bench.counts if (c.crop, c.seed_lot) == (crop, lot)]
        doubtful = doubtful_catches(counts, order_if_known(counts)).values()
        found += tuple(one.notice(bench.file.name, KEPT) for one in doubtful)
    return found


def _curve(
    bench: Bench, counts: Sequence[BenchCount], order: tuple[str, ...], *, as_typed: bool
) -> tuple[SettingCurve, tuple[Notice, ...]]:
    """The curve of the catches that can be true, and a question about each of the others."""
    file = bench.file.name
    try:
        known = settings_in_order([c.setting for c in counts], order)
    except SeederError as why:
        raise SeederError(why.reason, file=file) from None
    doubtful = doubtful_catches(counts, known)
    kept = [count for at, count in enumerate(counts) if at not in doubtful]
    if as_typed or not kept:
        if doubtful and not as_typed:
            lines = ", ".join(str(one.line) for one in doubtful.values())
            raise InputError(
                f"the catches in lines {lines} contradict each other; catch that setting once "
                "more, or take them as they are with --as-typed",
                file=file,
            )
        kept = list(counts)
    said = tuple(one.notice(file, AS_TYPED if as_typed else LEFT_OUT) for one in doubtful.values())
    try:
        return setting_curve(kept, order), said
    except MeasureError as why:
        raise MeasureError(why.reason, file=file) from None
