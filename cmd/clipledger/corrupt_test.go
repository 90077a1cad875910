package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"clipledger/schema"
)

// corruptionsVariable sets how many ledgers TestCorruptedLedgers spoils.
const corruptionsVariable = "CLIPLEDGER_CORRUPTIONS"

// corruptions are ways in which a disk, a network or a cable spoils a file.
var corruptions = []struct {
	name  string
	spoil func(r *rand.Rand, b []byte) []byte
}{
	{"one byte", func(r *rand.Rand, b []byte) []byte { b[r.IntN(len(b))] ^= byte(1 + r.IntN(255)); return b }},
	{"one bit of the first page", func(r *rand.Rand, b []byte) []byte { b[r.IntN(4096)] ^= 1 << r.IntN(8); return b }},
	{"the head of a page", func(r *rand.Rand, b []byte) []byte {
		b[4096*r.IntN(len(b)/4096)+r.IntN(12)] ^= byte(1 + r.IntN(255))
		return b
	}},
	{"many bytes", func(r *rand.Rand, b []byte) []byte {
		for range 50 {
			b[r.IntN(len(b))] = byte(r.IntN(256))
		}
		return b
	}},
	{"a page of zeros", func(r *rand.Rand, b []byte) []byte {
		clear(b[4096*r.IntN(len(b)/4096):][:4096])
		return b
	}},
	{"two pages exchanged", func(r *rand.Rand, b []byte) []byte {
		x, y := 4096*r.IntN(len(b)/4096), 4096*r.IntN(len(b)/4096)
		page := string(b[x:][:4096])
		copy(b[x:][:4096], b[y:][:4096])
		copy(b[y:][:4096], page)
		return b
	}},
	{"cut short", func(r *rand.Rand, b []byte) []byte { return b[:r.IntN(len(b))] }},
	{"cut at a page", func(r *rand.Rand, b []byte) []byte { return b[:4096*(1+r.IntN(len(b)/4096-1))] }},
	{"longer", func(r *rand.Rand, b []byte) []byte { return append(b, b[:1+r.IntN(9000)]...) }},
}

// A spoiled ledger never makes the program panic or hang, is never taken for
// an empty one, and what verify lets pass is in every number what it was. A
// text or a number that nothing else in the file rests on can change without
// a trace, because SQLite files hold no checksums: such changes are counted,
// and may only come from corruptions inside of values.
func TestCorruptedLedgers(t *testing.T) {
	rounds := 45
	if text := os.Getenv(corruptionsVariable); text != "" {
		var err error
		if rounds, err = strconv.Atoi(text); err != nil {
			t.Fatalf("%s: %v", corruptionsVariable, err)
		}
	}
	good := corruptible(t)
	path := filepath.Join(t.TempDir(), "l.db")
	ours := filepath.Join(t.TempDir(), "ours.db")
	wantMeans, wantDigest := means(t, good), digestOf(t, good)
	original, err := os.ReadFile(good)
	if err != nil {
		t.Fatal(err)
	}
	counts := map[string]int{}
	for i := range rounds {
		r := rand.New(rand.NewPCG(3, uint64(i)))
		c := corruptions[i%len(corruptions)]
		spoiled := c.spoil(r, append([]byte{}, original...))
		if string(spoiled) == string(original) {
			continue
		}
		if err := os.WriteFile(path, spoiled, 0o666); err != nil {
			t.Fatal(err)
		}
		os.Remove(ours)
		fault := func(what string, o outcome) {
			t.Errorf("round %d, %s: %s: exit %d\n%.400s%.400s", i, c.name, what, o.code, o.out, o.err)
		}
		verified := run(t, "--ledger", path, "verify")
		found := verified.code != 0
		got := run(t, "--ledger", path, "means", "--format", "csv", "--units", "g/m2")
		merged := run(t, "--ledger", ours, "merge", path)
		for _, o := range []outcome{verified, got, merged} {
			if o.code != 0 && (o.code != 1 && o.code != 3 || strings.TrimSpace(o.err+o.out) == "") {
				fault("not the way to fail", o)
			}
		}
		if found && merged.code == 0 && digestOf(t, ours) != wantDigest {
			counts["merged although verify says what is wrong"]++
		}
		whole := got.code == 0 && got.out == wantMeans.out
		switch {
		case found && got.code == 0 && !whole:
			counts["means wrong, and verify says why"]++
		case found:
			counts["found"]++
		case !whole:
			fault("verify passed and means differ", got)
		case digestOf(t, path) == wantDigest:
			counts["harmless"]++
			if merged.code != 0 || digestOf(t, ours) != wantDigest {
				fault("merged otherwise", merged)
			}
		case strings.Contains(c.name, "byte") || strings.Contains(c.name, "bit"):
			counts["a text or a weight of its own changed, unnoticed"]++
		default:
			fault("the record changed and verify passed", verified)
		}
		if after, err := os.ReadFile(path); err != nil || string(after) != string(spoiled) {
			t.Errorf("round %d, %s: the file was changed by reading it", i, c.name)
		}
	}
	t.Logf("%d corruptions: %v", rounds, counts)
	if rounds >= 45 && counts["found"] < rounds/3 {
		t.Errorf("only %d of %d corruptions were found", counts["found"], rounds)
	}
}

// corruptible makes a ledger with something of every kind of row.
func corruptible(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	var b strings.Builder
	b.WriteString("site,date,frame,frame_type,component,species,green_g,dry_g,observer,note\n")
	for i := range 240 {
		dry := ""
		if i%3 == 0 {
			dry = strconv.Itoa(4 + i%17)
		}
		fmt.Fprintf(&b, "%c,%d-07-0%d,%d,0.25 m2,%s,SP%d,%d,%s,Wren,looked at twice %d\n", 'A'+i%2, 2015+i/24, 1+i%5, i%24/2, []string{"herbaceous", "browse"}[i%12/6], i%4, 30+i%40, dry, i)
	}
	files := map[string]string{
		"clippings": b.String(),
		"drying":    "site,year,component,green_g,dry_g\nA,2015,herbaceous,50,20\nB,2016,browse,60,31\nA,2017,herbaceous,55,20\n",
		"sites":     "site,name,stratum,components,placement,latitude,longitude\nA,Upper,high,herbaceous;browse,same,40.1,-110.2\nB,Lower,low,,,,\n",
		"rain":      "station,year,month,rain_mm\nbarn,2015,4,20\nbarn,2015,5,30\n",
	}
	ledger := filepath.Join(dir, "good.db")
	for _, kind := range []string{"sites", "clippings", "drying", "rain"} {
		path := filepath.Join(dir, kind+".csv")
		if err := os.WriteFile(path, []byte(files[kind]), 0o666); err != nil {
			t.Fatal(err)
		}
		mustRun(t, "--ledger", ledger, "import", kind, path)
	}
	mustRun(t, "--ledger", ledger, "settings", "fallback-herbaceous=40", "fallback-browse=50", "--yes")
	return ledger
}

func means(t *testing.T, path string) outcome {
	t.Helper()
	return mustRun(t, "--ledger", path, "means", "--format", "csv", "--units", "g/m2")
}

// digestOf is the digest of a ledger's record.
func digestOf(t *testing.T, path string) (digest string) {
	t.Helper()
	ctx := context.Background()
	l, err := schema.OpenRead(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	err = l.Read(ctx, func(s *schema.Snapshot) error {
		digest, err = s.Digest()
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return digest
}
