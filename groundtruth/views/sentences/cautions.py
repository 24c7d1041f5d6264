"""What to mind at the machine and in the field.

Safe stop and nobody between tractor and implement: Health and Safety Executive, INDG185, from
memory; no phone in the driver's hand: advice of farmers' unions, from memory; the rest is common
practice, no source.
"""

from __future__ import annotations

from ...core.language import English, said, say
from ...core.run import UnitSystem

_CAUTIONS = (
    English(
        "Engine off, key out and the seeder lowered or blocked before hands go near gears, chains "
        "or the drive wheel."
    ),
    English("Nobody rides on the seeder or walks between tractor and seeder."),
    English("No phone in the driver's hand: start the recording standing still."),
    English("Gloves and a mask with treated seed, as its label says."),
    English("The maker's manual and local rules come first, before this sheet."),
)


def cautions() -> tuple[str, ...]:
    """What goes before everything else at the machine."""
    return tuple(map(said, _CAUTIONS))


def field_checks(units: UnitSystem) -> tuple[str, ...]:
    """What to look at in the field before a new setting is trusted."""
    first = say("10 to 15 ft") if units == "us" else say("3 to 5 m")
    return (
        say(
            "After the first {length} stop and dig: are depth and spacing right in every row?",
            length=first,
        ),
        say(
            "Someone walks along, to the side of the seeder, and sees that every unit turns and "
            "that no hopper runs dry."
        ),
    )
