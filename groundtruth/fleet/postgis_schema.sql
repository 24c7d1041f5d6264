-- A record of many farms' runs and passes in PostgreSQL with PostGIS, with rights by farm.
--
-- Run it as the database's superuser; run it again after an update of groundtruth or of PostGIS:
-- what is there already stays. Farms are then admitted as docs/many-farms.md shows:
--
--   CREATE ROLE farm_017 LOGIN IN ROLE fleet_farm;
--   INSERT INTO fleet.members VALUES ('farm_017', 'Lower Meadow');

BEGIN;

CREATE EXTENSION IF NOT EXISTS postgis;
CREATE SCHEMA IF NOT EXISTS fleet;
REVOKE CREATE ON SCHEMA public FROM PUBLIC; -- as PostgreSQL 15 has it

-- The columns are those of the data set, described in docs/fleet.md. farm_key is the farm's id, or
-- its name where it has none; place is the run's, to a hundredth of a degree.

CREATE TABLE IF NOT EXISTS fleet.members (
  role name NOT NULL,
  farm_key text COLLATE "C" NOT NULL,
  PRIMARY KEY (role, farm_key)
);

CREATE TABLE IF NOT EXISTS fleet.runs (
  farm_key text COLLATE "C" NOT NULL CHECK (farm_key <> ''),
  run_key text COLLATE "C" NOT NULL,
  PRIMARY KEY (farm_key, run_key)
);
ALTER TABLE fleet.runs
  ADD COLUMN IF NOT EXISTS source text NOT NULL DEFAULT '',
  ADD COLUMN IF NOT EXISTS version text NOT NULL DEFAULT '',
  ADD COLUMN IF NOT EXISTS run_name text NOT NULL DEFAULT '',
  ADD COLUMN IF NOT EXISTS date date,
  ADD COLUMN IF NOT EXISTS farm text NOT NULL DEFAULT '',
  ADD COLUMN IF NOT EXISTS farm_id text NOT NULL DEFAULT '',
  ADD COLUMN IF NOT EXISTS field text NOT NULL DEFAULT '',
  ADD COLUMN IF NOT EXISTS seeder text NOT NULL DEFAULT '',
  ADD COLUMN IF NOT EXISTS seeder_id text NOT NULL DEFAULT '',
  ADD COLUMN IF NOT EXISTS phone text NOT NULL DEFAULT '',
  ADD COLUMN IF NOT EXISTS receiver text NOT NULL DEFAULT '',
  ADD COLUMN IF NOT EXISTS tyre text NOT NULL DEFAULT '',
  ADD COLUMN IF NOT EXISTS tyre_pressure_pa double precision,
  ADD COLUMN IF NOT EXISTS ballast_kg double precision,
  ADD COLUMN IF NOT EXISTS soil_moisture text NOT NULL DEFAULT '',
  ADD COLUMN IF NOT EXISTS soil_texture text NOT NULL DEFAULT '',
  ADD COLUMN IF NOT EXISTS ground_per_turn_m double precision,
  ADD COLUMN IF NOT EXISTS ground_per_turn_std_m double precision,
  ADD COLUMN IF NOT EXISTS ground_per_turn_low_m double precision,
  ADD COLUMN IF NOT EXISTS ground_per_turn_high_m double precision,
  ADD COLUMN IF NOT EXISTS in_use_m double precision,
  ADD COLUMN IF NOT EXISTS change double precision,
  ADD COLUMN IF NOT EXISTS change_std double precision,
  ADD COLUMN IF NOT EXISTS zero_slip_travel_m double precision,
  ADD COLUMN IF NOT EXISTS slip double precision,
  ADD COLUMN IF NOT EXISTS slip_std double precision,
  ADD COLUMN IF NOT EXISTS spread_m double precision,
  ADD COLUMN IF NOT EXISTS spread_std_m double precision,
  ADD COLUMN IF NOT EXISTS passes bigint,
  ADD COLUMN IF NOT EXISTS verdict text NOT NULL DEFAULT '',
  ADD COLUMN IF NOT EXISTS speed_m_s double precision,
  ADD COLUMN IF NOT EXISTS fixes bigint,
  ADD COLUMN IF NOT EXISTS fixes_set_aside bigint,
  ADD COLUMN IF NOT EXISTS seconds double precision,
  ADD COLUMN IF NOT EXISTS place geometry(Point, 4326);
CREATE INDEX IF NOT EXISTS runs_by_place ON fleet.runs USING gist (place);

