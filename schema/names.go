package schema

import (
	"fmt"
	"strconv"
	"strings"
)

// nameCaches remember the numbers of names within one transaction.
type nameCaches struct {
	species, observer, frameType map[string]int64
}

func newNameCaches() nameCaches {
	return nameCaches{species: map[string]int64{"": 0}, observer: map[string]int64{}, frameType: map[string]int64{}}
}

// speciesID returns a species' number and makes the species where it is new.
func (im *Import) speciesID(code string, line int) (int64, error) {
	return im.nameID(im.names.species, code, `SELECT species_id FROM species WHERE species=?`,
		`INSERT INTO species(species,import_id,line) VALUES(?,?,?)`, code, im.id, line)
}

// observerID returns an observer's number and makes it where it is new.
func (im *Import) observerID(name string) (int64, error) {
	return im.nameID(im.names.observer, name, `SELECT observer_id FROM observer WHERE observer=?`,
		`INSERT INTO observer(observer) VALUES(?)`, name)
}

// frameTypeID returns a frame type's number. A type written as its area
// ("9.6 ft2") is made where it is new; any other unknown name is an error,
// which intake has caught before.
func (im *Import) frameTypeID(name string, line int) (int64, error) {
	if id, ok := im.names.frameType[name]; ok {
		return id, nil
	}
	area, literal := literalArea(name)
	if !literal {
		id, ok, err := im.lookUp(`SELECT frame_type_id FROM frame_type WHERE frame_type=?`, name)
		if err == nil && !ok {
			err = fmt.Errorf("frame type %q is not in the ledger", name)
		}
		if err == nil {
			im.names.frameType[name] = id
		}
		return id, err
	}
	return im.nameID(im.names.frameType, name, `SELECT frame_type_id FROM frame_type WHERE frame_type=?`,
		`INSERT INTO frame_type(frame_type,area_m2,import_id,line) VALUES(?,?,?,?)`, name, area, im.id, line)
}

// nameID looks a name up, in memory and then in the ledger, and inserts it
// where it is new.
func (im *Import) nameID(cache map[string]int64, name, find, insert string, args ...any) (int64, error) {
	if id, ok := cache[name]; ok {
		return id, nil
	}
	id, ok, err := im.lookUp(find, name)
	if err != nil {
		return 0, err
	}
	if !ok {
		if err := im.exec(insert, args...); err != nil {
			return 0, err
		}
		im.namesMade++
		if id, _, err = im.lookUp(find, name); err != nil {
			return 0, err
		}
	}
	cache[strings.Clone(name)] = id
	return id, nil
}

func (im *Import) lookUp(query, name string) (id int64, ok bool, err error) {
	ok, err = im.queryRow(query, []any{name}, &id)
	return id, ok, err
}

// ft2 is a square foot in m²: the international foot, 0.3048 m exactly.
const ft2 = 0.3048 * 0.3048

// literalArea reads the area out of a canonical frame type name such as
// "9.6 ft2" or "0.25 m2".
func literalArea(name string) (areaM2 float64, ok bool) {
	number, unit, found := strings.Cut(name, " ")
	if !found {
		return 0, false
	}
	f, err := strconv.ParseFloat(number, 64)
	if err != nil || f <= 0 {
		return 0, false
	}
	switch unit {
	case "m2":
		return f, true
	case "ft2":
		return f * ft2, true
	}
	return 0, false
}
