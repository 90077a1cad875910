package schema

import (
	"context"
	"database/sql"
	"fmt"
	"maps"
	"slices"
)

// settle brings everything derived up to date with the records that this
// transaction changed, so that what the views read is never behind.
func (t *Tx) settle() error {
	if t.touch.rules {
		if err := settleRules(t.ctx, t.tx); err != nil {
			return err
		}
	}
	if err := t.settleDrying(); err != nil {
		return err
	}
	if t.touch.rules {
		if err := t.settleEveryBag(anySpecies); err != nil {
			return err
		}
	}
	for _, id := range slices.Sorted(maps.Keys(t.touch.species)) {
		if err := t.settleEveryBag(id); err != nil {
			return err
		}
	}
	return t.settleSites()
}

// settleRules makes rule_number and book_in_force from the settings.
func settleRules(ctx context.Context, tx *sql.Tx) error {
	values, err := readSettings(ctx, tx)
	if err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, `DELETE FROM rule_number; DELETE FROM book_in_force`); err != nil {
		return fmt.Errorf("settle the rules: %w", err)
	}
	for name, value := range ruleNumbers(values) {
		if _, err := tx.ExecContext(ctx, `INSERT INTO rule_number(name,value) VALUES(?,?)`, name, value); err != nil {
			return fmt.Errorf("settle the rules: %w", err)
		}
	}
	for rank, book := range values.BookTables() {
		_, err := tx.ExecContext(ctx, `INSERT INTO book_in_force(growth_form,species_id,stage,rank,book,fraction,method) `+bookInForce, rank, values["basis"], book)
		if err != nil {
			return fmt.Errorf("put book table %s in force: %w", book, err)
		}
	}
	return nil
}

// ruleNumbers are the numbers that the settings give the rules.
func ruleNumbers(values Values) map[string]float64 {
	numbers := values.BasisFactors()
	numbers["trace-g"] = values.Must("trace-g")
	numbers["other-basis"] = numbers[AirDry] * numbers[OvenDry] // one of the two is 1
	for _, c := range Components {
		if pct, ok := values.Number("fallback-" + c.String()); ok {
			numbers["fallback-"+c.String()] = pct / 100
		}
	}
	return numbers
}

// bookInForce lists the values of one book table as they are used: its rank,
// the ledger's basis and its name are asked for.
const bookInForce = `SELECT growth_form, species_id, stage, ?1, book, dm_pct / 100 * n.value, iif(basis IN (?2,'unknown'), 9, 10)
	FROM book_value JOIN rule_number n ON n.name = basis WHERE book = ?3`

// readSettings reads the settings in force, defaults filled in.
func readSettings(ctx context.Context, q querier) (Values, error) {
	v := defaultValues()
	err := each(ctx, q, `SELECT name, value FROM setting`, nil, func(scan func(...any) error) error {
		var name, value string
		err := scan(&name, &value)
		v[name] = value
		return err
	})
	return v, err
}

// fewOccasions is the number of occasions up to which their drying ratios are
// made anew one by one. The view reads all samples every time, so for more of
// them one reading of all is less work.
const fewOccasions = 8

// settleDrying makes the ratios of the touched occasions, and the dry weights
// resting on them.
func (t *Tx) settleDrying() error {
	all := t.touch.rules || len(t.touch.drying) > fewOccasions
	if all {
		if err := t.settleAllDrying(); err != nil {
			return err
		}
	}
	for _, occasion := range slices.Sorted(maps.Keys(t.touch.drying)) {
		if !all {
			if err := t.exec(`DELETE FROM drying_ratio WHERE occasion_id=?`, occasion); err != nil {
				return err
			}
			if err := t.exec(`INSERT INTO drying_ratio SELECT * FROM drying_ratio_now WHERE occasion_id=?`, occasion); err != nil {
				return err
			}
		}
		if err := t.settleBags(occasion, occasion, anySpecies); err != nil {
			return err
		}
	}
	return nil
}

// maxSeq is the largest number of a visit within its occasion, lastOccasion
// is beyond every occasion.
const (
	maxSeq       = 1<<20 - 1
	lastOccasion = 1 << 42
)

