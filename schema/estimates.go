package schema

import (
	"fmt"
	"strings"
)

// Estimate is one eye estimate as a file states it.
type Estimate struct {
	Line      int
	Site      string
	Date      string // YYYY-MM-DD
	Year      int    // growth year as given; 0: the date decides
	Season    string
	Transect  string
	Frame     string
	Caged     bool
	Component Component
	Species   string
	Observer  string // not empty
	State     string // StateGreen or StateDry
	G         float64
	PerM2     bool   // G is grams in one square metre
	Basis     string // of a dry estimate; "" means the ledger's
	FrameType string // as the row says it
}

// bareVisit tells that a frame stands in the ledger only because it was
// estimated: whoever clips names a date or a year. Nothing counts such a
// frame, and a clipping that comes later finds nothing to contradict.
const bareVisit = `(v.found = 0 AND v.date IS NULL AND NOT v.year_given AND NOT v.empty AND v.components_sampled IS NULL)`

// bareOld is the same of a frame's old values in the history.
const bareOld = `(json_extract(c.old, '$.date') IS NULL AND json_extract(c.old, '$.year_given') = 0 AND json_extract(c.old, '$.empty') = 0
	AND json_extract(c.old, '$.components_sampled') IS NULL)`

// bare is the same of a frame in memory.
func (v *visitRow) bare() bool {
	return v.inserted && len(v.bags) == 0 && v.attrs.date == "" && !v.yearGiven && !v.empty && v.sampled == 0
}

// Estimate takes one eye estimate into the ledger. It is compared with other
// estimates of the same observer alone: it changes nothing of how or whether
// its frame was clipped.
func (im *Import) Estimate(e Estimate) error {
	site, err := im.siteByCode(e.Site, e.Line)
	if err != nil {
		return err
	}
	year := e.Year
	if year == 0 {
		if year, err = GrowthYear(e.Date, site.startMonth); err != nil {
			return err
		}
	}
	visit, err := im.visitID(occasionKey{site.id, year, e.Season}, frameKey{e.Transect, e.Frame, e.Caged}, e.Line)
	if err != nil {
		return err
	}
	species, err := im.speciesID(e.Species, e.Line)
	if err != nil {
		return err
	}
	observer, err := im.observerID(e.Observer)
	if err != nil {
		return err
	}
	var frameType int64
	if e.FrameType != "" {
		if frameType, err = im.frameTypeID(e.FrameType, e.Line); err != nil {
			return err
		}
	}
	keys := []field{key("visit_id", visit), key("component", int64(e.Component)), key("species_id", species), key("observer_id", observer), key("state", e.State)}
	if bad, err := im.estimatedOtherwise(&e, keys); bad || err != nil {
		return err
	}
	return im.putEstimate(&e, keys, frameTypeField(frameType, e.FrameType))
}

func (im *Import) putEstimate(e *Estimate, keys []field, frameType field) error {
	basis := text("basis", "")
	if e.State == StateDry {
		basis = text("basis", e.Basis)
		if e.Basis == "" {
			values, err := readSettings(im.ctx, im.tx)
			if err != nil {
				return err
			}
			basis = text("basis", values["basis"])
		}
	}
	g := number("g", Some(e.G))
	g.column = e.column()
	values := []field{g, key("per_m2", bit(e.PerM2)), basis, text("date", e.Date), frameType}
	values[1].column, values[1].shown = "estimate", perEstimate(e.PerM2)
	_, err := im.putDated("estimate", keys, values, e.Year, e.Line)
	return err
}

// column is the column of a file that states such an estimate in our unit.
func (e *Estimate) column() string {
	if e.PerM2 {
		return "estimate_g_m2"
	}
	return "estimate_" + e.State + "_g"
}

func perEstimate(perM2 bool) string {
	if perM2 {
		return "per area"
	}
	return "in grams a frame"
}

// estimatedOtherwise refuses an estimate that would count twice, or that is
// given in grams where the ledger holds it per area, or the other way round.
func (im *Import) estimatedOtherwise(e *Estimate, keys []field) (bad bool, err error) {
	var importID, line int64
	var perM2 bool
	args := []any{keys[0].value, keys[1].value, keys[3].value, keys[4].value, keys[2].value}
	both, err := im.queryRow(`SELECT import_id, line FROM estimate WHERE visit_id=? AND component=? AND observer_id=? AND state=?
		AND (species_id = 0) <> (? = 0)`, args, &importID, &line)
	if err != nil {
		return false, err
	}
	if both {
		from, err := im.provenance(importID, line)
		im.refuse(e.Line, "species", e.Species, "this observer's estimates of the component in this frame name a species once and none once ("+from+")",
			"a total beside its species would count twice: leave out the total, or name the rest as a species of its own")
		return true, err
	}
	args[4] = keys[2].value
	held, err := im.queryRow(`SELECT import_id, line, per_m2 FROM estimate WHERE visit_id=? AND component=? AND observer_id=? AND state=? AND species_id=?`,
		args, &importID, &line, &perM2)
	if err != nil || !held || perM2 == e.PerM2 || im.Replace {
		return false, err
	}
	from, err := im.provenance(importID, line)
	im.refuse(e.Line, "", "", fmt.Sprintf("the ledger holds this estimate %s, this row gives it %s (%s)", perEstimate(perM2), perEstimate(e.PerM2), from),
		"give it in the same form, or use --replace to change the ledger and keep the old value in its history")
	return true, err
}

