package schema

import (
	"context"
	"fmt"
	"slices"
	"strings"
)

// Check is one part of Verify: what was looked at, how much of it, and what
// was found wrong.
type Check struct {
	Name   string
	Looked int
	Faults []string
}

// mostFaults bounds how many faults of one check are listed.
const mostFaults = 20

func (c *Check) fault(format string, args ...any) {
	if len(c.Faults) < mostFaults {
		c.Faults = append(c.Faults, fmt.Sprintf(format, args...))
	}
}

// Verify looks the whole ledger over: the file itself, foreign keys, the
// layout, every stored result against the rule it came from, and whether the
// history is complete.
func (s *Snapshot) Verify() ([]Check, error) {
	var out []Check
	for _, check := range []func() (Check, error){s.verifyFile, s.verifyKeys, s.verifyLayout, s.verifyRules, s.verifyBags, s.verifyRatios,
		s.verifyFrames, s.verifyLooked, s.verifyProvenance} {
		c, err := check()
		if err != nil {
			return out, err
		}
		out = append(out, c)
	}
	return out, nil
}

func (s *Snapshot) verifyFile() (Check, error) {
	c := Check{Name: "file"}
	return c, s.each(`PRAGMA integrity_check`, nil, func(scan func(...any) error) error {
		var text string
		err := scan(&text)
		c.Looked++
		if text != "ok" {
			c.fault("%s", text)
		}
		return err
	})
}

func (s *Snapshot) verifyKeys() (Check, error) {
	c := Check{Name: "foreign keys"}
	return c, s.each(`SELECT "table", rowid, parent FROM pragma_foreign_key_check`, nil, func(scan func(...any) error) error {
		var table, parent string
		var row Num
		err := scan(&table, &row, &parent)
		c.fault("a row of %s points to a missing row of %s", table, parent)
		return err
	})
}

// verifyLayout compares the layout of the file with the one this program
// makes, so that a view changed by another program does not pass for ours.
func (s *Snapshot) verifyLayout() (Check, error) {
	c := Check{Name: "layout"}
	ours, err := ourLayout(s.ctx)
	if err != nil {
		return c, err
	}
	err = s.each(`SELECT name, sql FROM sqlite_schema WHERE sql IS NOT NULL`, nil, func(scan func(...any) error) error {
		var name, text string
		if err := scan(&name, &text); err != nil {
			return err
		}
		c.Looked++
		if want, ok := ours[name]; !ok {
			c.fault("%s was added by another program", name)
		} else if want != text {
			c.fault("%s differs from what this program makes", name)
		}
		delete(ours, name)
		return nil
	})
	for name := range ours {
		c.fault("%s is missing", name)
	}
	return c, err
}

// ourLayout makes an empty ledger in memory and reads its layout.
func ourLayout(ctx context.Context) (map[string]string, error) {
	db, err := openMemory()
	if err != nil {
		return nil, err
	}
	defer db.Close()
	if _, err := db.ExecContext(ctx, definition()); err != nil {
		return nil, fmt.Errorf("lay out a ledger to compare with: %w", err)
	}
	out := map[string]string{}
	return out, each(ctx, db, `SELECT name, sql FROM sqlite_schema WHERE sql IS NOT NULL`, nil, func(scan func(...any) error) error {
		var name, text string
		err := scan(&name, &text)
		out[name] = text
		return err
	})
}

// verifyRules compares what was settled from the settings, the book tables and
// the declarations of sites with what they say now.
func (s *Snapshot) verifyRules() (Check, error) {
	c := Check{Name: "rules"}
	values, err := s.Settings()
	if err != nil {
		return c, err
	}
	numbers := ruleNumbers(values)
	c.Looked = len(numbers)
	err = s.each(`SELECT name, value FROM rule_number`, nil, func(scan func(...any) error) error {
		var name string
		var value float64
		err := scan(&name, &value)
		if want, ok := numbers[name]; !ok || want != value {
			c.fault("the number of the rules %q is not what the settings say", name)
		}
		delete(numbers, name)
		return err
	})
	if err != nil {
		return c, err
	}
	for name := range numbers {
		c.fault("the number of the rules %q is missing", name)
	}
	if err := s.verifyBooks(&c, values); err != nil {
		return c, err
	}
	sites, err := s.Sites()
	for i := range sites {
		c.Looked++
		if parts := strings.Split(sites[i].Components, ";"); !sameEntries(parts, strings.Split(declaredText(sites[i].Declared), ";")) {
			c.fault("what site %s looks for is not what it declares", sites[i].Site)
		}
	}
	return c, err
}

