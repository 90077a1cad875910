-- The views that define a dry weight, a frame's weight per area and a mean.

-- Ratios of drying samples, sum of dry over sum of green, at each level.
CREATE VIEW drying_ratio_now AS
WITH d AS (
  SELECT x.occasion_id, x.component, x.species_id, coalesce(nullif(x.growth_form,''), s.growth_form, '') AS form,
    x.growth_form AS own_form, x.transect, x.frame, x.bag, x.green_g AS g, x.dry_g * n.value AS d
  FROM drying x JOIN rule_number n ON n.name = x.basis JOIN species s ON s.species_id = x.species_id),
l AS (
  SELECT occasion_id, component, 4 AS level, species_id, '' AS form, transect, frame, bag, g, d FROM d WHERE frame <> ''
  UNION ALL SELECT occasion_id, component, 5, species_id, '', '', '', '', g, d FROM d WHERE species_id > 0
  UNION ALL SELECT occasion_id, component, 6, 0, form, '', '', '', g, d FROM d WHERE form <> ''
  UNION ALL SELECT occasion_id, component, 8, 0, '', '', '', '', g, d FROM d WHERE species_id = 0 AND own_form = '')
SELECT occasion_id, component, level, species_id, form AS growth_form, transect, frame, bag,
  sum(d) / sum(g) AS ratio, count(*) AS samples
FROM l GROUP BY 1, 2, 3, 4, 5, 6, 7, 8;

-- The rule for a dry weight, once. bag.used_* is its stored result.
CREATE VIEW bag_rule AS
SELECT visit_id, component, species_id, bag, method,
  CASE method
    WHEN 1 THEN dry_g * factor
    WHEN 2 THEN 0.0
    WHEN 3 THEN (SELECT value FROM rule_number WHERE name = 'trace-g')
    WHEN 4 THEN green_g * of_bag
    WHEN 5 THEN green_g * of_species
    WHEN 6 THEN green_g * of_form
    WHEN 7 THEN green_g * dm_pct / 100 * factor
    WHEN 8 THEN green_g * of_component
    WHEN 9 THEN green_g * book
    WHEN 10 THEN green_g * book
    WHEN 11 THEN green_g * fallback
  END AS dry_g
FROM (
  SELECT *, CASE
    WHEN dry_g IS NOT NULL THEN 1
    WHEN status = 'empty' THEN 2
    WHEN trace & 2 THEN 3
    WHEN green_g IS NULL AND trace & 1 THEN 3
    WHEN green_g IS NULL THEN 0
    WHEN green_g = 0 THEN 2
    WHEN of_bag IS NOT NULL THEN 4
    WHEN of_species IS NOT NULL THEN 5
    WHEN of_form IS NOT NULL THEN 6
    WHEN dm_pct IS NOT NULL THEN 7
    WHEN of_component IS NOT NULL THEN 8
    WHEN book IS NOT NULL THEN (SELECT f.method FROM book_in_force f WHERE f.stage = b2.stage
        AND (f.species_id = b2.species_id AND b2.species_id > 0 AND f.growth_form = '' OR f.species_id = 0 AND f.growth_form = b2.form)
        ORDER BY f.rank, f.species_id = 0 LIMIT 1)
    WHEN fallback IS NOT NULL THEN 11
    ELSE 0 END AS method
  FROM (
    SELECT b1.*,
      (SELECT value FROM rule_number WHERE name = coalesce(b1.basis, 'unknown')) AS factor,
      (SELECT ratio FROM drying_ratio r WHERE r.occasion_id = b1.visit_id >> 20 AND r.component = b1.component AND r.level = 4
        AND r.species_id = b1.species_id AND r.growth_form = '' AND r.transect = v.transect AND r.frame = v.frame AND r.bag = b1.bag) AS of_bag,
      (SELECT ratio FROM drying_ratio r WHERE r.occasion_id = b1.visit_id >> 20 AND r.component = b1.component AND r.level = 5
        AND r.species_id = b1.species_id) AS of_species,
      (SELECT ratio FROM drying_ratio r WHERE r.occasion_id = b1.visit_id >> 20 AND r.component = b1.component AND r.level = 6
        AND r.species_id = 0 AND r.growth_form = b1.form) AS of_form,
      (SELECT ratio FROM drying_ratio r WHERE r.occasion_id = b1.visit_id >> 20 AND r.component = b1.component AND r.level = 8) AS of_component,
      (SELECT fraction FROM book_in_force f WHERE f.stage = b1.stage
        AND (f.species_id = b1.species_id AND b1.species_id > 0 AND f.growth_form = '' OR f.species_id = 0 AND f.growth_form = b1.form)
        ORDER BY f.rank, f.species_id = 0 LIMIT 1) AS book,
      (SELECT value FROM rule_number WHERE name = 'fallback-' || c.name) AS fallback
    FROM (SELECT b0.*, coalesce(b0.growth_form, s.growth_form, '') AS form FROM bag b0 JOIN species s ON s.species_id = b0.species_id) b1
    JOIN visit v ON v.visit_id = b1.visit_id JOIN component c ON c.component = b1.component) b2);

