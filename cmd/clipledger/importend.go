package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"clipledger/schema"
)

// mostProblems is how many problems are listed before they are counted.
const mostProblems = 200

// finish says what the import came to.
func (r *importRun) finish(err error, created bool, settled []string) error {
	problems := r.problems()
	if err != nil && !errors.Is(err, errData) && !errors.Is(err, schema.ErrDryRun) {
		return err
	}
	r.list(problems)
	for _, f := range r.files {
		if errors.Is(err, errData) { // what would have been made on the way was not
			f.notices = nil
		}
		f.notes()
	}
	if errors.Is(err, errData) {
		r.a.say("nothing was imported: %s; the ledger is as it was", counted(len(problems), "problem"))
		return errData
	}
	for _, text := range settled {
		r.a.say("%s", text)
	}
	for _, f := range r.files {
		if err := f.result(); err != nil {
			return err
		}
	}
	switch {
	case r.o.dryRun:
		r.a.say("dry run: nothing was kept")
	case created:
		r.a.say("made the ledger %s", r.a.ledger)
	}
	if len(problems) > 0 {
		return r.reject()
	}
	return nil
}

// problems are those of all files, each in the order of its lines.
func (r *importRun) problems() []schema.Problem {
	var out []schema.Problem
	for _, f := range r.files {
		slices.SortStableFunc(f.problems, func(a, b schema.Problem) int { return a.Line - b.Line })
		out = append(out, f.problems...)
	}
	return out
}

func (r *importRun) list(problems []schema.Problem) {
	for i, p := range problems {
		if i == mostProblems {
			fmt.Fprintf(r.a.Err, "… and %s\n", counted(len(problems)-i, "more problem"))
			break
		}
		fmt.Fprintln(r.a.Err, plain(p.String()))
	}
}

// lines writes problems one below the other.
func lines(problems []schema.Problem) string {
	texts := make([]string, len(problems))
	for i, p := range problems {
		texts[i] = p.String()
	}
	return strings.Join(texts, "\n")
}

// notes prints what was done unasked.
func (f *fileImport) notes() {
	for _, text := range append(f.summary.Notices, f.notices...) {
		f.a.say("%s: %s", f.file.Name(), text)
	}
}

// result prints the counts of one file, on stdout.
func (f *fileImport) result() error {
	im := f.im
	would := ""
	if f.o.dryRun {
		would = "would be "
	}
	text := fmt.Sprintf("%s: %s %sadded", f.file.Name(), counted(im.Added, "record"), would)
	if im.Changed > 0 {
		text += fmt.Sprintf(", %d %scompleted or replaced", im.Changed, would)
	}
	if im.Identical > 0 {
		text += fmt.Sprintf(", %d already there", im.Identical)
	}
	if f.summary.LeftOut > 0 {
		text += fmt.Sprintf(", %s left out on purpose", counted(f.summary.LeftOut, "row"))
	}
	if im.Added+im.Changed == 0 {
		text += "; nothing changed"
	}
	_, err := fmt.Fprintln(f.a.Out, plain(text))
	return err
}

// reject writes the refused rows beside their files.
func (r *importRun) reject() error {
	for _, f := range r.files {
		if len(f.problems) == 0 {
			continue
		}
		if r.o.dryRun {
			r.a.say("%s: %s would be rejected", f.file.Name(), counted(len(f.reasons()), "row"))
			continue
		}
		name, err := f.file.WriteRejected(f.reasons())
		if err != nil {
			return fmt.Errorf("write the rejected rows of %s: %w", f.file.Name(), err)
		}
		r.a.say("%s: %s rejected, with the reasons in %s", f.file.Name(), counted(len(f.reasons()), "row"), name)
	}
	return errData
}

// reasons gathers the messages by line.
func (f *fileImport) reasons() map[int][]string {
	out := map[int][]string{}
	for _, p := range f.problems {
		text := p.Message()
		if p.Column != "" {
			text = "column " + p.Column + ": " + text
		}
		out[p.Line] = append(out[p.Line], text)
	}
	return out
}

func counted(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}