CREATE TABLE IF NOT EXISTS fleet.passes (
  farm_key text COLLATE "C" NOT NULL,
  run_key text COLLATE "C" NOT NULL,
  number bigint NOT NULL,
  PRIMARY KEY (farm_key, run_key, number),
  FOREIGN KEY (farm_key, run_key) REFERENCES fleet.runs ON DELETE CASCADE
);
ALTER TABLE fleet.passes
  ADD COLUMN IF NOT EXISTS start_at timestamptz,
  ADD COLUMN IF NOT EXISTS unit text NOT NULL DEFAULT '',
  ADD COLUMN IF NOT EXISTS distance_m double precision,
  ADD COLUMN IF NOT EXISTS distance_std_m double precision,
  ADD COLUMN IF NOT EXISTS turns double precision,
  ADD COLUMN IF NOT EXISTS ground_per_turn_m double precision,
  ADD COLUMN IF NOT EXISTS ground_per_turn_std_m double precision,
  ADD COLUMN IF NOT EXISTS slip double precision,
  ADD COLUMN IF NOT EXISTS slip_std double precision,
  ADD COLUMN IF NOT EXISTS speed_m_s double precision,
  ADD COLUMN IF NOT EXISTS bed text NOT NULL DEFAULT '',
  ADD COLUMN IF NOT EXISTS crop text NOT NULL DEFAULT '',
  ADD COLUMN IF NOT EXISTS setting text NOT NULL DEFAULT '';

-- Who may do what. A farm sees and changes its own rows, a reader sees all, the loader changes all.

DO $$
DECLARE
  wanted text;
BEGIN
  FOREACH wanted IN ARRAY ARRAY['fleet_farm', 'fleet_reader', 'fleet_loader'] LOOP
    IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = wanted) THEN
      EXECUTE format('CREATE ROLE %I NOLOGIN', wanted);
    END IF;
  END LOOP;
  EXECUTE format('REVOKE ALL ON DATABASE %I FROM PUBLIC', current_database());
  EXECUTE format('GRANT CONNECT ON DATABASE %I TO fleet_farm, fleet_reader, fleet_loader',
    current_database());
  EXECUTE format('GRANT TEMPORARY ON DATABASE %I TO fleet_farm, fleet_loader', current_database());
END
$$;

REVOKE ALL ON SCHEMA fleet FROM PUBLIC;
REVOKE ALL ON ALL TABLES IN SCHEMA fleet FROM PUBLIC;
GRANT USAGE ON SCHEMA fleet TO fleet_farm, fleet_reader, fleet_loader;
GRANT SELECT ON fleet.members TO fleet_farm;
GRANT SELECT ON fleet.runs, fleet.passes TO fleet_reader;
GRANT SELECT, INSERT, UPDATE, DELETE ON fleet.runs, fleet.passes TO fleet_farm, fleet_loader;

ALTER TABLE fleet.members ENABLE ROW LEVEL SECURITY;
ALTER TABLE fleet.runs ENABLE ROW LEVEL SECURITY;
ALTER TABLE fleet.passes ENABLE ROW LEVEL SECURITY;

DROP POLICY IF EXISTS own ON fleet.members;
CREATE POLICY own ON fleet.members FOR SELECT TO fleet_farm USING (role = current_user);

DO $$
DECLARE
  kept regclass;
BEGIN
  FOREACH kept IN ARRAY ARRAY['fleet.runs'::regclass, 'fleet.passes'::regclass] LOOP
    EXECUTE format('DROP POLICY IF EXISTS own ON %s', kept);
    EXECUTE format('DROP POLICY IF EXISTS read ON %s', kept);
    EXECUTE format('DROP POLICY IF EXISTS load ON %s', kept);
    EXECUTE format('CREATE POLICY own ON %s TO fleet_farm'
      ' USING (farm_key = ANY (ARRAY(SELECT m.farm_key FROM fleet.members m)))', kept);
    EXECUTE format('CREATE POLICY read ON %s FOR SELECT TO fleet_reader USING (true)', kept);
    EXECUTE format('CREATE POLICY load ON %s TO fleet_loader USING (true)', kept);
  END LOOP;
END
$$;

-- Row-level security does not cover what PostgreSQL and PostGIS know of a column as a whole.
-- PostGIS gives the box of all rows to whoever asks, from statistics or an index: not any more.
-- Without statistics no estimate of the planner, which EXPLAIN shows, rests on others' values.

DO $$
DECLARE
  telling regprocedure;
  kept record;
BEGIN
  FOR telling IN
    SELECT p.oid FROM pg_proc p
      JOIN pg_depend d ON d.classid = 'pg_proc'::regclass AND d.objid = p.oid AND d.deptype = 'e'
      JOIN pg_extension e ON d.refclassid = 'pg_extension'::regclass AND e.oid = d.refobjid
      WHERE e.extname = 'postgis' AND p.proname IN ('st_estimatedextent', 'st_estimated_extent',
        '_postgis_stats', '_postgis_selectivity', '_postgis_join_selectivity',
        '_postgis_index_extent')
  LOOP
    EXECUTE format('REVOKE ALL ON FUNCTION %s FROM PUBLIC', telling);
  END LOOP;
  FOR kept IN
    SELECT attrelid::regclass AS of, attname FROM pg_attribute
      WHERE attrelid IN ('fleet.members'::regclass, 'fleet.runs'::regclass,
        'fleet.passes'::regclass) AND attnum > 0 AND NOT attisdropped
  LOOP
    EXECUTE format('ALTER TABLE %s ALTER COLUMN %I SET STATISTICS 0', kept.of, kept.attname);
  END LOOP;
END
$$;

COMMIT;
