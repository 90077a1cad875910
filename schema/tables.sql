-- The tables of a clipledger file, version 1.
-- Weights are grams, areas m2, densities g/m2. Inside keys '' and 0 mean "not
-- given" (keys hold no NULL); elsewhere NULL is missing.
-- Checks say "x = a OR x = b" in place of IN with three words and more: for
-- IN, SQLite builds a little table anew at every row.

CREATE TABLE import(
  import_id INTEGER PRIMARY KEY,
  kind TEXT NOT NULL,
  file TEXT NOT NULL,                       -- base name only
  sha256 TEXT NOT NULL,
  at TEXT NOT NULL,                         -- UTC, RFC 3339
  options TEXT NOT NULL DEFAULT '{}',       -- JSON: maps, constants, rows left out on purpose
  added INTEGER NOT NULL DEFAULT 0,
  changed INTEGER NOT NULL DEFAULT 0,
  origin TEXT NOT NULL DEFAULT '',          -- identity of the import in the ledger where its file was read, where that is another
  origin_import INTEGER NOT NULL DEFAULT 0, -- its number there
  undoes INTEGER REFERENCES import) STRICT;
CREATE INDEX import_origin ON import(origin) WHERE origin <> '';

-- Names the import that is writing; empty at rest. An edit by another program
-- finds it empty and fails on change.import_id NOT NULL.
CREATE TABLE writing(
  one INTEGER PRIMARY KEY CHECK(one = 1),
  import_id INTEGER NOT NULL REFERENCES import) STRICT;

-- The old values of every changed or deleted record, written by triggers.
CREATE TABLE change(
  change_id INTEGER PRIMARY KEY,
  import_id INTEGER NOT NULL REFERENCES import,   -- the import that changed it
  record TEXT NOT NULL,                           -- table
  key TEXT NOT NULL,                              -- JSON array of the key's values
  old TEXT NOT NULL) STRICT;                      -- JSON object of the old values

CREATE TABLE setting(
  name TEXT PRIMARY KEY,
  value TEXT NOT NULL,
  import_id INTEGER NOT NULL REFERENCES import,
  line INTEGER NOT NULL DEFAULT 0) STRICT, WITHOUT ROWID;

CREATE TABLE component(
  component INTEGER PRIMARY KEY,
  name TEXT NOT NULL UNIQUE,
  bit INTEGER NOT NULL,
  production INTEGER NOT NULL) STRICT;
INSERT INTO component VALUES(1,'herbaceous',1,1),(2,'browse',2,1),(3,'standing-dead',4,0),(4,'litter',8,0);

-- How a dry weight was come by, in the order in which the ways are tried.
CREATE TABLE dry_method(
  method INTEGER PRIMARY KEY,
  name TEXT NOT NULL UNIQUE) STRICT;
INSERT INTO dry_method VALUES
  (0,'none'),(1,'measured'),(2,'zero'),(3,'trace'),
  (4,'drying sample of this bag'),(5,'drying samples of the species'),(6,'drying samples of the growth form'),
  (7,'percentage on the row'),(8,'drying samples of the component'),
  (9,'book value'),(10,'book value, other basis'),(11,'fallback percentage');

CREATE TABLE frame_type(
  frame_type_id INTEGER PRIMARY KEY,
  frame_type TEXT NOT NULL UNIQUE,
  area_m2 REAL NOT NULL CHECK(area_m2 > 0 AND area_m2 < 1e5),
  import_id INTEGER NOT NULL REFERENCES import,
  line INTEGER NOT NULL) STRICT;

