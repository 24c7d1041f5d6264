#!/bin/sh
# A simulated season of an invented farm, recorded and asked by commands:
# three blocks of twenty beds, twelve days, a tyre change, two wet days, a row unit that lags,
# one bed sown twice, one left out.
#
#     sh docs/season-walkthrough.sh FOLDER
set -eu
folder=${1:?name a folder to work in}
mkdir -p "$folder"
GROUNDTRUTH_SEASON="$folder/season.gpkg"
export GROUNDTRUTH_SEASON

groundtruth simulate --season "$folder/runs"

# The grower's own map of the beds, then each day as it comes.
groundtruth season beds "$folder/runs/beds.geojson"
for day in 01 02 03 04 05 06 07 08 09 10 11 12; do
    case $day in
        04 | 09) soil=wet ;;
        *) soil=dry ;;
    esac
    groundtruth season add "$folder/runs/day-$day/run.toml" --soil $soil
done
groundtruth season change tyre --day 2027-06-12 --note "new tyres all round"

# The same again changes nothing.
groundtruth season add "$folder/runs/day-01/run.toml" --soil dry

# What lies where, what was odd, and what moved the ground per turn.
groundtruth season show
groundtruth season show --bed M13
groundtruth season compare --change 2027-06-12
groundtruth season compare --soil dry wet
groundtruth season compare --row-units
groundtruth season chart --soil dry

# One map of it all, and everything in open formats.
groundtruth season map --out "$folder/season.html"
groundtruth season export "$folder/csv" --format csv
groundtruth season import "$folder/csv" --season "$folder/again.gpkg"
