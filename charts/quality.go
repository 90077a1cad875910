package charts

import (
	"fmt"
	"strconv"
	"strings"
)

// What the quality checks found, worst first, and apart from that what someone
// has looked at and accepted, with the note.

type qualityPage struct {
	common
	Finding  string
	Groups   []qualityGroup
	Accepted []qualityLine
}

type qualityGroup struct {
	ID, Title, Meaning string
	Loud               bool
	Lines              []qualityLine
}

type qualityLine struct {
	*QualityFinding
	Page  string // of its site; blank: none
	Where string // season and components
	Span  string // its years
}

// severities, worst first.
var severities = []qualityGroup{
	{ID: "serious", Title: "Serious", Meaning: "a number of this report is likely to be wrong, or cannot be trusted as it stands", Loud: true},
	{ID: "look", Title: "To look at", Meaning: "something changed or stands out that can make a difference between years or sites"},
	{ID: "note", Title: "To know", Meaning: "what a reader of the figures should know"},
}

func newQualityPage(r *Report) *qualityPage {
	p := &qualityPage{common: common{Report: r, Title: "Quality", Here: "quality"}}
	sites := r.byCode()
	lines := map[string][]qualityLine{}
	for i := range r.Quality {
		q := &r.Quality[i]
		l := qualityLine{QualityFinding: q, Span: strings.ReplaceAll(q.Years, "..", "–")}
		if sites[q.Site] != nil {
			l.Page = pageName(q.Site)
		}
		l.Where = q.Components
		if q.Season != "" && q.Components != "" {
			l.Where += ", "
		}
		l.Where += q.Season
		if q.Accepted {
			p.Accepted = append(p.Accepted, l)
			continue
		}
		severity := q.Severity
		if severity != "serious" && severity != "look" {
			severity = "note"
		}
		lines[severity] = append(lines[severity], l)
	}
	for _, g := range severities {
		if g.Lines = lines[g.ID]; len(g.Lines) > 0 {
			p.Groups = append(p.Groups, g)
		}
	}
	p.Finding = qualityFinding(len(lines["serious"]), len(lines["look"]), len(lines["note"]), len(p.Accepted))
	return p
}

// qualityFinding is the sentence at the head.
func qualityFinding(serious, look, note, accepted int) string {
	if serious+look+note+accepted == 0 {
		return "The quality checks found nothing."
	}
	var text string
	switch {
	case serious+look+note == 0:
		text = "The quality checks found nothing that is not accepted."
	case serious == 0:
		text = fmt.Sprintf("The quality checks found nothing serious; %s to look at and %s to know.", counted(look), counted(note))
	default:
		text = fmt.Sprintf("The quality checks found %s serious %s; %s to look at and %s to know.", strconv.Itoa(serious), plural(serious, "thing", "things"), counted(look), counted(note))
	}
	if accepted > 0 {
		more := " more"
		if serious+look+note == 0 {
			more = ""
		}
		text += fmt.Sprintf(" %d%s %s looked at and accepted.", accepted, more, plural(accepted, "was", "were"))
	}
	return text
}

func counted(n int) string {
	if n == 0 {
		return "nothing"
	}
	return strconv.Itoa(n)
}

var qualityHeader = []string{"id", "severity", "accepted", "note", "site", "years", "season", "components", "records", "found", "why", "do"}

func qualityCSV(r *Report) []byte {
	return table(qualityHeader, func(row func(...string)) {
		for i := range r.Quality {
			q := &r.Quality[i]
			row(text(q.ID), text(q.Severity), strconv.FormatBool(q.Accepted), text(q.Note), text(q.Site), text(q.Years), text(q.Season), text(q.Components),
				text(q.Records), text(q.Found), text(q.Why), text(q.Do))
		}
	})
}