CREATE TABLE site(
  site_id INTEGER PRIMARY KEY,
  site TEXT NOT NULL UNIQUE CHECK(site <> ''),
  name TEXT,
  stratum TEXT,
  area_ha REAL CHECK(area_ha > 0),
  latitude REAL CHECK(latitude BETWEEN -90 AND 90),
  longitude REAL CHECK(longitude BETWEEN -180 AND 180),
  elevation_m REAL,
  ecological_site TEXT,
  components TEXT,                           -- as declared; site_component is made from it
  sampling_unit TEXT CHECK(sampling_unit IN('frame','transect')),
  units_possible INTEGER CHECK(units_possible > 0),
  placement TEXT CHECK(placement = 'same' OR placement = 'shifted' OR placement = 'new'),
  selection TEXT CHECK(selection = 'random' OR selection = 'fixed' OR selection = 'chosen'),
  frame_type_id INTEGER REFERENCES frame_type,
  year_start_month INTEGER CHECK(year_start_month BETWEEN 1 AND 12),
  station TEXT,
  rain_months TEXT,
  class_scheme TEXT,
  growth_curve TEXT,
  double_sampling TEXT,                      -- the observer whose estimates the means rest on, or pooled
  note TEXT,
  import_id INTEGER NOT NULL REFERENCES import,
  line INTEGER NOT NULL,
  unit_in_use TEXT CHECK(unit_in_use IN('frame','transect'))   -- derived once: the unit chosen where none is declared
  ) STRICT;

CREATE TABLE species(
  species_id INTEGER PRIMARY KEY,
  species TEXT NOT NULL UNIQUE,
  name TEXT,
  growth_form TEXT,
  component INTEGER REFERENCES component,
  import_id INTEGER NOT NULL REFERENCES import,
  line INTEGER NOT NULL) STRICT;

CREATE TABLE observer(
  observer_id INTEGER PRIMARY KEY,
  observer TEXT NOT NULL UNIQUE) STRICT;

CREATE TABLE occasion(
  occasion_id INTEGER PRIMARY KEY,
  site_id INTEGER NOT NULL REFERENCES site,
  growth_year INTEGER NOT NULL CHECK(growth_year BETWEEN 1800 AND 2200),
  season TEXT NOT NULL CHECK(season <> ''),
  import_id INTEGER NOT NULL REFERENCES import,
  UNIQUE(site_id, growth_year, season)) STRICT;

-- One frame on one occasion. visit_id holds its occasion, so that key order
-- is the order of occasions.
CREATE TABLE visit(
  visit_id INTEGER PRIMARY KEY,
  occasion_id INTEGER NOT NULL GENERATED ALWAYS AS (visit_id >> 20) VIRTUAL REFERENCES occasion,
  transect TEXT NOT NULL,
  frame TEXT NOT NULL,
  caged INTEGER NOT NULL DEFAULT 0 CHECK(caged IN(0,1)),
  caged_since TEXT CHECK(caged_since GLOB '????-??-??'),
  date TEXT CHECK(date GLOB '????-??-??'),
  year_given INTEGER NOT NULL DEFAULT 0,     -- 1: a row named the growth year, the date did not decide it
  frame_type_id INTEGER REFERENCES frame_type,
  components_sampled INTEGER CHECK(components_sampled BETWEEN 1 AND 15),
  empty INTEGER NOT NULL DEFAULT 0 CHECK(empty IN(0,1)),
  treatment TEXT,
  block TEXT,
  observer_id INTEGER REFERENCES observer,
  edge_rule TEXT,
  clip_height_cm REAL CHECK(clip_height_cm >= 0),
  ungrazed_pct REAL CHECK(ungrazed_pct > 0 AND ungrazed_pct <= 100),
  note TEXT,
  import_id INTEGER NOT NULL REFERENCES import,
  line INTEGER NOT NULL,
  found INTEGER NOT NULL DEFAULT 0,          -- derived: bits of the components with bags
  recorded INTEGER NOT NULL DEFAULT 0,       -- derived: bits of the components with a weight or a status
  ways INTEGER NOT NULL DEFAULT 0,           -- derived: 1 drying samples, 2 air-dry, 4 oven-dry, 8 unknown basis, 16 book value of the other basis, of any bag
  UNIQUE(occasion_id, transect, frame, caged)) STRICT;

