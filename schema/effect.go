package schema

import "fmt"

// Effect is what a change of the rules does to stored dry weights.
type Effect struct {
	Bags          int     // bags whose dry weight or method changes
	Sites         int     // sites they stand at
	Before, After float64 // their dry weight in all, grams
	WithoutBefore int     // of them, bags without a dry weight
	WithoutAfter  int
}

// EffectOnWeights settles the rules that this transaction changed and tells
// what that does to the dry weights, before they are settled themselves.
func (t *Tx) EffectOnWeights() (Effect, error) {
	var e Effect
	if !t.touch.rules {
		return e, nil
	}
	if err := settleRules(t.ctx, t.tx); err != nil {
		return e, err
	}
	if err := t.settleAllDrying(); err != nil {
		return e, err
	}
	query := fmt.Sprintf(`SELECT count(*), count(DISTINCT o.site_id), coalesce(sum(b.used_dry_g), 0), coalesce(sum(r.dry_g), 0),
			count(*) - count(b.used_dry_g), count(*) - count(r.dry_g)
		FROM bag b JOIN bag_rule r ON %s JOIN occasion o ON o.occasion_id = b.visit_id >> 20`, unsettled)
	_, err := t.queryRow(query, []any{0, int64(1) << 62}, &e.Bags, &e.Sites, &e.Before, &e.After, &e.WithoutBefore, &e.WithoutAfter)
	return e, err
}

// DoubleSampledSites counts the sites whose means a new value of a setting
// changes because they say double sampling: none where the value is the one in
// force, or the setting another.
func (t *Tx) DoubleSampledSites(name, value string) (int, error) {
	if name != EstimatorSetting {
		return 0, nil
	}
	values, err := readSettings(t.ctx, t.tx)
	if err != nil || values[name] == value {
		return 0, err
	}
	var n int
	_, err = t.queryRow(`SELECT count(*) FROM site WHERE double_sampling IS NOT NULL`, nil, &n)
	return n, err
}

// settleAllDrying makes every drying ratio anew, as a change of basis needs.
func (t *Tx) settleAllDrying() error {
	if err := t.exec(`DELETE FROM drying_ratio`); err != nil {
		return err
	}
	return t.exec(`INSERT INTO drying_ratio SELECT * FROM drying_ratio_now`)
}

// CheckBookTables refuses a list of book tables that names one the ledger
// does not have.
func (t *Tx) CheckBookTables(list string) error {
	names := Values{"book-tables": list}.BookTables()
	seen := map[string]bool{}
	for _, name := range names {
		var n int
		if _, err := t.queryRow(`SELECT count(*) FROM book_value WHERE book=?`, []any{name}, &n); err != nil {
			return err
		}
		if n == 0 {
			return fmt.Errorf("the ledger has no book table %q; import it first with `import book-values`", name)
		}
		if seen[name] {
			return fmt.Errorf("the book table %q is named twice", name)
		}
		seen[name] = true
	}
	return nil
}