// unsettled is where the stored dry weight of a bag b differs from that of the
// rule r.
const unsettled = `r.visit_id=b.visit_id AND r.component=b.component AND r.species_id=b.species_id AND r.bag=b.bag
	AND b.visit_id BETWEEN ?1 AND ?2 AND (b.used_method IS NOT r.method OR (b.used_dry_g IS NULL) <> (r.dry_g IS NULL)
		OR abs(b.used_dry_g - r.dry_g) > 1e-12 * abs(r.dry_g))`

// anySpecies stands for the bags of every species, also of none.
const anySpecies = -1

// occasionsSettled bounds the occasions whose new dry weights are held at once,
// before they are written.
const occasionsSettled = 100

// settleEveryBag settles all bags of a species, range by range of occasions.
func (t *Tx) settleEveryBag(species int64) error {
	var last int64
	if _, err := t.queryRow(`SELECT coalesce(max(occasion_id), 0) FROM occasion`, nil, &last); err != nil {
		return err
	}
	for from := int64(0); from <= last; from += occasionsSettled {
		if err := t.settleBags(from, from+occasionsSettled-1, species); err != nil {
			return err
		}
	}
	return nil
}

// settleBags brings the stored dry weights of the bags of a range of occasions
// in line with the rule, and then what their frames say of them.
func (t *Tx) settleBags(fromOccasion, toOccasion, species int64) error {
	from, to := fromOccasion<<20, toOccasion<<20+maxSeq
	s, err := t.stmt(`UPDATE bag AS b SET used_dry_g=r.dry_g, used_method=r.method FROM bag_rule r WHERE ` + unsettled + ` AND (?3 < 0 OR b.species_id = ?3)`)
	if err != nil {
		return err
	}
	res, err := s.ExecContext(t.ctx, from, to, species)
	if err != nil {
		return fmt.Errorf("settle the dry weights: %w", err)
	}
	if n, err := res.RowsAffected(); err != nil || n == 0 {
		return err
	}
	return t.exec(`UPDATE visit SET ways=w.ways FROM visit_ways_now w WHERE w.visit_id=visit.visit_id AND w.visit_id BETWEEN ? AND ? AND visit.ways <> w.ways`, from, to)
}

// settleSites settles what was looked for, and the sampling unit, of every
// touched site.
func (t *Tx) settleSites() error {
	if err := t.saveSpans(); err != nil {
		return err
	}
	for _, site := range slices.Sorted(maps.Keys(t.touch.sites)) {
		if err := t.settleLookedFor(site); err != nil {
			return err
		}
		if err := t.settleUnit(site); err != nil {
			return err
		}
	}
	return nil
}

// settleUnit chooses the sampling unit of a site that declares none, once:
// the transect where every occasion has three or more, else the frame. The
// choice is stored and said, so that one lost transect does not flip it.
func (t *Tx) settleUnit(site int64) error {
	var code string
	var fewest Num
	open, err := t.queryRow(`SELECT s.site, (SELECT min(k) FROM (SELECT count(DISTINCT v.transect) AS k FROM visit v JOIN occasion o ON o.occasion_id = v.occasion_id
			WHERE o.site_id = s.site_id AND (v.found OR v.empty OR v.components_sampled IS NOT NULL) GROUP BY o.occasion_id))
		FROM site s WHERE s.site_id = ? AND s.sampling_unit IS NULL AND s.unit_in_use IS NULL`, []any{site}, &code, &fewest)
	if err != nil || !open || !fewest.Valid {
		return err
	}
	unit, why := "frame", "some occasion has fewer than three transects"
	if fewest.Float64 >= 3 {
		unit, why = "transect", "every occasion has three transects or more"
	}
	t.Notices = append(t.Notices, fmt.Sprintf("site %q declares no sampling unit: each %s counts as one from now on (%s); a sites file with sampling_unit can change that", code, unit, why))
	return t.exec(`UPDATE site SET unit_in_use=? WHERE site_id=?`, unit, site)
}
