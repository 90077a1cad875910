package main

import (
	"fmt"
	"io"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"

	"clipledger/monitor"
	"clipledger/schema"
)

// checkGCPercent is how much garbage, in percent of what is in use, check
// lets pile up.
const checkGCPercent = 20

func newCheck(a *app) *cobra.Command {
	var flags filterFlags
	cmd := &cobra.Command{
		Use:   "check",
		Short: "Quality checks of the records, worst first",
		Long: `Looks through all records for what cannot be right, for what is unlikely beside
other frames, years and sites, and for what is worth knowing beside a mean. Each
finding names its records with file and line, why it matters and what to do.
Nothing is changed: clipledger accept ID --note TEXT keeps why a finding is
right as it is, and then it no longer counts. A finding keeps its ID as long as
its records keep their values.

Exits with 3 where a serious finding is not accepted. The filters choose which
findings are shown and counted; records are always judged beside all others.`,
		Example: "  clipledger check --year 2020..\n  clipledger check --site 'B*' --format csv > findings.csv",
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			filter, err := flags.parse()
			if err != nil {
				return err
			}
			// Every frame is in memory at once: it is worth more work to keep
			// what is thrown away from piling up beside them.
			defer debug.SetGCPercent(debug.SetGCPercent(checkGCPercent))
			return a.read(cmd.Context(), func(s *schema.Snapshot) error {
				findings, err := monitor.Check(s, filter)
				if err != nil {
					return err
				}
				if err := printFindings(a, findings); err != nil {
					return err
				}
				if openFindings(findings, monitor.Serious) > 0 {
					return errData
				}
				return nil
			})
		},
	}
	flags.add(cmd)
	return cmd
}

// openFindings counts the findings of a severity that are not accepted.
func openFindings(findings []monitor.Finding, severity monitor.Severity) int {
	n := 0
	for i := range findings {
		if findings[i].Severity == severity && !findings[i].Accepted {
			n++
		}
	}
	return n
}

// printFindings prints findings in the format asked for. As a table each is a
// paragraph: their sentences do not fit into columns.
func printFindings(a *app, findings []monitor.Finding) error {
	if a.format == "table" {
		return printFindingTexts(a, findings)
	}
	r := &results[monitor.Finding]{out: a.Out, format: a.format, columns: findingColumns(),
		remarks: func(*monitor.Finding) []monitor.Remark { return nil },
		where:   func(f *monitor.Finding) string { return f.ID },
		more: func(f *monitor.Finding) map[string]any {
			return map[string]any{"stratum": f.Site.Stratum, "years": f.Years, "components": notNil(f.Components), "record_list": notNil(f.Records), "records_more": f.More, "is_accepted": f.Accepted}
		}}
	for i := range findings {
		if err := r.add(&findings[i]); err != nil {
			return err
		}
	}
	return r.finish(a, "")
}

func notNil(list []string) []string { return append([]string{}, list...) }

// recordsInCell is how many records a cell of the CSV names.
const recordsInCell = 8

func findingColumns() []column[monitor.Finding] {
	return []column[monitor.Finding]{
		{"id", func(f *monitor.Finding) any { return f.ID }},
		{"severity", func(f *monitor.Finding) any { return f.Severity.String() }},
		{"check", func(f *monitor.Finding) any { return f.Check }},
		{"site", func(f *monitor.Finding) any { return f.Site.Site }},
		{"year", func(f *monitor.Finding) any { return f.YearsText() }},
		{"season", func(f *monitor.Finding) any { return f.Season }},
		{"component", func(f *monitor.Finding) any { return strings.Join(f.Components, ";") }},
		{"records", func(f *monitor.Finding) any { return f.RecordsText(recordsInCell) }},
		{"found", func(f *monitor.Finding) any { return f.Found }},
		{"why", func(f *monitor.Finding) any { return f.Why }},
		{"do", func(f *monitor.Finding) any { return f.Do }},
		{"accepted", func(f *monitor.Finding) any { return f.Note }},
	}
}

// recordsInText is how many records the table names.
const recordsInText = 4

// printFindingTexts prints a paragraph a finding. Why and what to do are said
// once for each check, with its first finding.
func printFindingTexts(a *app, findings []monitor.Finding) error {
	said := map[string]bool{}
	for i := range findings {
		f := &findings[i]
		lines := []string{fmt.Sprintf("%s  %s  %s  %s", f.ID, f.Severity, f.Check, findingPlace(f)), "  found: " + f.Found}
		if text := f.RecordsText(recordsInText); text != "" {
			lines = append(lines, "  in:    "+text)
		}
		if f.Accepted {
			lines[0] = strings.Replace(lines[0], f.Severity.String(), "accepted ("+f.Severity.String()+")", 1)
			lines = append(lines, "  note:  "+f.Note)
		} else if advice := f.Why + f.Do; !said[advice] {
			said[advice] = true
			lines = append(lines, "  why:   "+f.Why, "  do:    "+f.Do)
		}
		for j := range lines {
			lines[j] = plain(lines[j])
		}
		if _, err := fmt.Fprintf(a.Out, "%s\n\n", strings.Join(lines, "\n")); err != nil {
			return err
		}
	}
	return printFindingCounts(a.Out, findings)
}

// findingPlace names where a finding belongs, blanks left out.
func findingPlace(f *monitor.Finding) string {
	words := []string{f.Site.Site}
	for _, word := range []string{f.YearsText(), f.Season, strings.Join(f.Components, ";")} {
		if word != "" {
			words = append(words, word)
		}
	}
	return strings.Join(words, " ")
}

func printFindingCounts(out io.Writer, findings []monitor.Finding) error {
	serious, look, note := openFindings(findings, monitor.Serious), openFindings(findings, monitor.Look), openFindings(findings, monitor.Note)
	_, err := fmt.Fprintf(out, "%d serious, %d to look at, %s; %d accepted\n", serious, look, counted(note, "note"), len(findings)-serious-look-note)
	return err
}