-- Every bag with its dry weight, on the ledger's basis, and how it was come by.
CREATE VIEW bag_dry_weight AS
SELECT s.site, o.growth_year, o.season, v.transect, v.frame, v.caged, c.name AS component, p.species, b.bag,
  coalesce(pl.date, v.date) AS date, b.green_g, b.dry_g AS measured_dry_g, b.used_dry_g AS dry_g, b.per_m2,
  m.name AS method, (SELECT value FROM setting WHERE name = 'basis') AS basis,
  coalesce(b.growth_form, p.growth_form) AS growth_form, b.stage, b.status, b.note, b.import_id, b.line
FROM bag b JOIN visit v ON v.visit_id = b.visit_id JOIN occasion o ON o.occasion_id = v.occasion_id
JOIN site s ON s.site_id = o.site_id JOIN component c ON c.component = b.component
JOIN species p ON p.species_id = b.species_id JOIN dry_method m ON m.method = b.used_method
LEFT JOIN plot pl ON pl.visit_id = b.visit_id AND pl.component = b.component;

-- One component of one frame that has bags. A bag without a dry weight makes
-- the component missing; nothing is nothing, whatever the area. Blank cells of wide rows count only where the
-- component was looked for.
CREATE VIEW frame_weighed AS
SELECT f.visit_id, f.component, v.transect, v.caged,
  CASE WHEN f.bags > f.weighed THEN NULL WHEN f.dry_g = 0 THEN 0.0 ELSE f.dry_g / iif(f.per_m2, 1.0, t.area_m2 * coalesce(p.frames_in_bag, 1)) END AS g_m2,
  CASE WHEN f.bags > f.weighed THEN (
    SELECT CASE WHEN sum(status IS 'lost' AND green_g IS NULL) THEN 'lost' WHEN sum(green_g IS NULL) THEN 'no weight' ELSE 'no dry-matter basis' END
    FROM bag b WHERE b.visit_id = f.visit_id AND b.component = f.component AND b.used_dry_g IS NULL)
    WHEN f.dry_g > 0 AND NOT f.per_m2 AND t.area_m2 IS NULL THEN 'no frame type' END AS why,
  f.book_dry_g / iif(f.per_m2, 1.0, t.area_m2 * coalesce(p.frames_in_bag, 1)) AS book_dry_g_m2,
  f.book_green_g / iif(f.per_m2, 1.0, t.area_m2 * coalesce(p.frames_in_bag, 1)) AS book_green_g_m2,
  v.ways
FROM (
  SELECT visit_id, component, sum(used_dry_g) AS dry_g, max(per_m2) AS per_m2, count(*) AS bags, count(used_dry_g) AS weighed,
    sum(used_dry_g) FILTER (WHERE used_method >= 9) AS book_dry_g,
    sum(green_g * iif(used_method = 10, (SELECT value FROM rule_number WHERE name = 'other-basis'), 1.0)) FILTER (WHERE used_method >= 9) AS book_green_g
  FROM bag GROUP BY visit_id, component) f
JOIN visit v ON v.visit_id = f.visit_id
LEFT JOIN plot p ON p.visit_id = f.visit_id AND p.component = f.component
LEFT JOIN frame_type t ON t.frame_type_id = coalesce(p.frame_type_id, v.frame_type_id)
WHERE v.recorded & (1 << (f.component - 1))
  OR coalesce(v.components_sampled, (SELECT l.mask | l.outside FROM looked_for l
    WHERE l.occasion_id = f.visit_id >> 20 AND l.frame_type_id = coalesce(v.frame_type_id, 0))) & (1 << (f.component - 1));

-- The ways in which the bags of a frame came by their dry weights, as bits;
-- visit.ways is its stored result.
CREATE VIEW visit_ways_now AS
SELECT visit_id, max(used_method IN (4, 5, 6, 8)) + 2 * max(basis IS 'air-dry') + 4 * max(basis IS 'oven-dry') + 8 * max(basis IS 'unknown') + 16 * max(used_method = 10) AS ways
FROM bag GROUP BY visit_id;

