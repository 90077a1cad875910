package charts

import (
	"fmt"
	"strconv"
)

// seriesTitle states what a series shows, as the title of its chart: the
// latest mean, and where it stands among all years.
func seriesTitle(r *Report, s *Site, v shown) string {
	name := v.label(s)
	last := v.latestWithMean()
	if last == nil {
		return name + ": no mean could be computed in any year"
	}
	low, high, n := v.extremes()
	f := s.figures()
	if high.allZero() {
		return fmt.Sprintf("%s: nothing was found in %s", name, plural(n, "the one year", fmt.Sprintf("any of %d years", n)))
	}
	now := fmt.Sprintf("%s: %s%s%s in %d", name, f.show(last.Mean), nbsp, r.Unit, last.Year)
	if n == 1 {
		return now + ", the only year"
	}
	lowest := fmt.Sprintf("lowest %s in %d", f.show(low.Mean), low.Year)
	highest := fmt.Sprintf("highest %s in %d", f.show(high.Mean), high.Year)
	switch last {
	case high:
		return fmt.Sprintf("%s, the highest of %d years (%s)", now, n, lowest)
	case low:
		return fmt.Sprintf("%s, the lowest of %d years (%s)", now, n, highest)
	}
	return fmt.Sprintf("%s, %s of %d years (%s, %s)", now, v.rank(last), n, lowest, highest)
}

// rank says where a year's mean stands among all, counted from the nearer
// end; years that are equal share the better place.
func (x *Series) rank(y *Year) string {
	below, above := 0, 0
	for i := range x.Years {
		switch m := x.Years[i].Mean; {
		case m == nil:
		case *m < *y.Mean:
			below++
		case *m > *y.Mean:
			above++
		}
	}
	switch {
	case above < below:
		return rankWord(above, "highest")
	case above > below:
		return rankWord(below, "lowest")
	}
	return "in the middle"
}

func rankWord(before int, end string) string {
	if before == 0 {
		return "among the " + end
	}
	return ordinal(before+1) + " " + end
}

func ordinal(n int) string {
	words := []string{"", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"}
	if n < len(words) {
		return words[n]
	}
	end := "th"
	if n/10%10 != 1 && n%10 < 4 {
		end = []string{"th", "st", "nd", "rd"}[n%10]
	}
	return strconv.Itoa(n) + end
}

// extremes are the years of the lowest and the highest mean (the earliest on
// ties) and the number of years that have a mean.
func (x *Series) extremes() (low, high *Year, n int) {
	for i := range x.Years {
		y := &x.Years[i]
		if y.Mean == nil {
			continue
		}
		n++
		if low == nil || *y.Mean < *low.Mean {
			low = y
		}
		if high == nil || *y.Mean > *high.Mean {
			high = y
		}
	}
	return low, high, n
}

// seriesCaption tells what a reader of the chart could miss: years without
// clipping or mean, means without an interval, intervals cut at zero, points
// beyond the axis, and totals that lack a part.
func seriesCaption(s *Site, v shown, y axis) string {
	return onlyPartNote(s, v) + incompleteNote(s, v) + gapsNote(s, v.Series) + beyondNote(s, v.Series, y)
}

// beyondNote gives the values of the points that are drawn as arrows.
func beyondNote(s *Site, x *Series, y axis) string {
	const listed = 6
	f := s.figures()
	var words []string
	for i := range x.Years {
		for _, v := range x.Years[i].Frames {
			if v > y.max {
				words = append(words, fmt.Sprintf("%s in %d", f.show(&v), x.Years[i].Year))
			}
		}
	}
	switch n := len(words); {
	case n == 0:
		return ""
	case n > listed:
		return fmt.Sprintf("Arrows: %d %s beyond the axis; the CSV of the points has them. ", n, s.unitWord(n))
	default:
		return fmt.Sprintf("%s %s beyond the axis, %s. ", plural(n, "Arrow: a", "Arrows:"), s.unitWord(n), join(words))
	}
}

func gapsNote(s *Site, x *Series) string {
	var absent, noMean, noInterval, cut []int
	for _, year := range s.yearSpan() {
		switch y := x.year(year); {
		case y == nil:
			absent = append(absent, year)
		case y.Mean == nil:
			noMean = append(noMean, year)
		case y.Low == nil || y.High == nil:
			noInterval = append(noInterval, year)
		case *y.Low < 0:
			cut = append(cut, year)
		}
	}
	text := ""
	add := func(years []int, before, after string) {
		if len(years) > 0 {
			text += before + yearList(years) + after + " "
		}
	}
	add(absent, "Not clipped in ", ".")
	add(noMean, "No mean in ", ".")
	add(noInterval, "No interval in ", ".")
	if len(cut) == 1 {
		add(cut, "The interval of ", " reaches below 0 and is drawn from 0; the table gives it as computed.")
	} else {
		add(cut, "The intervals of ", " reach below 0 and are drawn from 0; the table gives them as computed.")
	}
	return text
}
