package monitor

import (
	"cmp"
	"slices"
)

// tally holds values by how often each came: values of a whole ledger, which
// are many more than the different ones among them where weights are written
// to a tenth of a gram.
type tally[T cmp.Ordered] struct {
	n       int
	counted []countOf[T] // ascending
	pending []T          // not yet among them
}

// countOf is a value and how often it came.
type countOf[T cmp.Ordered] struct {
	value T
	times int32
}

// fewestPending is how many values wait at least before they are counted.
const fewestPending = 1024

// add adds a value.
func (t *tally[T]) add(v T) {
	t.n++
	t.pending = append(t.pending, v)
	if len(t.pending) >= max(fewestPending, len(t.counted)/2) {
		t.count()
	}
}

// count brings what is pending among the values counted.
func (t *tally[T]) count() {
	slices.Sort(t.pending)
	var more []countOf[T]
	for _, v := range t.pending {
		if n := len(more); n > 0 && more[n-1].value == v {
			more[n-1].times++
			continue
		}
		i, found := slices.BinarySearchFunc(t.counted, v, func(c countOf[T], v T) int { return cmp.Compare(c.value, v) })
		if found {
			t.counted[i].times++
			continue
		}
		more = append(more, countOf[T]{v, 1})
	}
	t.pending = t.pending[:0]
	t.merge(more)
}

// merge puts new values, ascending, in their places, from the last on.
func (t *tally[T]) merge(more []countOf[T]) {
	i, j := len(t.counted)-1, len(more)-1
	t.counted = append(t.counted, more...)
	for k := len(t.counted) - 1; j >= 0; k-- {
		if i >= 0 && t.counted[i].value > more[j].value {
			t.counted[k] = t.counted[i]
			i--
		} else {
			t.counted[k] = more[j]
			j--
		}
	}
}

// all are the values, ascending, each with its count.
func (t *tally[T]) all() []countOf[T] {
	t.count()
	return t.counted
}

// countedAt is the value of a rank, from 0, of a list of n in all.
func countedAt(list []countOf[float64], rank int) float64 {
	for _, c := range list {
		if rank -= int(c.times); rank < 0 {
			return c.value
		}
	}
	return list[len(list)-1].value
}

// countedMedian is the median of the values of ranks from and on, of n in all.
func countedMedian(list []countOf[float64], from, n int) float64 {
	m := n - from
	if m%2 == 1 {
		return countedAt(list, from+m/2)
	}
	return (countedAt(list, from+m/2-1) + countedAt(list, from+m/2)) / 2
}
