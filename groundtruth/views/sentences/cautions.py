"""What to mind at the machine and in the field.

Safe stop and nobody between tractor and implement: Health and Safety Executive, INDG185, from
memory; no phone in the driver's hand: advice of farmers' unions, from memory; the rest is common
practice, no source.
"""

from __future__ import annotations

from ...core.run import UnitSystem

CAUTIONS = (
    "Engine off, key out and the seeder lowered or blocked before hands go near gears, chains "
    "or the drive wheel.",
    "Nobody rides on the seeder or walks between tractor and seeder.",
    "No phone in the driver's hand: start the recording standing still.",
    "Gloves and a mask with treated seed, as its label says.",
    "The maker's manual and local rules come first, before this sheet.",
)


def field_checks(units: UnitSystem) -> tuple[str, ...]:
    """What to look at in the field before a new setting is trusted."""
    first = "10 to 15 ft" if units == "us" else "3 to 5 m"
    return (
        f"After the first {first} stop and dig: are depth and spacing right in every row?",
        "Someone walks along, to the side of the seeder, and sees that every unit turns and that "
        "no hopper runs dry.",
    )