-- Where a component of a frame differs from its visit.
CREATE TABLE plot(
  visit_id INTEGER NOT NULL REFERENCES visit,
  component INTEGER NOT NULL REFERENCES component,
  frame_type_id INTEGER REFERENCES frame_type,
  frames_in_bag INTEGER CHECK(frames_in_bag BETWEEN 1 AND 1000),
  date TEXT CHECK(date GLOB '????-??-??'),
  observer_id INTEGER REFERENCES observer,
  edge_rule TEXT,
  clip_height_cm REAL CHECK(clip_height_cm >= 0),
  ungrazed_pct REAL CHECK(ungrazed_pct > 0 AND ungrazed_pct <= 100),
  import_id INTEGER NOT NULL REFERENCES import,
  line INTEGER NOT NULL,
  PRIMARY KEY(visit_id, component)) STRICT, WITHOUT ROWID;

CREATE TABLE bag(
  visit_id INTEGER NOT NULL REFERENCES visit,
  component INTEGER NOT NULL CHECK(component BETWEEN 1 AND 4),
  species_id INTEGER NOT NULL REFERENCES species,
  bag TEXT NOT NULL DEFAULT '',
  growth_form TEXT,
  per_m2 INTEGER NOT NULL DEFAULT 0 CHECK(per_m2 IN(0,1)),   -- 1: weights are grams in one square metre
  green_g REAL CHECK(green_g >= 0 AND green_g < 1e6),
  dry_g REAL CHECK(dry_g >= 0 AND dry_g < 1e6),
  trace INTEGER NOT NULL DEFAULT 0 CHECK(trace BETWEEN 0 AND 3),   -- 1 green, 2 dry was written T
  dm_pct REAL CHECK(dm_pct > 0 AND dm_pct <= 100),
  basis TEXT CHECK(basis = 'air-dry' OR basis = 'oven-dry' OR basis = 'unknown'),      -- of dry_g and dm_pct
  stage TEXT,
  status TEXT CHECK(status IN('lost','empty')),
  note TEXT,
  import_id INTEGER NOT NULL REFERENCES import,
  line INTEGER NOT NULL,
  used_dry_g REAL,                           -- derived by bag_rule: grams on the ledger's basis
  used_method INTEGER NOT NULL DEFAULT 0,    -- derived by bag_rule: dry_method
  PRIMARY KEY(visit_id, component, species_id, bag)) STRICT, WITHOUT ROWID;

CREATE TABLE drying(
  occasion_id INTEGER NOT NULL REFERENCES occasion,
  component INTEGER NOT NULL REFERENCES component,
  species_id INTEGER NOT NULL REFERENCES species,
  growth_form TEXT NOT NULL,
  transect TEXT NOT NULL,
  frame TEXT NOT NULL,                       -- '' = no frame named
  bag TEXT NOT NULL,
  green_g REAL NOT NULL CHECK(green_g > 0),
  dry_g REAL NOT NULL CHECK(dry_g >= 0),
  basis TEXT NOT NULL CHECK(basis = 'air-dry' OR basis = 'oven-dry' OR basis = 'unknown'),
  stage TEXT,
  date TEXT CHECK(date GLOB '????-??-??'),
  year_given INTEGER NOT NULL DEFAULT 0,
  import_id INTEGER NOT NULL REFERENCES import,
  line INTEGER NOT NULL,
  PRIMARY KEY(occasion_id, component, species_id, growth_form, transect, frame, bag, green_g, dry_g)) STRICT, WITHOUT ROWID;

CREATE TABLE book_value(
  book TEXT NOT NULL,
  species_id INTEGER NOT NULL REFERENCES species,
  growth_form TEXT NOT NULL,
  stage TEXT NOT NULL,
  dm_pct REAL NOT NULL CHECK(dm_pct > 0 AND dm_pct <= 100),
  basis TEXT NOT NULL CHECK(basis = 'air-dry' OR basis = 'oven-dry' OR basis = 'unknown'),
  source TEXT,
  import_id INTEGER NOT NULL REFERENCES import,
  line INTEGER NOT NULL,
  PRIMARY KEY(book, species_id, growth_form, stage)) STRICT, WITHOUT ROWID;

