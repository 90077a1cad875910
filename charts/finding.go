package charts

import (
	"fmt"
	"strconv"
	"strings"
)

// Finding is the sentence at the top of a site's page: what was found in the
// latest year, how sure that is, and whether the frames were enough. It is
// composed from the numbers of the model alone.
func Finding(r *Report, s *Site) string {
	head := s.headline()
	last := head.latest()
	if last == nil {
		return "No clipping is recorded for this site."
	}
	var b strings.Builder
	if last.Mean == nil {
		b.WriteString(withoutMean(s, head, last))
		last = head.latestWithMean()
		if last != nil {
			b.WriteByte(' ')
		}
	}
	if last != nil {
		b.WriteString(withMean(r, s, head, last))
	}
	if s.Selection == "chosen" {
		b.WriteString(" The site was chosen, not drawn at random: the figure speaks for this site, not for its stratum.")
	}
	return b.String()
}

func withoutMean(s *Site, x *Series, y *Year) string {
	if y.Missing > 0 {
		return fmt.Sprintf("In %d %s could not be computed: %d %s missing.",
			y.Year, s.label(x), y.Missing, plural(y.Missing, "frame is", "frames are"))
	}
	return fmt.Sprintf("In %d %s could not be computed.", y.Year, s.label(x))
}

func withMean(r *Report, s *Site, x *Series, y *Year) string {
	if y.allZero() {
		where := fmt.Sprintf("any of %d %s", y.N, s.unitWord(y.N))
		if y.N == 1 {
			where = "the one " + s.unitWord(1)
		}
		return fmt.Sprintf("In %d nothing was found in %s: %s was 0%s%s (%s), which gives no interval and no verdict on the number of %s.",
			y.Year, where, s.label(x), nbsp, r.Unit, r.Basis, s.unitWord(0))
	}
	f := s.figures()
	paren := r.Basis
	if span := f.span(y.Low, y.High); span != "" {
		paren = share(r.Confidence) + " interval " + span + ", " + r.Basis
	}
	from := fmt.Sprintf(" from %d %s", y.N, s.unitWord(y.N))
	if y.SumOfMeans {
		from = fmt.Sprintf(", the sum of parts with %s of their own, at least %d of each", s.unitWord(0), y.N)
	}
	return fmt.Sprintf("In %d %s was %s%s%s (%s)%s; %s.",
		y.Year, s.label(x), f.show(y.Mean), nbsp, r.Unit, paren, from, certainty(r, s, y))
}

// certainty says what the sample allows: first why there is no interval, else
// the verdict on the number of sampling units.
func certainty(r *Report, s *Site, y *Year) string {
	switch {
	case (y.Low == nil || y.High == nil) && y.N == 1:
		return "a single " + s.unitWord(1) + " gives no interval"
	case (y.Low == nil || y.High == nil) && y.SD != nil && *y.SD == 0:
		return "all " + s.unitWord(0) + " weighed alike, which gives no interval"
	case y.Low == nil || y.High == nil:
		return "no interval could be computed"
	case y.Adequate == nil && y.SumOfMeans:
		return "whether those were enough is judged for each part by itself"
	case y.Adequate == nil:
		return "whether those were enough " + s.unitWord(0) + " could not be judged"
	case *y.Adequate:
		return "enough " + s.unitWord(0) + " for " + r.enough()
	case y.ShortBy != nil && *y.ShortBy > 0:
		return fmt.Sprintf("%d more %s needed for %s", *y.ShortBy,
			s.unitWord(*y.ShortBy)+plural(*y.ShortBy, " was", " were"), r.enough())
	}
	return "too few " + s.unitWord(0) + " for " + r.enough()
}

// enough is what "enough" means, in words that fit after "for".
func (r *Report) enough() string {
	if r.AdequacyText == "" {
		return "the stated precision"
	}
	return strings.ReplaceAll(r.AdequacyText, " %", nbsp+"%")
}

// allZero tells whether nothing was found in any sampling unit. A mean of
// zero says so, as weights cannot be negative.
func (y *Year) allZero() bool { return y.Mean != nil && *y.Mean == 0 }

// verdict is a year's adequacy in a word, for tables and drawings.
func (y *Year) verdict() string {
	switch {
	case y.Adequate == nil:
		return "not judged"
	case *y.Adequate:
		return "enough"
	}
	return "too few"
}

// yearNote is one year of a series in a line: what a pointer or a finger on
// the chart shows.
func yearNote(r *Report, s *Site, f figures, y *Year) string {
	if y.Mean == nil {
		return fmt.Sprintf("%d: no mean", y.Year)
	}
	parts := []string{fmt.Sprintf("%d: %s%s%s", y.Year, f.show(y.Mean), nbsp, r.Unit)}
	if span := f.span(y.Low, y.High); span != "" {
		parts = append(parts, share(r.Confidence)+" interval "+span)
	}
	n := fmt.Sprintf("%d %s", y.N, s.unitWord(y.N))
	if y.SumOfMeans {
		n = fmt.Sprintf("at least %d %s of each part", y.N, s.unitWord(y.N))
	}
	parts = append(parts, n, y.verdict())
	return strings.Join(parts, ", ")
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// sentence makes the first letter a capital.
func sentence(s string) string {
	for i, c := range s {
		return strings.ToUpper(string(c)) + s[i+len(string(c)):]
	}
	return s
}

// join lists words as text: "a", "a and b", "a, b and c".
func join(words []string) string {
	switch len(words) {
	case 0:
		return ""
	case 1:
		return words[0]
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " and " + words[last]
}

// yearList prints ascending years as text, three or more in a row as a span:
// "2011–2013, 2015 and 2016".
func yearList(years []int) string {
	var words []string
	for i := 0; i < len(years); {
		j := i
		for j+1 < len(years) && years[j+1] == years[j]+1 {
			j++
		}
		if j-i >= 2 {
			words = append(words, fmt.Sprintf("%d–%d", years[i], years[j]))
			i = j + 1
			continue
		}
		words = append(words, strconv.Itoa(years[i]))
		i++
	}
	return join(words)
}
