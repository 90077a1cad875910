package intake

import (
	"errors"
	"fmt"

	"clipledger/schema"
)

// mapRow is a row of a map file.
type mapRow struct {
	Ours   string `csv:"ours"`
	Theirs string `csv:"theirs"`
}

// ReadMapFile reads a CSV file with the columns ours and theirs into what
// Options.Map takes. Whether our columns exist is seen when the map is used.
func ReadMapFile(path string) (map[string]string, []schema.Problem, error) {
	f, err := Open(path)
	if err != nil {
		return nil, nil, err
	}
	defer f.Close()
	m := map[string]string{}
	var problems []schema.Problem
	_, err = readSmall(&small[mapRow, mapRow]{
		kind: newKind(plain("ours", "theirs"), []string{"ours"}, []string{"theirs"}),
		read: func(c *checker, row *mapRow) mapRow {
			return mapRow{
				c.needKey("ours", row.Ours, "write our name of the column"),
				c.needKey("theirs", row.Theirs, "write the name that the column has in the file"),
			}
		},
		same:  func(r *mapRow) string { return foldName(r.Ours) },
		twice: "the same column of ours",
		do:    "keep one row for it",
	}, f, Options{Missing: []string{""}}, nil,
		func(r mapRow) error { m[r.Ours] = r.Theirs; return nil },
		func(p schema.Problem) { problems = append(problems, p) })
	if err != nil && !errors.Is(err, ErrUnreadable) {
		return nil, problems, fmt.Errorf("map file: %w", err)
	}
	if len(problems) > 0 {
		return nil, problems, err
	}
	return m, nil, nil
}