-- What an observer guessed by eye. The visit of a frame that was estimated and
-- never clipped holds nothing but its key, so that no view counts the frame.
CREATE TABLE estimate(
  visit_id INTEGER NOT NULL REFERENCES visit,
  component INTEGER NOT NULL REFERENCES component,
  species_id INTEGER NOT NULL REFERENCES species,
  observer_id INTEGER NOT NULL REFERENCES observer,
  state TEXT NOT NULL CHECK(state IN('green','dry')),
  date TEXT CHECK(date GLOB '????-??-??'),
  year_given INTEGER NOT NULL DEFAULT 0,     -- 1: the row named the growth year, the date did not decide it
  frame_type_id INTEGER REFERENCES frame_type,  -- as the row says it; else that of the clipped frame, or the site's
  g REAL NOT NULL CHECK(g >= 0 AND g < 1e6),
  per_m2 INTEGER NOT NULL CHECK(per_m2 IN(0,1)),  -- 1: g is grams in one square metre
  basis TEXT CHECK(basis = 'air-dry' OR basis = 'oven-dry' OR basis = 'unknown'),
  import_id INTEGER NOT NULL REFERENCES import,
  line INTEGER NOT NULL,
  PRIMARY KEY(visit_id, component, species_id, observer_id, state)) STRICT, WITHOUT ROWID;

CREATE TABLE rain(
  station TEXT NOT NULL,
  year INTEGER NOT NULL CHECK(year BETWEEN 1800 AND 2200),
  month INTEGER NOT NULL CHECK(month BETWEEN 1 AND 12),
  rain_mm REAL NOT NULL CHECK(rain_mm >= 0),
  import_id INTEGER NOT NULL REFERENCES import,
  line INTEGER NOT NULL,
  PRIMARY KEY(station, year, month)) STRICT, WITHOUT ROWID;

CREATE TABLE class_bound(
  scheme TEXT NOT NULL,
  component TEXT NOT NULL,                   -- a component, or production
  lower_g_m2 REAL NOT NULL,
  upper_g_m2 REAL,
  basis TEXT NOT NULL CHECK(basis = 'air-dry' OR basis = 'oven-dry' OR basis = 'unknown'),
  label TEXT NOT NULL,
  import_id INTEGER NOT NULL REFERENCES import,
  line INTEGER NOT NULL,
  PRIMARY KEY(scheme, component, lower_g_m2)) STRICT, WITHOUT ROWID;

CREATE TABLE growth_curve(
  curve TEXT NOT NULL,
  day_of_year INTEGER NOT NULL CHECK(day_of_year BETWEEN 1 AND 366),
  cumulative_pct REAL NOT NULL CHECK(cumulative_pct BETWEEN 0 AND 100),
  import_id INTEGER NOT NULL REFERENCES import,
  line INTEGER NOT NULL,
  PRIMARY KEY(curve, day_of_year)) STRICT, WITHOUT ROWID;

CREATE TABLE transect(
  site_id INTEGER NOT NULL REFERENCES site,
  transect TEXT NOT NULL,
  latitude REAL CHECK(latitude BETWEEN -90 AND 90),
  longitude REAL CHECK(longitude BETWEEN -180 AND 180),
  bearing REAL CHECK(bearing BETWEEN 0 AND 360),
  length_m REAL CHECK(length_m > 0),
  side TEXT,
  offset_m REAL,
  photo TEXT,
  note TEXT,
  import_id INTEGER NOT NULL REFERENCES import,
  line INTEGER NOT NULL,
  PRIMARY KEY(site_id, transect)) STRICT, WITHOUT ROWID;

