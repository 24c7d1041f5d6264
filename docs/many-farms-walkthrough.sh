#!/bin/sh
# Two invented farms and their co-op: exports that are sent in and asked with DuckDB, runs measured
# anew by one version, a record that the farms share in PostGIS.
#
#     sh docs/many-farms-walkthrough.sh FOLDER
#
# Needs groundtruth[many,postgis], psql, and the services coop-admin, coop and quillfen of an empty
# database in ~/.pg_service.conf.
set -eu
folder=${1:?name a folder to work in}
mkdir -p "$folder/runs"

# At each farm: a day, kept in the farm's own season, which is sent in as Parquet files.
for farm in Quillfen Overmarsh; do
    day="$folder/runs/$farm"
    groundtruth simulate --scenario "short beds" --seed ${#farm} --out "$day"
    { echo "farm = \"$farm\""; cat "$day/run.toml"; } > "$folder/new" && mv "$folder/new" "$day/run.toml"
    groundtruth season --season "$folder/$farm.gpkg" add "$day/run.toml" --soil dry
    groundtruth season --season "$folder/$farm.gpkg" export "$folder/sent/$farm" --format parquet
done

# At the co-op: a question to all exports, as they lie there.
python3 - "$folder" <<'EOF'
import sys
import duckdb

print(duckdb.sql(f"""
    SELECT farm, day, ground_per_turn_m, ground_per_turn_u_m, slip
    FROM read_parquet('{sys.argv[1]}/sent/*/runs.parquet', union_by_name = true)
    ORDER BY farm, day
"""))
EOF

# Or the farms send in their runs, and all are measured by one version.
groundtruth many "$folder/runs" --out "$folder/fleet"
groundtruth fleet seeders "$folder/fleet"

# Where several write, or each farm is to see its own rows alone: a shared record.
groundtruth fleet schema | psql -q -v ON_ERROR_STOP=1 service=coop-admin
psql -q -v ON_ERROR_STOP=1 service=coop-admin <<'EOF'
CREATE ROLE coop LOGIN IN ROLE fleet_loader;
CREATE ROLE farm_017 LOGIN IN ROLE fleet_farm;
INSERT INTO fleet.members VALUES ('farm_017', 'Quillfen');
EOF
groundtruth fleet load "$folder/fleet" --into coop
groundtruth fleet load "$folder/fleet" --into coop
psql -A -t service=quillfen -c "SELECT farm, count(*), sum(passes) FROM fleet.runs GROUP BY farm"