-- Components of a clipped frame without a bag: looked for and not found is
-- zero; undeclared and outside its recorded years is missing.
CREATE VIEW frame_zero AS
SELECT v.visit_id, c.component, v.transect, v.caged,
  iif(coalesce(v.components_sampled, l.mask) & c.bit, 0.0, NULL) AS g_m2,
  iif(coalesce(v.components_sampled, l.mask) & c.bit, NULL, 'not declared, outside its recorded years') AS why,
  iif(v.empty OR v.components_sampled IS NOT NULL, 0, 1) AS inferred
FROM visit v
LEFT JOIN looked_for l ON l.occasion_id = v.visit_id >> 20 AND l.frame_type_id = coalesce(v.frame_type_id, 0)
JOIN component c ON c.bit & ~v.found & coalesce(v.components_sampled, l.mask | l.outside)
WHERE ~v.found & coalesce(v.components_sampled, l.mask | l.outside)
  AND (v.found OR v.empty OR v.components_sampled IS NOT NULL);

CREATE VIEW frame_value AS
SELECT visit_id, component, transect, caged, g_m2, why, 0 AS inferred FROM frame_weighed
UNION ALL SELECT visit_id, component, transect, caged, g_m2, why, inferred FROM frame_zero;

-- Weight per area of every frame and component, zeros included, dry on the
-- ledger's basis. g_m2 NULL is missing, and why says so.
CREATE VIEW frame_production AS
SELECT s.site, o.growth_year, o.season, f.transect, v.frame, f.caged, c.name AS component,
  f.g_m2, f.inferred AS zero_inferred, f.why AS missing_because, v.treatment, v.block, v.date
FROM frame_value f JOIN visit v ON v.visit_id = f.visit_id JOIN occasion o ON o.occasion_id = v.occasion_id
JOIN site s ON s.site_id = o.site_id JOIN component c ON c.component = f.component;

-- Frames that speak for production: the caged ones where the occasion has any
-- with a value or a reason why not.
CREATE VIEW frame_standing AS
SELECT f.visit_id >> 20 AS occasion_id, f.visit_id, f.component, f.transect, f.g_m2 FROM frame_value f
WHERE f.caged OR NOT EXISTS (SELECT 1 FROM visit w
  LEFT JOIN looked_for l ON l.occasion_id = w.visit_id >> 20 AND l.frame_type_id = coalesce(w.frame_type_id, 0)
  WHERE w.occasion_id = f.visit_id >> 20 AND w.caged AND (w.found OR w.empty OR w.components_sampled IS NOT NULL)
    AND w.recorded | coalesce(w.components_sampled, l.mask | l.outside, 0));

-- Component 0 is the frame total: the sum of the production components, only
-- where a frame has all that its occasion has, and none missing.
CREATE VIEW frame_or_total AS
SELECT occasion_id, visit_id, component, transect, g_m2 FROM frame_standing WHERE g_m2 IS NOT NULL
UNION ALL
SELECT f.occasion_id, f.visit_id, 0, f.transect, sum(f.g_m2)
FROM frame_standing f
JOIN (SELECT occasion_id, count(DISTINCT component) AS parts FROM frame_standing WHERE component IN (1, 2) GROUP BY 1) k
  ON k.occasion_id = f.occasion_id
WHERE f.component IN (1, 2) GROUP BY f.visit_id HAVING count(f.g_m2) = max(k.parts);

-- Means over sampling units: frames, or transects where the site says so.
CREATE VIEW occasion_mean AS
WITH unit AS (
  SELECT f.occasion_id, f.component, iif(coalesce(s.sampling_unit, s.unit_in_use, 'frame') = 'transect', f.transect, f.visit_id) AS unit, avg(f.g_m2) AS g_m2
  FROM frame_or_total f JOIN occasion o ON o.occasion_id = f.occasion_id JOIN site s ON s.site_id = o.site_id GROUP BY 1, 2, 3),
mean AS (SELECT occasion_id, component, count(*) AS n, avg(g_m2) AS mean FROM unit GROUP BY 1, 2)
SELECT s.site, o.growth_year, o.season, coalesce(c.name, 'production') AS component, m.n, m.mean AS mean_g_m2,
  sqrt(sum((u.g_m2 - m.mean) * (u.g_m2 - m.mean)) / nullif(m.n - 1, 0)) AS sd_g_m2
FROM unit u JOIN mean m ON m.occasion_id = u.occasion_id AND m.component = u.component
JOIN occasion o ON o.occasion_id = u.occasion_id JOIN site s ON s.site_id = o.site_id
LEFT JOIN component c ON c.component = u.component
GROUP BY u.occasion_id, u.component;