CREATE TABLE event(
  site_id INTEGER NOT NULL,                  -- 0: the whole stratum
  stratum TEXT NOT NULL,
  start TEXT NOT NULL,
  kind TEXT NOT NULL,
  finish TEXT,
  note TEXT,
  import_id INTEGER NOT NULL REFERENCES import,
  line INTEGER NOT NULL,
  PRIMARY KEY(site_id, stratum, start, kind)) STRICT, WITHOUT ROWID;

CREATE TABLE accepted_finding(
  finding TEXT PRIMARY KEY,
  note TEXT NOT NULL,
  import_id INTEGER NOT NULL REFERENCES import,
  line INTEGER NOT NULL DEFAULT 0) STRICT, WITHOUT ROWID;

-- Derived and small: settled by the transaction that changes what they rest on.

CREATE TABLE rule_number(                    -- factors of the bases, trace weight, fallback fractions
  name TEXT PRIMARY KEY,
  value REAL NOT NULL) STRICT, WITHOUT ROWID;

CREATE TABLE drying_ratio(
  occasion_id INTEGER NOT NULL,
  component INTEGER NOT NULL,
  level INTEGER NOT NULL,                    -- a dry_method: 4 bag, 5 species, 6 growth form, 8 component
  species_id INTEGER NOT NULL,
  growth_form TEXT NOT NULL,
  transect TEXT NOT NULL,
  frame TEXT NOT NULL,
  bag TEXT NOT NULL,
  ratio REAL NOT NULL,
  samples INTEGER NOT NULL,
  PRIMARY KEY(occasion_id, component, level, species_id, growth_form, transect, frame, bag)) STRICT, WITHOUT ROWID;

CREATE TABLE book_in_force(
  growth_form TEXT NOT NULL,
  species_id INTEGER NOT NULL,
  stage TEXT NOT NULL,
  rank INTEGER NOT NULL,                     -- the table's place in the setting book-tables
  book TEXT NOT NULL,
  fraction REAL NOT NULL,                    -- dry over green, on the ledger's basis
  method INTEGER NOT NULL,                   -- 9, or 10 where the table has another basis
  PRIMARY KEY(growth_form, species_id, stage, rank)) STRICT, WITHOUT ROWID;

CREATE TABLE site_component(                 -- what a site declares, from site.components
  site_id INTEGER NOT NULL REFERENCES site,
  component INTEGER NOT NULL REFERENCES component,
  season TEXT NOT NULL,                      -- '' = every
  frame_type_id INTEGER NOT NULL,            -- 0 = any
  PRIMARY KEY(site_id, component, season, frame_type_id)) STRICT, WITHOUT ROWID;

CREATE TABLE type_span(                      -- on which frame types a component was recorded, from when to when
  site_id INTEGER NOT NULL REFERENCES site,
  season TEXT NOT NULL,
  component INTEGER NOT NULL,                -- 0 = any frame of the type
  frame_type_id INTEGER NOT NULL,            -- 0 = weights per area without a frame type
  first_year INTEGER NOT NULL,
  last_year INTEGER NOT NULL,
  PRIMARY KEY(site_id, season, component, frame_type_id)) STRICT, WITHOUT ROWID;

CREATE TABLE type_pair(                      -- frame types carried together by a frame: nested plots
  site_id INTEGER NOT NULL REFERENCES site,
  season TEXT NOT NULL,
  a INTEGER NOT NULL,
  b INTEGER NOT NULL,
  PRIMARY KEY(site_id, season, a, b)) STRICT, WITHOUT ROWID;

CREATE TABLE looked_for(                     -- what was looked for in frames of this type, where the row does not say
  occasion_id INTEGER NOT NULL REFERENCES occasion,
  frame_type_id INTEGER NOT NULL,
  mask INTEGER NOT NULL,                     -- looked for: not found means zero
  outside INTEGER NOT NULL,                  -- undeclared and outside its recorded years: missing
  PRIMARY KEY(occasion_id, frame_type_id)) STRICT, WITHOUT ROWID;
