"""A table of a run file: its fields by type, and for each refusal the line it stands on."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

from ..core.errors import InputError, QuantityError, RunFileError
from ..core.safe_text import clean
from ..core.written import did_you_mean

ORIGIN = ("farm", "farm_id", "field", "phone")
TOP = (
    "name",
    *ORIGIN,
    "track",
    "turns",
    "time_zone",
    "units",
    "receiver",
    "date_order",
    "seeder",
    "soil",
    "beds",
    "sowing",
)
SOIL = ("moisture", "texture")
BEDS = ("length", "alike_within")
SEEDER = (
    "name",
    "id",
    "turns_of",
    "wheel_circumference",
    "gear_turns_per_wheel_turn",
    "teeth",
    "ground_per_gear_turn_in_use",
    "row_units",
    "row_spacing",
    "bed_width",
    "bed_spacing",
    "antenna_ahead",
    "antenna_right",
    "settings",
    "tyre",
    "tyre_pressure",
    "ballast",
)
SOWING = ("crop", "spacing", "germination", "field_emergence")
MAX_SOWINGS = 100
T = TypeVar("T")
W = TypeVar("W", bound=str)
E = TypeVar("E", bound=InputError)


@dataclass(frozen=True, slots=True)
class RunTable:
    """One table of the file; answers for its fields, or says which line is wrong."""

    file: str
    source: str
    title: str  # "" for the top, "seeder", "sowing"
    fields: dict[str, Any]
    place: int = 0  # among tables of the same title

    def error(self, field: str, reason: str, *, beside: str = "") -> RunFileError:
        """The refusal of a field, placed on its line, or on that of a field beside it."""
        return self.placed(RunFileError(reason), field, beside=beside)

    def placed(self, error: E, field: str, *, beside: str = "") -> E:
        """An error about a field of this table with its place in the file."""
        title = f"[{self.title}] " if self.title else ""
        held = self.fields.get(field, "")
        cell = error.cell or (held if isinstance(held, str) else shown(held))
        line = self._line(field) or self._line(beside)
        return type(error)(title + error.reason, file=self.file, line=line, column=field, cell=cell)

    def fail(self, field: str, text: str) -> RunFileError:
        """The refusal of what is written in a field."""
        return self.error(field, f"{field}: {text}")

    def _line(self, field: str) -> int | None:
        """Line on which a field of this table stands, None if it cannot be told."""
        title, seen = "", -1
        for number, line in enumerate(self.source.splitlines(), start=1):
            if header := re.match(r"\s*(\[\[?)\s*\"?([\w-]+)\"?\s*\]", line):
                title = header[2]
                seen += title == self.title
            elif title == self.title and (not self.title or seen == self.place):
                written = re.match(r"\s*[\"']?([^\"'=\s]+)[\"']?\s*[.=]", line)
                if written and written[1].split(".")[0] == field:
                    return number
        return None

    def only(self, known: tuple[str, ...]) -> None:
        """Refuse every field that is not known."""
        for field in self.fields:
            if field in known:
                continue
            homes = {
                "seeder": SEEDER,
                "soil": SOIL,
                "beds": BEDS,
                "sowing": SOWING,
                "the top": TOP,
            }
            home = next((name for name, fields in homes.items() if field in fields), "")
            if home:
                hint = (
                    f"; it belongs into [{home}]"
                    if home != "the top"
                    else ("; it belongs to the top of the file, above the first [table]")
                )
            else:
                hint = did_you_mean(field, list(known))
            hint = hint or f"; known here: {', '.join(known)}"
            raise self.error(field, f"unknown field {clean(field, 40)!r}{hint}")

    def text(self, field: str) -> str:
        """The text in a field, "" where it is missing."""
        value = self.fields.get(field, "")
        if not isinstance(value, str):
            raise self.fail(field, f"{shown(value)} must be text in quotes")
        return value

    def choice(self, field: str, options: tuple[str, ...], default: str) -> str:
        """One of the words in ``options``."""
        value = self.text(field) if field in self.fields else default
        if value not in options:
            near = did_you_mean(value, list(options))
            listed = " or ".join(f'"{option}"' for option in options)
            raise self.fail(field, f"{clean(value, 40)!r} is not known{near or ';'} write {listed}")
        return value

    def choice_if_there(self, field: str, options: tuple[W, ...]) -> W | None:
        """One of the words in ``options``, None where the field is missing."""
        if field not in self.fields:
            return None
        value = self.choice(field, options, options[0])
        return next(option for option in options if option == value)

    def paths(self, field: str) -> list[str]:
        """One file name or a list of them, [] where the field is missing."""
        value = self.fields.get(field, [])
        files = [value] if isinstance(value, str) else value
        if not isinstance(files, list) or not all(isinstance(one, str) and one for one in files):
            raise self.fail(
                field, 'must be a file name in quotes, or a list of them: ["a.gpx", "b.gpx"]'
            )
        return files

    def table(self, field: str) -> RunTable:
        """The table [field], empty where it is missing."""
        value = self.fields.get(field, {})
        if isinstance(value, list):
            raise RunFileError(f"write [{field}] in single brackets, and once", file=self.file)
        if not isinstance(value, dict):
            raise self.fail(field, f"{shown(value)} must be a table; write [{field}]")
        return RunTable(self.file, self.source, field, value)

    def tables(self, field: str) -> list[RunTable]:
        """All tables [[field]]."""
        value = self.fields.get(field, [])
        if isinstance(value, dict) or (
            isinstance(value, list) and not all(isinstance(one, dict) for one in value)
        ):
            raise RunFileError(
                f"write [[{field}]] in double brackets for each crop", file=self.file
            )
        if not isinstance(value, list):
            raise self.fail(field, f"{shown(value)} must be tables; write [[{field}]]")
        if len(value) > MAX_SOWINGS:
            raise RunFileError(f"{len(value)} [[{field}]]; up to {MAX_SOWINGS}", file=self.file)
        return [
            RunTable(self.file, self.source, field, one, number) for number, one in enumerate(value)
        ]

    def quantity(self, field: str, parse: Callable[..., T]) -> T | None:
        """What ``parse`` makes of a written quantity, None where the field is missing."""
        if field not in self.fields:
            return None
        value = self.fields[field]
        try:
            return parse(value, what=field)
        except QuantityError as why:
            raise self.error(field, why.reason) from None

    def number(self, field: str) -> float | None:
        """A plain number, None where the field is missing."""
        value = self.fields.get(field)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self.fail(field, f"{shown(value)} must be a plain number without quotes")
        return float(value)


def shown(value: object) -> str:
    """A value of a run file as it is shown in a message, at most 40 characters."""
    try:
        return clean(repr(value), 40)
    except RecursionError:
        return "so deep a table"
