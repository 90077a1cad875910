-- Frame production and occasion means from the tables bags, frames and sites
-- of this export. The same rules as the ledger's own, in plain ANSI SQL:
-- each statement makes a view, and the next rest on it. It runs on DuckDB in
-- the tests of the program, and is written to run on Spark and Trino too.
--
-- Before it, make the tables known to the engine. In DuckDB:
--   CREATE VIEW sites  AS SELECT * FROM read_parquet('sites.parquet');
--   CREATE VIEW frames AS SELECT * FROM read_parquet('frames/*/*/*.parquet', hive_partitioning = false);
--   CREATE VIEW bags   AS SELECT * FROM read_parquet('bags/*/*/*.parquet', hive_partitioning = false);
-- In Spark: spark.read.parquet("bags").createOrReplaceTempView("bags"), and so on.
-- Weights are grams, areas m2, weights per area g/m2, dry, on the ledger's basis.

-- One component of one frame that has bags. A bag without a dry weight makes
-- the component missing; nothing is nothing, whatever the area. A cell that
-- was left blank (status blank) counts only where the component was looked for.
CREATE VIEW frame_weighed AS
SELECT b.site, b.year, b.season, b.transect, b.frame, b.caged, b.component,
  CASE WHEN b.bags > b.weighed THEN NULL
       WHEN b.dry_g = 0 THEN 0.0
       WHEN b.per_area = 1 THEN b.dry_g
       ELSE b.dry_g / b.ground_m2 END AS g_m2
FROM (
  SELECT site, year, season, transect, frame, caged, component,
    SUM(dry_used_g) AS dry_g, COUNT(*) AS bags, COUNT(dry_used_g) AS weighed, MAX(ground_m2) AS ground_m2,
    MAX(CASE WHEN per_m2 = 'yes' THEN 1 ELSE 0 END) AS per_area,
    MAX(CASE WHEN status = 'blank' THEN 0 ELSE 1 END) AS recorded
  FROM bags GROUP BY site, year, season, transect, frame, caged, component) b
JOIN frames f ON f.site = b.site AND f.year = b.year AND f.season = b.season AND f.transect = b.transect AND f.frame = b.frame AND f.caged = b.caged
WHERE b.recorded = 1
  OR CASE b.component WHEN 'herbaceous' THEN f.looked_for_herbaceous WHEN 'browse' THEN f.looked_for_browse
       WHEN 'standing-dead' THEN f.looked_for_standing_dead ELSE f.looked_for_litter END <> 'no';

-- What was looked for in every frame, one row a component.
CREATE VIEW frame_looked AS
SELECT site, year, season, transect, frame, caged, status, components_sampled, 'herbaceous' AS component, looked_for_herbaceous AS looked_for FROM frames
UNION ALL
SELECT site, year, season, transect, frame, caged, status, components_sampled, 'browse', looked_for_browse FROM frames
UNION ALL
SELECT site, year, season, transect, frame, caged, status, components_sampled, 'standing-dead', looked_for_standing_dead FROM frames
UNION ALL
SELECT site, year, season, transect, frame, caged, status, components_sampled, 'litter', looked_for_litter FROM frames;

-- Components of a clipped frame without a bag: looked for and not found is
-- zero; undeclared and outside its recorded years is missing. A frame was
-- clipped where it has any bag, is called empty, or a row says what was looked
-- for in it.
CREATE VIEW frame_zero AS
SELECT l.site, l.year, l.season, l.transect, l.frame, l.caged, l.component,
  CASE WHEN l.looked_for = 'yes' THEN 0.0 ELSE NULL END AS g_m2
FROM frame_looked l
LEFT JOIN (SELECT DISTINCT site, year, season, transect, frame, caged FROM bags) a
  ON a.site = l.site AND a.year = l.year AND a.season = l.season AND a.transect = l.transect AND a.frame = l.frame AND a.caged = l.caged
LEFT JOIN (SELECT DISTINCT site, year, season, transect, frame, caged, component FROM bags) b
  ON b.site = l.site AND b.year = l.year AND b.season = l.season AND b.transect = l.transect AND b.frame = l.frame AND b.caged = l.caged
    AND b.component = l.component
WHERE l.looked_for <> 'no' AND b.site IS NULL
  AND (a.site IS NOT NULL OR l.status = 'empty' OR l.components_sampled IS NOT NULL);

-- Weight per area of every frame and component, zeros included; NULL is
-- missing.
CREATE VIEW frame_production AS
SELECT site, year, season, transect, frame, caged, component, g_m2 FROM frame_weighed
UNION ALL
SELECT site, year, season, transect, frame, caged, component, g_m2 FROM frame_zero;

-- Frames that speak for production: the caged ones where the occasion has any.
CREATE VIEW frame_standing AS
SELECT p.site, p.year, p.season, p.transect, p.frame, p.caged, p.component, p.g_m2
FROM frame_production p
LEFT JOIN (SELECT DISTINCT site, year, season FROM frame_production WHERE caged = 'yes') c
  ON c.site = p.site AND c.year = p.year AND c.season = p.season
WHERE p.caged = 'yes' OR c.site IS NULL;

-- The total of a frame is the sum of its production components, only where it
-- has all that its occasion has, and none missing.
CREATE VIEW frame_or_total AS
SELECT site, year, season, transect, frame, caged, component, g_m2 FROM frame_standing WHERE g_m2 IS NOT NULL
UNION ALL
SELECT s.site, s.year, s.season, s.transect, s.frame, s.caged, 'production', SUM(s.g_m2)
FROM frame_standing s
JOIN (SELECT site, year, season, COUNT(DISTINCT component) AS parts FROM frame_standing
      WHERE component IN ('herbaceous', 'browse') GROUP BY site, year, season) k
  ON k.site = s.site AND k.year = s.year AND k.season = s.season
WHERE s.component IN ('herbaceous', 'browse')
GROUP BY s.site, s.year, s.season, s.transect, s.frame, s.caged
HAVING COUNT(s.g_m2) = MAX(k.parts);

-- Sampling units: frames, or transects of equal weight where the site says so.
CREATE VIEW sampling_unit AS
SELECT f.site, f.year, f.season, f.component, f.transect,
  CASE WHEN s.sampling_unit = 'transect' THEN '' ELSE f.frame END AS frame,
  CASE WHEN s.sampling_unit = 'transect' THEN '' ELSE f.caged END AS caged, AVG(f.g_m2) AS g_m2
FROM frame_or_total f JOIN sites s ON s.site = f.site
GROUP BY f.site, f.year, f.season, f.component, f.transect,
  CASE WHEN s.sampling_unit = 'transect' THEN '' ELSE f.frame END,
  CASE WHEN s.sampling_unit = 'transect' THEN '' ELSE f.caged END;

-- n, mean and standard deviation (n - 1) of every site, growth year, season
-- and component.
CREATE VIEW occasion_mean AS
SELECT u.site, u.year, u.season, u.component, MAX(m.n) AS n, MAX(m.mean_g_m2) AS mean_g_m2,
  SQRT(SUM((u.g_m2 - m.mean_g_m2) * (u.g_m2 - m.mean_g_m2)) / NULLIF(MAX(m.n) - 1, 0)) AS sd_g_m2
FROM sampling_unit u
JOIN (SELECT site, year, season, component, COUNT(*) AS n, AVG(g_m2) AS mean_g_m2 FROM sampling_unit GROUP BY site, year, season, component) m
  ON m.site = u.site AND m.year = u.year AND m.season = u.season AND m.component = u.component
GROUP BY u.site, u.year, u.season, u.component;