// verifyBooks compares the book values in force with the tables they came from.
func (s *Snapshot) verifyBooks(c *Check, values Values) error {
	tables := values.BookTables()
	count := func(scan func(...any) error) error {
		var looked, wrong int
		err := scan(&looked, &wrong)
		c.Looked += looked
		if wrong > 0 {
			c.fault("%d book values in force are not those of the book tables", wrong)
		}
		return err
	}
	for rank, book := range tables {
		err := s.each(`WITH said AS (`+bookInForce+`), held AS (SELECT * FROM book_in_force WHERE rank = ?1)
			SELECT (SELECT count(*) FROM held), (SELECT count(*) FROM (SELECT * FROM (SELECT * FROM said EXCEPT SELECT * FROM held)
				UNION ALL SELECT * FROM (SELECT * FROM held EXCEPT SELECT * FROM said)))`, []any{rank, values["basis"], book}, count)
		if err != nil {
			return err
		}
	}
	return s.each(`SELECT 0, count(*) FROM book_in_force WHERE rank >= ?`, []any{len(tables)}, count)
}

// sameEntries tells whether two lists hold the same entries, in any order and
// however often.
func sameEntries(a, b []string) bool {
	slices.Sort(a)
	slices.Sort(b)
	return slices.Equal(slices.Compact(a), slices.Compact(b))
}

// verifyBags compares every stored dry weight with the view that defines it.
func (s *Snapshot) verifyBags() (Check, error) {
	c := Check{Name: "dry weights"}
	if err := s.each(`SELECT count(*) FROM bag`, nil, func(scan func(...any) error) error { return scan(&c.Looked) }); err != nil {
		return c, err
	}
	words, err := s.wordsForKeys()
	if err != nil {
		return c, err
	}
	const query = `SELECT b.visit_id, b.component, b.species_id, b.bag FROM bag b JOIN bag_rule r ON ` + unsettled
	return c, s.each(query, []any{0, int64(1) << 62}, func(scan func(...any) error) error {
		var visit, component, species int64
		var bag string
		if err := scan(&visit, &component, &species, &bag); err != nil {
			return err
		}
		place, err := words.frame(visit)
		what := strings.Join(strings.Fields(Component(component).String()+" "+words.species[species]+" "+bag), " ")
		c.fault("%s: the stored dry weight of its %s is not what the rule gives", place, what)
		return err
	})
}

func (s *Snapshot) verifyRatios() (Check, error) {
	c := Check{Name: "drying ratios"}
	const columns = `occasion_id, component, level, species_id, growth_form, transect, frame, bag, ratio, samples`
	if err := s.each(`SELECT count(*) FROM drying_ratio`, nil, func(scan func(...any) error) error { return scan(&c.Looked) }); err != nil {
		return c, err
	}
	query := fmt.Sprintf(`SELECT occasion_id FROM (SELECT %[1]s FROM drying_ratio EXCEPT SELECT %[1]s FROM drying_ratio_now)
		UNION SELECT occasion_id FROM (SELECT %[1]s FROM drying_ratio_now EXCEPT SELECT %[1]s FROM drying_ratio)`, columns)
	return c, s.each(query, nil, func(scan func(...any) error) error {
		var occasion int64
		err := scan(&occasion)
		c.fault("the stored drying ratios of occasion %d are not those of its samples", occasion)
		return err
	})
}