// putDated is put for records that stand in a growth year: that a row names
// the year itself is remembered, and contradicts no row that left it to the
// date.
func (im *Import) putDated(table string, keys, values []field, year, line int) (changed bool, err error) {
	var given bool
	found, err := im.queryRow("SELECT year_given FROM "+table+" WHERE "+where(keys), args(keys), &given)
	if err != nil {
		return false, err
	}
	if !found {
		return im.put(table, keys, append(values, whole("year_given", yearGiven(year))), line)
	}
	refused, identical := im.Refused, im.Identical
	changed, err = im.put(table, keys, values, line)
	if err != nil || year == 0 || given || im.Refused > refused {
		return changed, err
	}
	if im.Identical > identical {
		im.Identical, im.Changed = identical, im.Changed+1
	}
	return true, im.update(table, keys, []field{key("year_given", int64(1))}, line)
}

// visitID finds a frame on an occasion, or makes it with nothing but its key.
func (im *Import) visitID(o occasionKey, k frameKey, line int) (int64, error) {
	occasion, _, err := im.occasionID(o)
	if err != nil {
		return 0, err
	}
	var id int64
	found, err := im.queryRow(`SELECT visit_id FROM visit WHERE occasion_id=? AND transect=? AND frame=? AND caged=?`,
		[]any{occasion, k.transect, k.frame, bit(k.caged)}, &id)
	if err != nil || found {
		return id, err
	}
	if id, err = im.freeVisit(occasion); err != nil {
		return 0, err
	}
	return id, im.exec(`INSERT INTO visit(visit_id,transect,frame,caged,import_id,line) VALUES(?,?,?,?,?,?)`, id, k.transect, k.frame, bit(k.caged), im.id, line)
}

// freeVisit is the next number of a frame on an occasion.
func (im *Import) freeVisit(occasion int64) (int64, error) {
	var last int64
	_, err := im.queryRow(`SELECT coalesce(max(visit_id), ?1 << 20) FROM visit WHERE visit_id BETWEEN ?1 << 20 AND (?1 << 20) + ?2`,
		[]any{occasion, int64(maxSeq)}, &last)
	if err == nil && last&maxSeq >= maxSeq {
		err = fmt.Errorf("one occasion cannot hold more than %d frames", maxSeq)
	}
	return last + 1, err
}

// releaseFrames frees an import's frames of what was clipped in them where
// other imports estimated them: what is left is the frame's key, and it is
// the estimate's.
func (im *Import) releaseFrames(target int64) error {
	var n int
	const estimated = ` WHERE import_id = ?1 AND visit_id IN (SELECT visit_id FROM estimate)
		AND NOT EXISTS (SELECT 1 FROM bag b WHERE b.visit_id = v.visit_id) AND NOT EXISTS (SELECT 1 FROM plot p WHERE p.visit_id = v.visit_id)`
	if _, err := im.queryRow(`SELECT count(*) FROM visit v`+estimated+` AND NOT `+bareVisit, []any{target}, &n); err != nil {
		return err
	}
	im.Changed += n
	visit := recordTables[recordIndex("visit")]
	var sets []string
	for _, c := range visit.values {
		switch c {
		case "transect", "frame", "caged":
		case "year_given", "empty":
			sets = append(sets, c+"=0")
		default:
			sets = append(sets, c+"=NULL")
		}
	}
	return im.exec(`UPDATE visit AS v SET found=0, recorded=0, ways=0, `+strings.Join(sets, ", ")+`,
		(import_id, line) = (SELECT e.import_id, e.line FROM estimate e WHERE e.visit_id = v.visit_id ORDER BY e.import_id, e.line LIMIT 1)`+estimated, target)
}

// sweepFrames takes away frames in which nothing is left.
func (im *Import) sweepFrames(occasion int64) error {
	return im.exec(`DELETE FROM visit AS v WHERE visit_id BETWEEN ?1 << 20 AND (?1 << 20) + ?2 AND `+bareVisit+`
		AND NOT EXISTS (SELECT 1 FROM estimate e WHERE e.visit_id = v.visit_id)
		AND NOT EXISTS (SELECT 1 FROM bag b WHERE b.visit_id = v.visit_id) AND NOT EXISTS (SELECT 1 FROM plot p WHERE p.visit_id = v.visit_id)`, occasion, int64(maxSeq))
}
