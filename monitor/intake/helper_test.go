package intake

import (
	"cmp"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"clipledger/schema"
)

// readAll is the shape of Clippings, Sites and the rest.
type readAll[T any] func(*File, Options, *schema.Vocabulary, func(T) error, func(schema.Problem)) (Summary, error)

// result is what reading a file gave.
type result[T any] struct {
	declared []bool
	records  []T
	problems []string
	summary  Summary
	err      error
}

// tempFile writes a file named f.csv.
func tempFile(tb testing.TB, content string) string {
	tb.Helper()
	path := filepath.Join(tb.TempDir(), "f.csv")
	if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
		tb.Fatal(err)
	}
	return path
}

// readString reads a file with the given content against the test vocabulary.
// Which frame types were the site's and not the row's own stands in declared.
func readString[T any](tb testing.TB, read readAll[T], content string, o Options) (r result[T]) {
	tb.Helper()
	f, err := Open(tempFile(tb, content))
	if err != nil {
		tb.Fatal(err)
	}
	defer f.Close()
	r.summary, r.err = read(f, o, testVocabulary(),
		func(rec T) error {
			if c, ok := any(&rec).(*schema.Clipping); ok {
				r.declared = append(r.declared, c.FrameType == "" && c.FrameTypeElse != "")
				c.FrameType, c.FrameTypeElse = cmp.Or(c.FrameType, c.FrameTypeElse), ""
			}
			r.records = append(r.records, rec)
			return nil
		},
		func(p schema.Problem) { r.problems = append(r.problems, p.String()) })
	if r.err == nil && f.SHA256() == "" {
		tb.Error("no hash after a whole file was read")
	}
	if got := r.summary; r.err == nil && len(r.problems) == 0 && got.Refused != 0 {
		tb.Errorf("%d rows refused without a problem", got.Refused)
	}
	return r
}

// wantLines compares lists of messages.
func wantLines(tb testing.TB, what string, got, want []string) {
	tb.Helper()
	if !slices.Equal(got, want) {
		tb.Errorf("%s:\n got %s\nwant %s", what, strings.Join(got, "\n     "), strings.Join(want, "\n     "))
	}
}

// wantUsage checks that an error is a usage error with this message.
func wantUsage(tb testing.TB, err error, want string) {
	tb.Helper()
	var usage *UsageError
	if !errors.As(err, &usage) {
		tb.Fatalf("error %v is not a usage error; want %q", err, want)
	}
	if got := usage.Error(); got != want {
		tb.Errorf("usage error:\n got %s\nwant %s", got, want)
	}
}
