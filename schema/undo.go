package schema

import (
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
)

// Undo takes a whole import back: values it changed return to what they were,
// newest first, and rows that are still its own go. It is an import itself,
// with a history of its own, and is refused, through Problem, where later
// imports stand on the one to be undone.
func (im *Import) Undo(target int64) error {
	ok, err := im.mayUndo(target)
	if err != nil || !ok {
		return err
	}
	if err := im.exec(`UPDATE import SET undoes=? WHERE import_id=?`, target, im.id); err != nil {
		return err
	}
	if err := im.noteOccasions(target); err != nil {
		return err
	}
	if err := im.restore(target); err != nil {
		return err
	}
	if err := im.removeOwn(target); err != nil {
		return err
	}
	if err := im.checkSets(); err != nil {
		return err
	}
	return im.settleUndone()
}

// mayUndo tells whether an import can be taken back, and says why where not.
func (im *Import) mayUndo(target int64) (bool, error) {
	var kind string
	var undone int
	found, err := im.queryRow(`SELECT kind, (SELECT count(*) FROM import u WHERE u.undoes = i.import_id AND u.import_id <> ?) FROM import i WHERE import_id=?`,
		[]any{im.id, target}, &kind, &undone)
	if err != nil {
		return false, err
	}
	refuse := func(what, do string) (bool, error) {
		im.refuse(0, "", "", what, do)
		return false, nil
	}
	switch {
	case !found || target == im.id:
		return refuse(fmt.Sprintf("there is no import %d", target), "clipledger history lists them")
	case kind == "built-in":
		return refuse(fmt.Sprintf("import %d is what the ledger began with", target), "it cannot be undone")
	case kind == mergeKind:
		return refuse(fmt.Sprintf("import %d notes that a ledger was merged", target), "undo the imports that came with it, newest first; clipledger history lists them before it")
	case undone > 0:
		return refuse(fmt.Sprintf("import %d was undone already", target), "import its file again if it is wanted after all")
	}
	standing, err := im.standingOn(target)
	if err != nil {
		return false, err
	}
	for _, s := range standing {
		im.refuse(0, "", "", s.what, s.do)
	}
	return len(standing) == 0, nil
}

// dependants finds rows of one table that need rows of another: a row that
// the import inserted cannot go while a row of another import needs it. A row
// that it only changed stays, and is not in question.
var dependants = []struct{ what, record, key, query string }{
	{"bags in frames", "visit", "v.visit_id", `SELECT DISTINCT b.import_id FROM visit v JOIN bag b ON b.visit_id = v.visit_id WHERE v.import_id = ?1 AND b.import_id <> ?1`},
	{"frames at sites", "site", "s.site", `SELECT DISTINCT v.import_id FROM site s JOIN occasion o ON o.site_id = s.site_id JOIN visit v ON v.occasion_id = o.occasion_id WHERE s.import_id = ?1 AND v.import_id <> ?1`},
	{"drying samples at sites", "site", "s.site", `SELECT DISTINCT d.import_id FROM site s JOIN occasion o ON o.site_id = s.site_id JOIN drying d ON d.occasion_id = o.occasion_id WHERE s.import_id = ?1 AND d.import_id <> ?1`},
	{"transects at sites", "site", "s.site", `SELECT DISTINCT t.import_id FROM site s JOIN transect t ON t.site_id = s.site_id WHERE s.import_id = ?1 AND t.import_id <> ?1`},
	{"events at sites", "site", "s.site", `SELECT DISTINCT e.import_id FROM site s JOIN event e ON e.site_id = s.site_id WHERE s.import_id = ?1 AND e.import_id <> ?1`},
	{"estimates on the types", "frame_type", "t.frame_type", `SELECT DISTINCT e.import_id FROM frame_type t JOIN estimate e ON e.frame_type_id = t.frame_type_id WHERE t.import_id = ?1 AND e.import_id <> ?1`},
	{"frames of the types", "frame_type", "t.frame_type", `SELECT DISTINCT v.import_id FROM frame_type t JOIN visit v ON v.frame_type_id = t.frame_type_id WHERE t.import_id = ?1 AND v.import_id <> ?1`},
	{"components on the types", "frame_type", "t.frame_type", `SELECT DISTINCT p.import_id FROM frame_type t JOIN plot p ON p.frame_type_id = t.frame_type_id WHERE t.import_id = ?1 AND p.import_id <> ?1`},
	{"sites with the types", "frame_type", "t.frame_type", `SELECT DISTINCT s.import_id FROM frame_type t JOIN site s ON s.frame_type_id = t.frame_type_id WHERE t.import_id = ?1 AND s.import_id <> ?1`},
}

