"""The words of the maps' scripts: they ask for them by the English ones."""

from __future__ import annotations

from ...core.language import Plural, Template

COMMON = (
    Template("Nearer"),
    Template("Farther"),
    Template("All"),
    Template("Me"),
    Template("Show my position"),
    Template("Looking for your position …"),
    Template("You are here, to within {length}."),
    Template("You are {length} from here."),
    Template("Your browser refuses the position; allow it for this page."),
    Template("A map opened as a file gets no position in most browsers; the page’s own map does."),
    Template("No position comes; go outdoors, or switch positions on for this device."),
    Template("Look at this"),
    Template("too unsure"),
)
RUN = (
    *COMMON,
    Template("The whole field"),
    Template("Show the whole field"),
    Template("Pass {number}"),
    Template("bed {bed}"),
    Template("Show pass {number}"),
    Template("in doubt"),
    Template("In doubt: see “Look at this” in the list."),
    Template("not measured"),
    Template("(1 in {count})"),
)
SEASON = (
    *COMMON,
    Template("The whole farm"),
    Template("Show the whole farm"),
    Template("Show {block}"),
    Template("not known"),
    Template("not sown"),
    Template("Bed {bed}"),
    Template("Nothing was sown here."),
    Template("Sown"),
    Template("Crop"),
    Template("Setting"),
    Template("Length"),
    Template("Ground per turn"),
    Template("Slip"),
    Template("Slip along, from its start"),
    Template("Sure of the bed"),
    Template("Seeder"),
    Template("No bed of that name."),
    Template("Type more of the name."),
    Plural("{count} bed:", "{count} beds:"),
    Plural("{count} pass", "{count} passes"),
    Template("Shown: {shown} of {count} days"),
    Template("Shown: {days}"),
    Template("No day is shown"),
    Plural("Beds, days, {count} thing to look at", "Beds, days, {count} things to look at"),
    Template("{block}, part {part} of {parts}"),
    Template("Beds of {block}"),
    Template("N"),
)