// verifyFrames compares what a frame is said to hold with its bags.
func (s *Snapshot) verifyFrames() (Check, error) {
	c := Check{Name: "frames"}
	if err := s.each(`SELECT count(*) FROM visit`, nil, func(scan func(...any) error) error { return scan(&c.Looked) }); err != nil {
		return c, err
	}
	words, err := s.wordsForKeys()
	if err != nil {
		return c, err
	}
	return c, s.each(`SELECT v.visit_id FROM visit v LEFT JOIN (SELECT visit_id, sum(bit) AS found, sum(bit * some) AS recorded FROM
			(SELECT b.visit_id, c.bit, max(green_g IS NOT NULL OR dry_g IS NOT NULL OR trace <> 0 OR status IS NOT NULL) AS some
			FROM bag b JOIN component c ON c.component = b.component GROUP BY b.visit_id, b.component) GROUP BY visit_id) k ON k.visit_id = v.visit_id
		LEFT JOIN visit_ways_now y ON y.visit_id = v.visit_id
		WHERE v.found <> coalesce(k.found, 0) OR v.recorded <> coalesce(k.recorded, 0) OR v.ways <> coalesce(y.ways, 0)`, nil, func(scan func(...any) error) error {
		var visit int64
		if err := scan(&visit); err != nil {
			return err
		}
		place, err := words.frame(visit)
		c.fault("%s does not hold the bags it is said to hold", place)
		return err
	})
}

// verifyLooked works out anew, from the records, what was looked for at every
// site, and compares.
func (s *Snapshot) verifyLooked() (Check, error) {
	c := Check{Name: "looked for"}
	stored := map[lookedRow]bool{}
	err := s.each(`SELECT occasion_id, frame_type_id, mask, outside FROM looked_for`, nil, func(scan func(...any) error) error {
		var r lookedRow
		err := scan(&r.occasion, &r.frameType, &r.mask, &r.outside)
		stored[r] = true
		return err
	})
	if err != nil {
		return c, err
	}
	sites, err := s.Sites()
	if err != nil {
		return c, err
	}
	for _, site := range sites {
		if err := s.compareSpans(&c, &site); err != nil {
			return c, err
		}
		rows, err := lookedForNow(s, site.ID)
		if err != nil {
			return c, err
		}
		for _, r := range rows {
			c.Looked++
			if !stored[r] {
				c.fault("what was looked for on occasion %d of site %s is not what the rule gives", r.occasion, site.Site)
			}
			delete(stored, r)
		}
	}
	for r := range stored {
		c.fault("occasion %d holds a row of looked_for that the rule does not give", r.occasion)
	}
	return c, nil
}

func (s *Snapshot) compareSpans(c *Check, site *SiteRecord) error {
	for table, now := range map[string]string{"type_span": spansNow, "type_pair": pairsNow} {
		query := fmt.Sprintf(`SELECT count(*) FROM (SELECT * FROM (SELECT * FROM %[1]s WHERE site_id=?1 EXCEPT SELECT * FROM (%[2]s))
			UNION ALL SELECT * FROM (SELECT * FROM (%[2]s) EXCEPT SELECT * FROM %[1]s WHERE site_id=?1))`, table, now)
		err := s.each(query, []any{site.ID}, func(scan func(...any) error) error {
			var n int
			err := scan(&n)
			if n > 0 {
				c.fault("%s of site %s is not what its records give (%d rows differ)", table, site.Site, n)
			}
			return err
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// verifyProvenance checks that every record names an import that exists, that
// no import is half written, and that every change names who made it.
func (s *Snapshot) verifyProvenance() (Check, error) {
	c := Check{Name: "history"}
	for _, t := range recordTables {
		err := s.each(fmt.Sprintf(`SELECT count(*), sum(import_id NOT IN (SELECT import_id FROM import)) FROM %s`, t.name), nil, func(scan func(...any) error) error {
			var n int
			var orphans Num
			err := scan(&n, &orphans)
			c.Looked += n
			if orphans.Float64 > 0 {
				c.fault("%.0f rows of %s name an import that is not there", orphans.Float64, t.name)
			}
			return err
		})
		if err != nil {
			return c, err
		}
	}
	return c, s.each(`SELECT (SELECT count(*) FROM writing), (SELECT count(*) FROM change WHERE NOT json_valid(old) OR NOT json_valid(key))`, nil,
		func(scan func(...any) error) error {
			var writing, broken int
			err := scan(&writing, &broken)
			if writing > 0 {
				c.fault("an import is half written")
			}
			if broken > 0 {
				c.fault("%d entries of the history cannot be read", broken)
			}
			return err
		})
}