// standing is what keeps an import from being undone, and the way out.
type standing struct{ what, do string }

// undoFirst is the way out where another import is in the way.
func undoFirst(later int64) string {
	return fmt.Sprintf("undo import %d first, with clipledger undo %d", later, later)
}

// standingOn lists, in words, what later imports built on an import.
func (im *Import) standingOn(target int64) ([]standing, error) {
	var out []standing
	err := im.each(`SELECT c.import_id, count(*), min(c.record) FROM change c WHERE c.import_id > ?1 AND c.import_id <> ?2
		AND json_extract(c.old, '$.import_id') = ?1 AND NOT (c.record = 'visit' AND `+bareOld+`) AND c.import_id NOT IN (SELECT undoes FROM import WHERE undoes IS NOT NULL) GROUP BY c.import_id`, []any{target, im.id}, func(scan func(...any) error) error {
		var later, n int64
		var record string
		err := scan(&later, &n, &record)
		records := fmt.Sprintf("%d records of import %d since (a record of the kind %s, for one)", n, target, record)
		if n == 1 {
			records = fmt.Sprintf("1 record of import %d since (of the kind %s)", target, record)
		}
		out = append(out, standing{fmt.Sprintf("import %d changed %s", later, records), undoFirst(later)})
		return err
	})
	if err != nil {
		return nil, err
	}
	var moved int
	if _, err := im.queryRow(`SELECT count(*) FROM change c WHERE c.import_id=? AND (c.record='visit' AND NOT EXISTS (SELECT 1 FROM visit v WHERE v.visit_id = json_extract(c.key, '$[0]'))
		OR c.record='estimate' AND json_extract(c.old, '$.deleted') IS NULL AND NOT EXISTS (SELECT 1 FROM estimate e WHERE e.visit_id = json_extract(c.key, '$[0]')
			AND e.component = json_extract(c.key, '$[1]') AND e.species_id = json_extract(c.key, '$[2]')
			AND e.observer_id = json_extract(c.key, '$[3]') AND e.state = json_extract(c.key, '$[4]')))`, []any{target}, &moved); err != nil {
		return nil, err
	}
	if moved > 0 {
		out = append(out, standing{fmt.Sprintf("import %d moved frames to other growth years, which undoing cannot take back", target),
			"import the sites again with the old year_start_month and --replace"})
	}
	for _, d := range dependants {
		inserted := fmt.Sprintf(` AND NOT EXISTS (SELECT 1 FROM change c WHERE c.import_id = ?1 AND c.record = '%s' AND c.key = json_array(%s))`, d.record, d.key)
		err := im.each(d.query+inserted, []any{target}, func(scan func(...any) error) error {
			var later int64
			err := scan(&later)
			out = append(out, standing{fmt.Sprintf("import %d has %s that import %d made", later, d.what, target), undoFirst(later)})
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}

// noteOccasions remembers which occasions and sites the import touched, while
// its rows still say so.
func (im *Import) noteOccasions(target int64) error {
	return im.each(`SELECT o.occasion_id, o.site_id FROM occasion o WHERE o.occasion_id IN (
			SELECT visit_id >> 20 FROM bag WHERE import_id = ?1 UNION SELECT visit_id >> 20 FROM visit WHERE import_id = ?1
			UNION SELECT visit_id >> 20 FROM plot WHERE import_id = ?1 UNION SELECT visit_id >> 20 FROM estimate WHERE import_id = ?1 UNION SELECT occasion_id FROM drying WHERE import_id = ?1)
		UNION ALL SELECT 0, site_id FROM site WHERE import_id = ?1`, []any{target}, func(scan func(...any) error) error {
		var occasion, site int64
		if err := scan(&occasion, &site); err != nil {
			return err
		}
		if occasion > 0 {
			im.touch.drying[occasion] = true
		}
		im.touch.sites[site], im.touch.rebuild[site] = true, true
		return nil
	})
}

// changesAtOnce is how many entries of the history are held in memory.
const changesAtOnce = 2000

// restore puts old values back, newest first.
func (im *Import) restore(target int64) error {
	type change struct {
		id               int64
		record, key, old string
	}
	for before := int64(math.MaxInt64); ; {
		var list []change
		err := im.each(`SELECT change_id, record, key, old FROM change WHERE import_id=? AND change_id < ? ORDER BY change_id DESC LIMIT ?`,
			[]any{target, before, changesAtOnce}, func(scan func(...any) error) error {
				var c change
				err := scan(&c.id, &c.record, &c.key, &c.old)
				list = append(list, c)
				return err
			})
		if err != nil || len(list) == 0 {
			return err
		}
		for _, c := range list {
			i := recordIndex(c.record)
			if i < 0 {
				return fmt.Errorf("the history names an unknown record %q", c.record)
			}
			if err := im.restoreOne(recordTables[i], c.key, c.old); err != nil {
				return err
			}
		}
		before = list[len(list)-1].id
	}
}

// restoreOne puts one record back as it was: updated, or inserted again where
// the import had deleted it.
func (im *Import) restoreOne(t recordTable, key, old string) error {
	var was map[string]any
	if err := json.Unmarshal([]byte(old), &was); err != nil {
		return fmt.Errorf("read the history: %w", err)
	}
	im.Changed++
	im.touchRules(t.name)
	columns := t.recorded()
	picks := make([]string, len(columns))
	for i, c := range columns {
		picks[i] = "json_extract(?1, '$." + c + "')"
	}
	keys := make([]string, len(t.keys))
	for i := range t.keys {
		keys[i] = fmt.Sprintf("json_extract(?2, '$[%d]')", i)
	}
	if was["deleted"] != nil {
		return im.exec(fmt.Sprintf("INSERT INTO %s(%s,%s) SELECT %s,%s", t.name, strings.Join(t.keys, ","), strings.Join(columns, ","),
			strings.Join(keys, ","), strings.Join(picks, ",")), old, key)
	}
	sets := make([]string, len(columns))
	for i, c := range columns {
		sets[i] = c + "=" + picks[i]
	}
	where := make([]string, len(keys))
	for i, k := range t.keys {
		where[i] = k + "=" + keys[i]
	}
	return im.exec(fmt.Sprintf("UPDATE %s SET %s WHERE %s", t.name, strings.Join(sets, ","), strings.Join(where, " AND ")), old, key)
}

// removeOwn deletes the rows that are still the import's: those that it
// inserted, children before what they need. A name that a row of another
// import needs stays.
func (im *Import) removeOwn(target int64) error {
	for _, step := range []struct{ table, keep string }{
		{"estimate", ""}, {"bag", ""}, {"plot", ""}, {"visit", ""}, {"drying", ""}, {"event", ""}, {"transect", ""}, {"rain", ""}, {"class_bound", ""},
		{"growth_curve", ""}, {"book_value", ""}, {"setting", ""}, {"accepted_finding", ""},
		{"site", "site_id NOT IN (SELECT site_id FROM occasion o JOIN visit v ON v.occasion_id = o.occasion_id) AND site_id NOT IN (SELECT o.site_id FROM drying d JOIN occasion o ON o.occasion_id = d.occasion_id) AND site_id NOT IN (SELECT site_id FROM transect UNION SELECT site_id FROM event)"},
		{"species", "species_id NOT IN (SELECT species_id FROM bag UNION SELECT species_id FROM drying UNION SELECT species_id FROM book_value UNION SELECT species_id FROM estimate)"},
		{"frame_type", "frame_type_id NOT IN (SELECT frame_type_id FROM visit WHERE frame_type_id IS NOT NULL UNION SELECT frame_type_id FROM plot WHERE frame_type_id IS NOT NULL UNION SELECT frame_type_id FROM site WHERE frame_type_id IS NOT NULL UNION SELECT frame_type_id FROM estimate WHERE frame_type_id IS NOT NULL)"},
	} {
		if step.table == "visit" {
			if err := im.releaseFrames(target); err != nil {
				return err
			}
		}
		if err := im.removeFrom(step.table, step.keep, target); err != nil {
			return err
		}
	}
	return nil
}

func (im *Import) removeFrom(table, keep string, target int64) error {
	where := " WHERE import_id=?"
	if keep != "" {
		where += " AND " + keep
	}
	if table == "site" { // what is derived of a site goes before it
		for _, derived := range []string{
			"DELETE FROM looked_for WHERE occasion_id IN (SELECT occasion_id FROM occasion WHERE site_id IN (SELECT site_id FROM site" + where + "))",
			"DELETE FROM drying_ratio WHERE occasion_id IN (SELECT occasion_id FROM occasion WHERE site_id IN (SELECT site_id FROM site" + where + "))",
			"DELETE FROM occasion WHERE site_id IN (SELECT site_id FROM site" + where + ")",
			"DELETE FROM site_component WHERE site_id IN (SELECT site_id FROM site" + where + ")",
			"DELETE FROM type_span WHERE site_id IN (SELECT site_id FROM site" + where + ")",
			"DELETE FROM type_pair WHERE site_id IN (SELECT site_id FROM site" + where + ")",
		} {
			if err := im.exec(derived, target); err != nil {
				return err
			}
		}
	}
	var n int
	if _, err := im.queryRow("SELECT count(*) FROM "+table+where, []any{target}, &n); err != nil || n == 0 {
		return err
	}
	im.Changed += n
	im.touchRules(table)
	return im.exec("DELETE FROM "+table+where, target)
}

// touchRules marks every dry weight for settling where a table is one that
// the rule for dry weights reads.
func (im *Import) touchRules(table string) {
	im.touch.rules = im.touch.rules || table == "setting" || table == "book_value" || table == "species"
}

// settleUndone brings what is derived of frames and declarations up to date;
// Write settles the rest.
func (im *Import) settleUndone() error {
	for _, occasion := range slices.Sorted(maps.Keys(im.touch.drying)) {
		if err := im.markFrames(occasion); err != nil {
			return err
		}
		if err := im.sweepFrames(occasion); err != nil {
			return err
		}
	}
	for _, site := range slices.Sorted(maps.Keys(im.touch.sites)) {
		if err := im.declareAgain(site); err != nil {
			return err
		}
	}
	return nil
}

// markFrames works out anew, from the bags, what is derived of the frames of
// an occasion. The view is asked for the occasion's frames, for else SQLite
// works it out for the whole ledger.
func (im *Import) markFrames(occasion int64) error {
	return im.exec(`UPDATE visit SET
		found = coalesce((SELECT sum(DISTINCT c.bit) FROM bag b JOIN component c ON c.component = b.component WHERE b.visit_id = visit.visit_id), 0),
		recorded = coalesce((SELECT sum(DISTINCT c.bit) FROM bag b JOIN component c ON c.component = b.component WHERE b.visit_id = visit.visit_id
			AND (b.green_g IS NOT NULL OR b.dry_g IS NOT NULL OR b.trace <> 0 OR b.status IS NOT NULL)), 0),
		ways = coalesce((SELECT w.ways FROM visit_ways_now w WHERE w.visit_id = visit.visit_id AND w.visit_id BETWEEN ?1 AND ?2), 0)
		WHERE visit_id BETWEEN ?1 AND ?2`, occasion<<20, occasion<<20+maxSeq)
}

// declareAgain makes site_component from the site's declaration as it stands.
func (im *Import) declareAgain(site int64) error {
	var code, components string
	found, err := im.queryRow(`SELECT site, coalesce(components,'') FROM site WHERE site_id=?`, []any{site}, &code, &components)
	if err != nil {
		return err
	}
	if !found {
		delete(im.touch.sites, site)
		delete(im.touch.rebuild, site)
		return nil
	}
	return im.declare(site, Site{Site: code, Components: declaredOf(components)})
}

// declaredOf reads what declaredText wrote.
func declaredOf(text string) []DeclaredComponent {
	var out []DeclaredComponent
	for part := range strings.SplitSeq(text, ";") {
		var e DeclaredComponent
		part, e.Season, _ = strings.Cut(part, "/")
		part, e.FrameType, _ = strings.Cut(part, "@")
		if c, ok := ComponentNamed(part); ok {
			e.Component = c
			out = append(out, e)
		}
	}
	return out
}
