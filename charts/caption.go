package charts

import "fmt"

// seriesTitle states what a series shows, as the title of its chart: the
// latest mean, and where it stands among all years.
func seriesTitle(r *Report, s *Site, x *Series) string {
	name := sentence(s.label(x))
	last := x.latestWithMean()
	if last == nil {
		return name + ": no mean could be computed in any year"
	}
	low, high, n := x.extremes()
	f := s.figures()
	switch {
	case high.allZero():
		return fmt.Sprintf("%s: nothing was found in %s", name, plural(n, "the one year", fmt.Sprintf("any of %d years", n)))
	case n == 1:
		return fmt.Sprintf("%s in %d was %s%s%s, the only year", name, last.Year, f.show(last.Mean), nbsp, r.Unit)
	}
	now := fmt.Sprintf("%s in %d was %s%s%s", name, last.Year, f.show(last.Mean), nbsp, r.Unit)
	switch last {
	case high:
		return fmt.Sprintf("%s, the highest of %d years (lowest %s in %d)", now, n, f.show(low.Mean), low.Year)
	case low:
		return fmt.Sprintf("%s, the lowest of %d years (highest %s in %d)", now, n, f.show(high.Mean), high.Year)
	}
	return fmt.Sprintf("%s; %d years range from %s (%d) to %s (%d)", now, n,
		f.show(low.Mean), low.Year, f.show(high.Mean), high.Year)
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
// clipping or mean, means without an interval, intervals cut at zero.
func seriesCaption(s *Site, x *Series) string {
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
